package page

import (
	"html/template"
	"math"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/archive"
	"rollonset/report/chart"
)

// How much around the attempt a picture shows at most, and how much around
// the roll. A clip may hold several attempts in one window.
const (
	aroundAttempt = 120e9
	beforeRoll    = 10e9
	afterRoll     = 5e9
)

// traceView is what the template needs of one attempt's traces.
type traceView struct {
	ID, Onset   string
	Whole, Roll template.HTML
	Data        template.JS
	Description string
	Readout     table
}

// newTraces draws the traces of one attempt; nil when there is nothing to
// draw.
func newTraces(a archive.AttemptSummary, clip *flightdata.Recording, levels []Level) *traceView {
	if clip == nil {
		return nil
	}
	zero := span.Sec(origin(a))
	roll := rollWindow(a)
	whole := clipWindow(clip, zero, roll)
	series := seriesIn(clip, whole)
	if len(series) == 0 {
		return nil
	}
	id := "a" + trimmed(float64(a.Number))
	v := &traceView{ID: id, Description: describe(a, series, levels), Onset: Clock(archive.Moment{At: zero.Seconds()})}
	if a.Onset != nil {
		v.Onset = Clock(*a.Onset)
	}
	draw := func(suffix, title string, w span.Span) template.HTML {
		t := tracer{attempt: a, clip: clip, levels: levels, zero: zero, window: w}
		spec := t.spec()
		spec.ID, spec.Title, spec.Description = id+suffix, title, v.Description
		return template.HTML(chart.Strips(spec))
	}
	v.Whole = draw("-whole", "Traces of attempt "+trimmed(float64(a.Number))+", whole clip", whole)
	v.Roll = draw("-roll", "Traces of attempt "+trimmed(float64(a.Number))+", the roll", roll.And(whole))
	v.Data = embedded(id, a, clip, series, zero, whole)
	v.Readout = readoutTable(id, series, zero)
	return v
}

// rollWindow is from just before the thrust advance to just after the last
// moment of the attempt.
func rollWindow(a archive.AttemptSummary) span.Span {
	zero := span.Sec(origin(a))
	w := span.Span{From: zero, To: zero}
	for _, m := range instants(a) {
		w.From, w.To = min(w.From, span.Sec(m.At)), max(w.To, span.Sec(m.At))
	}
	for _, f := range a.Findings {
		if to := span.Sec(f.JudgedTo); to > w.To && to < w.From+aroundAttempt {
			w.To = to
		}
	}
	return w.Widen(beforeRoll, afterRoll)
}

// clipWindow is the stretch of the clip around the attempt.
func clipWindow(clip *flightdata.Recording, zero span.Instant, roll span.Span) span.Span {
	w, ok := clip.Windows.At(zero)
	if !ok {
		w = clip.Span.Widen(0, 1)
	}
	return w.And(roll.Widen(aroundAttempt, aroundAttempt))
}

// seriesIn is every series of the clip with a sample in the window, cut to
// it, in the order of the strips and then of the names.
func seriesIn(clip *flightdata.Recording, w span.Span) []*flightdata.Series {
	var out []*flightdata.Series
	taken := map[flightdata.Parameter]bool{}
	take := func(p flightdata.Parameter) {
		if s := clip.Get(p).Slice(w); s.Len() > 0 && !taken[p] {
			out, taken[p] = append(out, s), true
		}
	}
	all := clip.Parameters()
	for _, g := range groups {
		for _, base := range g.bases {
			for _, p := range all {
				if p.Base() == base {
					take(p)
				}
			}
		}
	}
	for _, kind := range []flightdata.Kind{flightdata.Discrete, flightdata.Continuous} {
		for _, p := range all {
			if s := clip.Get(p); s != nil && s.Kind == kind {
				take(p)
			}
		}
	}
	return out
}

// group is one subject of the chart. A strip per unit is drawn of it, because
// a lever in percent and a surface in degrees share no axis.
type group struct {
	title   string
	bases   []flightdata.Parameter
	minSpan float64
	always  bool // drawn with the words "not recorded" when there is nothing
	height  float64
}

