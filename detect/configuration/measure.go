package configuration

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// mark is what one sample of the watched parameter says about a check.
type mark struct {
	at        span.Instant
	state     State
	value     float64
	margin    float64 // NaN for a discrete or when no limit can be told
	low, high float64 // the edges that applied; ∓Inf open, NaN not told
	reason    string  // why it cannot be told, or what limits the verdict
}

// ruler measures samples against one check.
type ruler struct {
	rec   *flightdata.Recording
	check *profile.Check
	watch *flightdata.Series
	onset span.Instant
	// settings are the allowed values of a OneOf check as they apply to this
	// attempt; untold says why there are none.
	settings []float64
	untold   string
}

func newRuler(rec *flightdata.Recording, check *profile.Check, onset span.Instant) *ruler {
	r := &ruler{rec: rec, check: check, watch: rec.Get(check.Watched()), onset: onset}
	if check.OneOf != nil {
		r.settings, r.untold = r.allowed(check.OneOf)
	}
	return r
}

// allowed works out the settings of a OneOf check for this attempt.
func (r *ruler) allowed(o *profile.OneOf) ([]float64, string) {
	switch o.Rule {
	case profile.PlannedSetting:
		if v := planned(r.rec.Plan, o.Parameter); v != nil {
			return []float64{*v}, ""
		}
		return nil, "the flight list plans no value for it"
	case profile.AsAtOnset:
		if p, ok := r.watch.Last(r.onset); ok && r.onset.Sub(p.At) <= r.watch.MaxAge() {
			return []float64{p.Value}, ""
		}
		return nil, "no value at the onset to compare with"
	}
	return o.Settings, ""
}

// planned is the flight list's value for a parameter, nil when it has none.
func planned(plan *flightdata.Plan, p flightdata.Parameter) *float64 {
	if plan == nil {
		return nil
	}
	switch p.Base() {
	case flightdata.FlapLever, flightdata.FlapPosition:
		return plan.PlannedFlap
	case flightdata.StabilizerTrim:
		return plan.Trim
	case flightdata.GrossWeight:
		return plan.Weight
	case flightdata.CenterOfGravity:
		return plan.CG
	}
	return nil
}

// mark measures one sample.
func (r *ruler) mark(p flightdata.Point) mark {
	m := mark{at: p.At, value: p.Value, margin: math.NaN(), low: math.NaN(), high: math.NaN()}
	switch {
	case r.check.OneOf != nil:
		r.oneOf(&m)
	case r.check.Range != nil:
		r.inRange(&m)
	case r.check.Band != nil:
		r.inBand(&m)
	case r.check.State != nil:
		r.inState(&m)
	}
	return m
}

func (r *ruler) oneOf(m *mark) {
	if r.untold != "" {
		m.state, m.reason = Unknown, r.untold
		return
	}
	tol := r.check.OneOf.Tolerance
	nearest := r.settings[0]
	for _, s := range r.settings {
		if math.Abs(m.value-s) < math.Abs(m.value-nearest) {
			nearest = s
		}
	}
	m.low, m.high = nearest-tol, nearest+tol
	m.margin = tol - math.Abs(m.value-nearest)
	m.state = byMargin(m.margin)
}

func (r *ruler) inRange(m *mark) {
	c := r.check.Range
	if c.Minus != "" {
		other := r.rec.Get(c.Minus).At(m.at)
		if !other.OK {
			m.state, m.reason = Unknown, string(c.Minus)+": "+other.Why
			return
		}
		m.value -= other.Value
	}
	m.low, m.high = c.Min, c.Max
	m.margin = min(m.value-c.Min, c.Max-m.value)
	m.state = byMargin(m.margin)
}

// byMargin puts a value exactly on its limit within limits. A rounding of
// the last bits of a conversion must not turn it: hence the tiny slack.
func byMargin(margin float64) State {
	if margin >= -1e-9 {
		return Within
	}
	return Outside
}

func (r *ruler) inState(m *mark) {
	if r.watch.State(m.value) == r.check.State.Is {
		m.state = Within
		return
	}
	m.state = Outside
}

