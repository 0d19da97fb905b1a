package page

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/archive"
	"rollonset/report/chart"
)

//go:embed assets/brief.css
var briefStyle string

// BriefOptions are what the brief is made of. Summary and Clip should be
// de-identified; the page shows no identity even if they are not, but the
// samples behind the picture stay as they are given.
type BriefOptions struct {
	Summary archive.Summary
	Attempt int // number of the attempt in the summary
	Clip    *flightdata.Recording
	Levels  []Level
	Type    string // type of aircraft, for the choice of the simulator
}

// briefView is what the template of the brief reads.
type briefView struct {
	shell
	Headline, Type, Caution     string
	Conditions, Sequence, After table
	Picture                     template.HTML
	Description                 string
}

// Brief writes one page for an instructor who wants crews to meet a situation
// in the simulator: what to set, what happens when, what was done when. It
// tells facts and their origin and judges nobody. An error says that there is
// no such attempt, or comes from w.
func Brief(w io.Writer, o BriefOptions) error {
	for _, a := range o.Summary.Attempts {
		if a.Number == o.Attempt {
			return o.write(w, a)
		}
	}
	return fmt.Errorf("flight %s has no attempt %d", o.Summary.Key, o.Attempt)
}

func (o BriefOptions) write(w io.Writer, a archive.AttemptSummary) error {
	a = timeless(a)
	b := brief{o, a, span.Sec(origin(a))}
	v := briefView{
		Headline: outcomeWords(a), Type: known(o.Type, "Type not known"), Caution: o.Summary.Caution,
		Conditions: b.conditions(), Sequence: b.sequence(), After: b.after(),
	}
	style := pageStyle + chart.Style + briefStyle
	v.shell = shell{Title: v.Headline + ", brief", Policy: policy(style, ""), Style: template.CSS(style)}
	if t := newTraces(a, o.Clip, o.Levels); t != nil {
		v.Picture, v.Description = t.Roll, t.Description
	}
	if err := templates().ExecuteTemplate(w, "brief", v); err != nil {
		return fmt.Errorf("brief of attempt %d of flight %s: %w", o.Attempt, o.Summary.Key, err)
	}
	return nil
}

// timeless takes the time of day from what the page reads of an attempt.
func timeless(a archive.AttemptSummary) archive.AttemptSummary {
	for _, m := range []**archive.Moment{&a.ThrustAdvance, &a.Onset, &a.RollStart, &a.Rotation, &a.LiftOff, &a.ThrustCut, &a.Peak, &a.Stop} {
		if *m != nil {
			copied := **m
			copied.UTC = ""
			*m = &copied
		}
	}
	return a
}

// brief makes the tables of one attempt.
type brief struct {
	BriefOptions
	a    archive.AttemptSummary
	zero span.Instant
}

// The three origins of a condition.
const (
	measured = "measured"
	onList   = "listed"
	unknowns = "unknown"
)

// conditions lists what an instructor sets, in the order of a panel from the
// load to the runway. What is neither recorded nor listed stays in the list
// as unknown, because something must be chosen for it.
func (b brief) conditions() table {
	t := table{Kind: "conditions", Narrow: fits, Caption: "Initial conditions at the onset", Head: []head{{Text: "Condition"}, {Text: "Value", Num: true}, {Text: "Origin"}}}
	row := func(name, value, origin, remark string) {
		t.Rows = append(t.Rows, []cell{rowHead(name), num(value), {Text: origin, Sub: remark, Strong: origin == unknowns}})
	}
	plan := b.Summary.Flight.Plan
	if plan == nil {
		plan = &archive.Plan{}
	}
	for _, c := range []struct {
		name   string
		base   flightdata.Parameter
		listed *float64
		unit   string
	}{
		{"Weight", flightdata.GrossWeight, plan.Weight, "kg"},
		{"Center of gravity", flightdata.CenterOfGravity, plan.CG, "%"},
		{"Flap lever", flightdata.FlapLever, nil, ""},
		{"Flaps", flightdata.FlapPosition, nil, ""},
		{"Slats", flightdata.SlatPosition, nil, ""},
		{"Stabilizer trim", flightdata.StabilizerTrim, nil, ""},
		{"Rudder trim", flightdata.RudderTrim, nil, ""},
		{"Aileron trim", flightdata.AileronTrim, nil, ""},
		{"Parking brake", flightdata.ParkingBrake, nil, ""},
		{"Speedbrake lever", flightdata.SpeedbrakeLever, nil, ""},
		{"Spoilers", flightdata.SpoilerPosition, nil, ""},
		{"Autobrake", flightdata.Autobrake, nil, ""},
		{"Main-gear steering", flightdata.MainGearSteering, nil, ""},
		{"Ground speed", flightdata.GroundSpeed, nil, ""},
		{"V1", flightdata.V1, plan.V1, "kt"},
		{"VR", flightdata.VR, plan.VR, "kt"},
		{"Wind speed", flightdata.WindSpeed, nil, ""},
		{"Wind direction, clockwise from the runway's", flightdata.WindDirection, nil, ""},
		{"Outside air temperature", flightdata.OutsideAirTemp, nil, ""},
	} {
		value, remark, ok := b.read(c.base)
		if c.base == flightdata.GroundSpeed && ok && b.a.OnsetSpeed != nil {
			value = With(b.a.OnsetSpeed.Value, "kt") // as in the sequence
		}
		switch {
		case ok:
			row(c.name, value, measured, remark)
		case c.listed != nil:
			row(c.name, With(*c.listed, c.unit), onList, "")
		case needed(c.base):
			row(c.name, None, unknowns, remark)
		}
	}
	b.planned(row, plan)
	return t
}