var groups = []group{
	{"Speed", []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed}, 30, true, 110},
	{"Thrust, EPR", []flightdata.Parameter{flightdata.EPR}, 0.3, false, 84},
	{"Thrust, N1", []flightdata.Parameter{flightdata.N1}, 30, false, 84},
	{"Thrust, torque", []flightdata.Parameter{flightdata.Torque}, 30, false, 84},
	{"Thrust levers", []flightdata.Parameter{flightdata.ThrustLever}, 20, false, 84},
	{"Flaps and slats", []flightdata.Parameter{flightdata.FlapLever, flightdata.FlapPosition, flightdata.SlatPosition}, 10, true, 96},
	{"Stabilizer trim", []flightdata.Parameter{flightdata.StabilizerTrim}, 3, true, 84},
	{"Other trim", []flightdata.Parameter{flightdata.RudderTrim, flightdata.AileronTrim}, 3, false, 60},
	{"Brake pressure", []flightdata.Parameter{flightdata.BrakePressure}, 500, true, 70},
	{"Speedbrake", []flightdata.Parameter{flightdata.SpeedbrakeLever, flightdata.SpoilerPosition}, 20, true, 70},
}

// tracer turns one window of a clip into the spec of a chart.
type tracer struct {
	attempt archive.AttemptSummary
	clip    *flightdata.Recording
	levels  []Level
	zero    span.Instant
	window  span.Span
}

// rel is an instant in seconds from the onset.
func (t *tracer) rel(i span.Instant) float64 { return float64(i-t.zero) / 1e9 }

func (t *tracer) spec() chart.Spec {
	s := chart.Spec{From: t.rel(t.window.From), To: t.rel(t.window.To)}
	series := seriesIn(t.clip, t.window)
	for _, g := range groups {
		s.Strips = append(s.Strips, t.group(g, series)...)
	}
	var bars chart.Strip
	for _, d := range series {
		if d.Kind == flightdata.Discrete {
			bars.Bars = append(bars.Bars, t.bar(d))
		}
	}
	if len(bars.Bars) > 0 {
		s.Strips = append(s.Strips, bars)
	}
	for _, m := range instants(t.attempt) {
		s.Rules = append(s.Rules, chart.Rule{
			At: m.At - origin(t.attempt), Earliest: m.Earliest - origin(t.attempt), Latest: m.Latest - origin(t.attempt),
			Label: m.name, Strong: m.name == onsetName,
		})
	}
	return s
}

// group draws the strips of one subject, one per unit in order of appearance.
func (t *tracer) group(g group, series []*flightdata.Series) []chart.Strip {
	var out []chart.Strip
	at := map[string]int{}
	for _, s := range series {
		if s.Kind != flightdata.Continuous || !g.has(s.Parameter) {
			continue
		}
		i, ok := at[s.Unit.Symbol]
		if !ok {
			i = len(out)
			at[s.Unit.Symbol] = i
			out = append(out, chart.Strip{Title: g.title, Unit: s.Unit.Symbol, Height: g.height, MinSpan: g.minSpan, Empty: "no good sample here"})
		}
		out[i].Lines = append(out[i].Lines, chart.Line{Label: shortName(s.Parameter), Points: t.points(s)})
		t.limits(&out[i], s.Parameter)
	}
	if len(out) == 0 && g.always {
		return []chart.Strip{{Title: g.title, Height: 34, Empty: "not recorded"}}
	}
	return out
}

func (g group) has(p flightdata.Parameter) bool {
	for _, b := range g.bases {
		if p.Base() == b {
			return true
		}
	}
	return false
}

// limits puts the profile's levels and the judged bands of a parameter into
// its strip, each once.
func (t *tracer) limits(s *chart.Strip, p flightdata.Parameter) {
	for _, l := range t.levels {
		if l.Parameter == p.Base() && !hasLevel(s.Levels, l.Value) {
			s.Levels = append(s.Levels, chart.Level{V: l.Value, Label: l.Label})
		}
	}
	for _, f := range t.attempt.Findings {
		trim := p.Base() == flightdata.StabilizerTrim || p.Base() == flightdata.RudderTrim || p.Base() == flightdata.AileronTrim
		if !trim || f.Parameter != string(p) || f.LimitLow == nil || f.LimitHigh == nil {
			continue // settings and open ranges are lines, not bands
		}
		s.Bands = append(s.Bands, chart.BandArea{Low: *f.LimitLow, High: *f.LimitHigh, Label: f.Check})
	}
}