// inBand tests against the edges of every table that could apply. Within the
// intersection of all is within, outside their union is outside, and in
// between the data cannot tell.
func (r *ruler) inBand(m *mark) {
	e, why := r.edges(m.at)
	m.reason = strings.Join(why, "; ")
	m.low, m.high = e.lowMax, e.highMin
	switch {
	case m.value < e.lowMin-1e-9 || m.value > e.highMax+1e-9:
		m.state = Outside
		m.low, m.high = e.lowMin, e.highMax
		m.margin = min(m.value-e.lowMin, e.highMax-m.value)
	case m.value >= e.lowMax-1e-9 && m.value <= e.highMin+1e-9:
		m.state = Within
		m.margin = min(m.value-e.lowMax, e.highMin-m.value)
	default:
		m.state = Unknown
		m.low, m.high = math.NaN(), math.NaN()
		if math.IsInf(e.lowMin, 0) {
			return // no limit at all
		}
		m.reason = fmt.Sprintf("%s; lower limit %s to %s, upper limit %s to %s, depending on what is not recorded", m.reason,
			num(e.lowMin), num(e.lowMax), num(e.highMin), num(e.highMax))
	}
}

// edgeRange is the range in which the edges of a band can lie.
type edgeRange struct{ lowMin, lowMax, highMin, highMax float64 }