// needed says whether a simulator asks for a condition on any type; the others
// are listed only where the aircraft has them.
func needed(p flightdata.Parameter) bool {
	switch p {
	case flightdata.SlatPosition, flightdata.RudderTrim, flightdata.AileronTrim, flightdata.SpoilerPosition, flightdata.Autobrake, flightdata.MainGearSteering, flightdata.FlapPosition:
		return false
	}
	return true
}

// planned adds what only the flight list knows, and thrust.
func (b brief) planned(row func(name, value, origin, remark string), plan *archive.Plan) {
	list := func(name string, v *float64, unit, remark string) {
		if v == nil {
			row(name, None, unknowns, "")
			return
		}
		row(name, With(*v, unit), onList, remark)
	}
	list("Planned flap", plan.PlannedFlap, b.unit(flightdata.FlapLever), "")
	list("Planned trim", plan.Trim, b.unit(flightdata.StabilizerTrim), "")
	list("Runway length", plan.Runway, "m", "rounded")
	if value, name := b.thrust(); value != "" {
		row("Highest thrust of the attempt, "+name, value, measured, "")
		return
	}
	row("Highest thrust of the attempt", None, unknowns, "")
}

// unit is the unit of a lever, in which the flight list gives its setting; ""
// when it is not recorded.
func (b brief) unit(p flightdata.Parameter) string {
	if b.Clip == nil || b.Clip.Get(p) == nil {
		return ""
	}
	return b.Clip.Get(p).Unit.Symbol
}

// read is a parameter at the onset, all its sides or engines, as a person
// reads it; without one, why there is none.
func (b brief) read(base flightdata.Parameter) (value, remark string, ok bool) {
	if b.Clip == nil {
		return "", "", false
	}
	var parts []string
	for _, p := range b.Clip.Parameters() {
		if p.Base() != base {
			continue
		}
		s := b.Clip.Get(p)
		r := s.At(b.zero)
		if !r.OK {
			remark = r.Why
			continue
		}
		text := worded(s, r.Value)
		if side := strings.TrimPrefix(string(p), string(base)+"."); side != string(p) {
			text = side + " " + text
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, ", "), remark, len(parts) > 0
}

// worded is a value of a series as a person reads it.
func worded(s *flightdata.Series, v float64) string {
	if s.Kind == flightdata.Discrete {
		return s.State(v)
	}
	return With(v, s.Unit.Symbol)
}

// thrust is the highest good sample of the measure that the attempt was read
// on, on the engine that had it.
func (b brief) thrust() (value, name string) {
	best, unit := math.Inf(-1), ""
	measure := flightdata.Parameter(b.a.ThrustBy)
	for n := 1; b.Clip != nil && measure != "" && n <= len(b.a.Engines); n++ {
		s := b.Clip.Get(measure.Engine(b.a.Engines[n-1]))
		for p := range s.Good(rollWindow(b.a)) {
			if p.Value > best {
				best, unit = p.Value, s.Unit.Symbol
			}
		}
	}
	if math.IsInf(best, -1) {
		return "", ""
	}
	return With(best, unit), strings.ReplaceAll(strings.ToUpper(b.a.ThrustBy), "_", " ")
}

// sequence lists what was seen, heard, felt and done, in order of time, with
// the ground speed at each.
func (b brief) sequence() table {
	t := table{Kind: "cues", Narrow: fits, Caption: "Cues and actions", Empty: "No instant of this attempt could be told.", Head: []head{
		{Text: "From onset", Unit: "s", Num: true}, {Text: "Uncertainty", Unit: "s", Num: true}, {Text: "Event"}, {Text: "Ground speed", Unit: "kt", Num: true},
	}}
	zero, told := origin(b.a), measuredSpeeds(b.a)
	for _, e := range b.events() {
		speed := None
		if v, ok := told[e.At]; ok {
			speed = Number(v, 0)
		} else if b.Clip != nil {
			if r := b.Clip.Get(flightdata.GroundSpeed).At(span.Sec(e.At)); r.OK {
				speed = Number(r.Value, 0)
			}
		}
		t.Rows = append(t.Rows, []cell{num(signed(e.At-zero, 1)), num(bracket(e.Moment)), text(e.name), num(speed)})
	}
	return t
}

// after lists what came out of it: distances and deceleration of a reject.
func (b brief) after() table {
	t := table{Caption: "Measured over the attempt", Head: []head{{Text: "Measure"}, {Text: "Value", Num: true}}}
	row := func(name string, v *float64, decimals int, unit string) {
		if v != nil {
			t.Rows = append(t.Rows, []cell{rowHead(name), num(Number(*v, decimals) + " " + unit)})
		}
	}
	if p := b.a.PeakSpeed; p != nil {
		row("Highest ground speed", &p.Value, 0, "kt")
	}
	if r := b.a.Reject; r != nil {
		row("Roll start to thrust cut", r.ToCut, 0, "m")
		row("Roll start to stop", r.ToStop, 0, "m")
		row("Thrust cut to stop", r.CutToStop, 0, "m")
		row("Thrust cut to stop", r.CutToStopTime, 1, "s")
		row("Mean deceleration", r.MeanDeceleration, 2, "g")
		row("Largest heading deviation", r.HeadingDeviation, 1, "deg")
	}
	if takeoff.Outcome(b.a.Outcome) == takeoff.Airborne && b.a.LiftOff != nil && b.a.RollStart != nil {
		roll := b.a.LiftOff.At - b.a.RollStart.At
		row("Roll start to lift-off", &roll, 1, "s")
	}
	t.Empty = "Nothing could be measured."
	return t
}