func hasLevel(levels []chart.Level, v float64) bool {
	for _, l := range levels {
		if l.V == v {
			return true
		}
	}
	return false
}

// points turns samples into points; time without a sample for longer than
// one may stand is a break.
func (t *tracer) points(s *flightdata.Series) []chart.Point {
	out := make([]chart.Point, len(s.Times))
	for i, at := range s.Times {
		out[i] = chart.Point{T: t.rel(at), V: s.Values[i], Masked: masked(s, i)}
		out[i].Break = i > 0 && at.Sub(s.Times[i-1]) > s.MaxAge()
		if s.Circular && i > 0 && math.Abs(s.Values[i]-s.Values[i-1]) > 180 {
			out[i].Break = true // through north, not across the panel
		}
	}
	return out
}

func masked(s *flightdata.Series, i int) bool { return s.Masks != nil && s.Masks[i] != flightdata.Good }

// bar turns a discrete into stretches. State 0 of the core set is the state
// at rest and stays quiet.
func (t *tracer) bar(s *flightdata.Series) chart.Bar {
	b := chart.Bar{Label: name(s.Parameter)}
	for i, at := range s.Times {
		until := at.Add(s.MaxAge())
		if i+1 < len(s.Times) {
			until = min(until, s.Times[i+1])
		} else {
			until = at.Add(s.Period)
		}
		next := chart.BarSpan{From: t.rel(at), To: t.rel(until), State: s.State(s.Values[i]), Quiet: s.Values[i] == 0, Masked: masked(s, i)}
		if n := len(b.Spans); n > 0 && b.Spans[n-1].To == next.From && b.Spans[n-1].State == next.State && b.Spans[n-1].Masked == next.Masked {
			b.Spans[n-1].To = next.To
			continue
		}
		b.Spans = append(b.Spans, next)
	}
	return b
}

// name is a parameter as a person reads it: "EPR engine 2", "flap position
// left".
func name(p flightdata.Parameter) string {
	base := strings.ReplaceAll(string(p.Base()), "_", " ")
	switch p.Base() {
	case flightdata.EPR, flightdata.N1, flightdata.V1, flightdata.VR:
		base = strings.ToUpper(base)
	case flightdata.ThrustReverser:
		base = "reverser"
	case flightdata.MainGearSteering:
		base = "main-gear steering"
	case flightdata.AirGround:
		base = "air or ground"
	}
	if p == p.Base() {
		return base
	}
	if p.EngineNumber() > 0 {
		base += " engine"
	}
	return base + " " + strings.TrimPrefix(string(p), string(p.Base())+".")
}

// shortName is a name that fits beside the end of a line.
func shortName(p flightdata.Parameter) string {
	if n := p.EngineNumber(); n > 0 {
		return "engine " + trimmed(float64(n))
	}
	short := map[flightdata.Parameter]string{
		flightdata.GroundSpeed: "ground speed", flightdata.Airspeed: "airspeed", flightdata.FlapLever: "lever",
		flightdata.FlapPosition: "flaps", flightdata.SlatPosition: "slats", flightdata.StabilizerTrim: "trim",
		flightdata.SpeedbrakeLever: "lever", flightdata.SpoilerPosition: "spoilers", flightdata.BrakePressure: "brakes",
	}[p.Base()]
	return strings.TrimSpace(known(short, name(p.Base())) + " " + strings.TrimPrefix(strings.TrimPrefix(string(p), string(p.Base())), "."))
}

// describe is the text alternative of the traces.
func describe(a archive.AttemptSummary, series []*flightdata.Series, levels []Level) string {
	var parts []string
	for _, s := range series {
		parts = append(parts, name(s.Parameter))
	}
	text := "Stacked strips over the seconds from the onset, of " + list(parts) + ". "
	var marks []string
	for _, m := range instants(a) {
		marks = append(marks, m.name+" at "+signed(m.At-origin(a), 1)+" s")
	}
	if len(marks) > 0 {
		text += "Vertical rules: " + list(marks) + ". "
	}
	var lines []string
	for _, l := range levels {
		lines = append(lines, name(l.Parameter)+" "+l.Label)
	}
	if len(lines) > 0 {
		text += "Horizontal lines: " + list(lines) + ". "
	}
	return text + "Masked samples are hollow; gaps are not bridged. The tables of this section hold the same facts."
}