// edges collects the band edges at t over everything that is not known.
func (r *ruler) edges(t span.Instant) (edgeRange, []string) {
	b := r.check.Band
	var why []string
	spans := make([]axisSpan, 2)
	for i, p := range b.Over {
		s, note := r.over(p, t)
		spans[i] = s
		if note != "" {
			why = append(why, note)
		}
	}
	tables, note := r.tables(t)
	if note != "" {
		why = append(why, note)
	}
	e := edgeRange{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	if note := farOutside(b.Over, spans, tables); note != "" {
		return edgeRange{math.Inf(-1), math.Inf(1), math.Inf(-1), math.Inf(1)}, append(why, note)
	}
	for _, tab := range tables {
		for _, x := range spans[0].points(tab.X) {
			for _, y := range spans[1].points(tab.Y) {
				lo, hi := bilinear(tab.X, tab.Y, tab.Low, x, y), bilinear(tab.X, tab.Y, tab.High, x, y)
				e.lowMin, e.lowMax = min(e.lowMin, lo), max(e.lowMax, lo)
				e.highMin, e.highMax = min(e.highMin, hi), max(e.highMax, hi)
			}
		}
	}
	if note := clamped(b.Over, spans, tables); note != "" {
		why = append(why, note)
	}
	return e, why
}

// axisSpan is what is known of one axis value: a value, or nothing.
type axisSpan struct {
	value float64
	known bool
}

// points lists the values of an axis at which a bilinear edge can have its
// extremes: the value itself, or every node when it is not known.
func (a axisSpan) points(nodes []float64) []float64 {
	if a.known {
		return []float64{a.value}
	}
	if len(nodes) == 0 {
		return []float64{0}
	}
	return nodes
}

// over reads one axis of the band: from the recording, else, for weight and
// center of gravity, from the flight list, else not at all. A planned flap is
// no stand-in for the flap: that it was set is what is being asked.
func (r *ruler) over(p flightdata.Parameter, t span.Instant) (axisSpan, string) {
	got := r.rec.Get(p).At(t)
	if got.OK {
		return axisSpan{value: got.Value, known: true}, ""
	}
	if p == flightdata.GrossWeight || p == flightdata.CenterOfGravity {
		if v := planned(r.rec.Plan, p); v != nil {
			return axisSpan{value: *v, known: true}, fmt.Sprintf("%s from the flight list", p)
		}
	}
	return axisSpan{}, fmt.Sprintf("%s: %s", p, got.Why)
}

// tables chooses the table by the setting, or all when the setting is not
// known or is none of theirs. Between two samples that select different tables
// it may be either.
func (r *ruler) tables(t span.Instant) ([]profile.Table, string) {
	b := r.check.Band
	if b.Select == "" {
		return b.Tables, ""
	}
	s := r.rec.Get(b.Select)
	got := s.Hold(t)
	if !got.OK {
		return b.Tables, fmt.Sprintf("%s: %s", b.Select, got.Why)
	}
	i := selected(b, got.Value)
	if i < 0 {
		return b.Tables, fmt.Sprintf("%s at %s selects no table", b.Select, num(got.Value))
	}
	next, ok := s.Next(t)
	if k := selected(b, next.Value); ok && k >= 0 && k != i && next.At.Sub(t) <= s.MaxAge() {
		return []profile.Table{b.Tables[i], b.Tables[k]}, fmt.Sprintf("%s goes from %s to %s between two samples", b.Select, num(got.Value), num(next.Value))
	}
	return b.Tables[i : i+1], ""
}

// selected is the index of the table of a setting, -1 when there is none.
func selected(b *profile.Band, setting float64) int {
	return slices.IndexFunc(b.Tables, func(t profile.Table) bool { return math.Abs(setting-t.Setting) <= b.Tolerance })
}

// farBelow and farAbove are how far outside the tables, as factors of their end
// nodes, a weight may lie for the limit at the edge to stand in: common
// practice, no published source.
const farBelow, farAbove = 0.75, 1.33

// farOutside says that a weight is one for which the tables hold no limit: it
// is in another unit or of another aeroplane, and the edge would be a guess.
func farOutside(over []flightdata.Parameter, spans []axisSpan, tables []profile.Table) string {
	i := slices.Index(over, flightdata.GrossWeight)
	if i < 0 || !spans[i].known {
		return ""
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, t := range tables {
		nodes := [][]float64{t.X, t.Y}[i]
		if len(nodes) == 0 {
			return ""
		}
		lo, hi = min(lo, nodes[0]), max(hi, nodes[len(nodes)-1])
	}
	if v := spans[i].value; v < farBelow*lo || v > farAbove*hi {
		return fmt.Sprintf("gross_weight %s lies far outside the table (%s to %s): no limit is known", num(v), num(lo), num(hi))
	}
	return ""
}

// clamped says which axis values lie outside the tables, each of them.
func clamped(over []flightdata.Parameter, spans []axisSpan, tables []profile.Table) string {
	var said []string
	for i, p := range over {
		nodes := tables[0].X
		if i == 1 {
			nodes = tables[0].Y
		}
		v := spans[i]
		if v.known && len(nodes) > 0 && (v.value < nodes[0] || v.value > nodes[len(nodes)-1]) {
			said = append(said, fmt.Sprintf("%s %s lies outside the table (%s to %s): the limit of its edge is used",
				p, num(v.value), num(nodes[0]), num(nodes[len(nodes)-1])))
		}
	}
	return strings.Join(said, "; ")
}

// bilinear reads a table at (x, y), linear along each axis, clamped to the
// nodes at the ends. A table over one axis has at most one y node.
func bilinear(xs, ys []float64, z [][]float64, x, y float64) float64 {
	i, fx := cell(xs, x)
	j, fy := cell(ys, y)
	at := func(i, j int) float64 { return z[min(i, len(z)-1)][min(j, len(z[0])-1)] }
	a := lerp(at(i, j), at(i+1, j), fx)
	b := lerp(at(i, j+1), at(i+1, j+1), fx)
	return lerp(a, b, fy)
}

// lerp rounds each product on its own, so that no machine fuses it into
// other bits.
func lerp(a, b, share float64) float64 { return a + float64((b-a)*share) }

// cell finds the interval of the nodes that holds v and the share of the way
// through it, both clamped to the table.
func cell(nodes []float64, v float64) (int, float64) {
	if len(nodes) < 2 || v <= nodes[0] {
		return 0, 0
	}
	last := len(nodes) - 1
	if v >= nodes[last] {
		return last - 1, 1
	}
	i, found := slices.BinarySearch(nodes, v)
	if !found {
		i--
	}
	return i, (v - nodes[i]) / (nodes[i+1] - nodes[i])
}

// num prints a figure for a reason: at most three decimals, no trailing
// zeros, never "-0".
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 3, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}
