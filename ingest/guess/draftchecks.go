package guess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// measures of thrust, the one that is told best from a recording first.
var measures = []flightdata.Parameter{flightdata.N1, flightdata.EPR, flightdata.Torque, flightdata.ThrustLever}

// thrust writes the arming rule: by N1 or EPR if every engine has it, because
// their usual thresholds hold for most types; else by torque or lever.
func (d *draft) thrust() {
	measure, n := flightdata.Parameter(""), d.engines()
	for _, m := range measures {
		if n > 0 && d.everyOne(m, n) {
			measure = m
			break
		}
	}
	if measure == "" {
		d.confirm("", "no measure of thrust is found for every engine, and no profile can do without one")
		d.line("thrust: {measure: n1}\n")
		return
	}
	u := d.unitOf(measure.Engine(1))
	threshold, why := 0.0, "common practice; it must lie above every taxi burst and below the lowest reduced takeoff thrust"
	switch measure {
	case flightdata.N1:
		threshold = 70 * percent(u)
	case flightdata.EPR:
		threshold = 1.10
	default:
		lo, hi := d.span(measure, n)
		threshold = math.Round(lo + 0.6*(hi-lo))
		if u.Symbol == "fraction" {
			threshold = math.Round(100*(lo+0.6*(hi-lo))) / 100
		}
		why = "a placeholder, six tenths of the way from the least to the most seen in this recording"
	}
	d.confirm("", "the threshold is %s", why)
	d.line("thrust:\n  measure: %s\n  threshold: %s\n  engines: half\n  persistence: 2 s\n", measure, quantity(threshold, u))
}

// percent is how much of a unit of ratio one percent is.
func percent(u unit.Unit) float64 {
	if u.Symbol == "fraction" {
		return 0.01
	}
	return 1
}

func (d *draft) everyOne(m flightdata.Parameter, n int) bool {
	for k := 1; k <= n; k++ {
		if d.chosen[m.Engine(k)] == nil {
			return false
		}
	}
	return true
}

// span is the least and most of a measure over all engines.
func (d *draft) span(m flightdata.Parameter, n int) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for k := 1; k <= n; k++ {
		c := d.rec.Columns[d.chosen[m.Engine(k)].columns[0]]
		lo, hi = min(lo, c.Lo), max(hi, c.Hi)
	}
	return lo, hi
}

// quantity writes a number with its unit as the language wants it.
func quantity(v float64, u unit.Unit) string {
	s := number(v)
	if u.Symbol != "" {
		s += " " + u.Symbol
	}
	return quote(s)
}

// checks writes a check for every parameter that a takeoff configuration is
// made of, with what was seen as the limit.
func (d *draft) checks() {
	d.line("# Every limit below is a PLACEHOLDER: a value seen in this recording, not a limit.")
	switch len(d.onset) {
	case 0:
		d.line("# No roll of a takeoff past %d kt was found in it, so they are what was seen\n# anywhere in it.", rollPast)
	default:
		d.line("# They were seen in %s, lift-off or reject, which may\n# have been out of limits.", count(len(d.onset), "takeoff roll"))
	}
	d.line("checks:")
	before := d.b.Len()
	for _, p := range d.order {
		switch p.Base() {
		case flightdata.FlapLever:
			d.settings(p, "flap lever", 0.5, "CONFIRM the basis")
			d.moved(p)
		case flightdata.FlapPosition:
			d.settings(p, "flaps", 1, "CONFIRM the basis")
		case flightdata.SlatPosition:
			d.around(p, "slats", 2)
		case flightdata.StabilizerTrim:
			d.around(p, "trim", 1)
		case flightdata.RudderTrim:
			d.around(p, "rudder trim", 1)
		case flightdata.AileronTrim:
			d.around(p, "aileron trim", 1)
		case flightdata.SpeedbrakeLever:
			d.stowed(p, "speedbrake lever")
		case flightdata.SpoilerPosition:
			d.stowed(p, "spoilers")
		case flightdata.ParkingBrake:
			d.state(p, "parking brake", "released")
		case flightdata.MainGearSteering:
			d.state(p, "main-gear steering", "centered")
		}
	}
	if !strings.Contains(d.b.String()[before:], "  - name: ") {
		d.nothing()
	}
	d.line("")
}

// nothing stands in for the first check: a profile needs one. It asks for what
// every takeoff does, so that it says nothing until a person replaces it.
func (d *draft) nothing() {
	for _, p := range []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed} {
		if d.chosen[p] == nil {
			continue
		}
		d.confirm("  ", "PLACEHOLDER: no check could be made of what was found; replace this one, it says nothing")
		d.line("  - name: placeholder")
		d.line("    title: speed below any that a takeoff reaches")
		d.line("    range: {parameter: %s, max: 300 kt}", p)
		return
	}
	d.confirm("  ", "no check could be made of what was found: write the first one")
}

// called is the name of a check, with the side of its parameter.
func called(name string, p flightdata.Parameter) string {
	if _, side, ok := strings.Cut(string(p), "."); ok {
		return name + " " + side
	}
	return name
}

// settings writes a one_of check of flaps. Flaps up is the very error that the
// check is there to find, so it never becomes a setting by having been seen.
func (d *draft) settings(p flightdata.Parameter, name string, tolerance float64, basis string) {
	u, scale := d.unitOf(p), degrees(d.unitOf(p))
	values := d.seen(p, 0.5*scale)
	out, up := d.extended(p, values, tolerance)
	if len(out) == 0 {
		out, _ = d.extended(p, distinct(d.course(p), 5, 2*scale), tolerance)
	}
	if up {
		d.confirm("  ", "%s was up in a takeoff roll of this recording; that is left out of the settings (few types take off so: common practice, no published source)", called(name, p))
	}
	if len(out) == 0 {
		d.confirm("  ", "no setting of the %s but up was seen: enter the takeoff settings of the type and take the # in front of its lines away", called(name, p))
		d.line("  #- name: %s", called(name, p))
		d.line("  #  title: %s in a takeoff setting", called(name, p))
		d.line("  #  one_of: {parameter: %s, settings: [FILL IN], tolerance: %s}", p, quantity(tolerance*scale, u))
		return
	}
	var list []string
	for _, v := range out[:min(len(out), 12)] {
		list = append(list, quantity(v, u))
	}
	d.line("  - name: %s", called(name, p))
	d.line("    title: %s in a takeoff setting", called(name, p))
	d.confirm("    ", "PLACEHOLDER: enter the takeoff settings of the type; these were seen")
	d.line("    one_of: {parameter: %s, settings: [%s], tolerance: %s}", p, strings.Join(list, ", "), quantity(tolerance*scale, u))
	d.line("    # %s and set warning_due, if the type's own warning must sound for it", basis)
}

// extended gives the settings that are not up, kept inside of what is possible
// and apart, and says whether one was up.
func (d *draft) extended(p flightdata.Parameter, values []float64, tolerance float64) (out []float64, up bool) {
	scale := degrees(d.unitOf(p))
	for _, v := range values {
		if v <= scale/2 {
			up = true
			continue
		}
		out = append(out, d.within(p, v, 1, 1))
	}
	return apart(out, 2.5*tolerance*scale), up
}

// within keeps a limit of p inside of what is possible at all, because the
// language refuses one that nothing can pass: low and high hundredths of the
// possible range away from its ends.
func (d *draft) within(p flightdata.Parameter, v, low, high float64) float64 {
	u := d.unitOf(p)
	def, ok := flightdata.Define(p)
	if ok && def.Hi > def.Lo && u.Dim() == def.Dims[0] {
		if conv, err := unit.Convert(unit.Canonical(u.Dim()), u); err == nil {
			part := (def.Hi - def.Lo) / 100
			v = min(max(v, conv.Apply(def.Lo+low*part)), conv.Apply(def.Hi-high*part))
		}
	}
	return v
}

// degrees is what one degree is in a unit of a lever or surface; one in any
// other scale.
func degrees(u unit.Unit) float64 {
	switch u.Symbol {
	case "rad":
		return math.Pi / 180
	case "fraction":
		return 0.01
	}
	return 1
}

// apart drops values that lie too close to the one before for a tolerance.
func apart(values []float64, least float64) []float64 {
	var out []float64
	for _, v := range values {
		if len(out) == 0 || v-out[len(out)-1] > least {
			out = append(out, v)
		}
	}
	return out
}

// moved writes the check that nothing moves after the onset; it has no limit to
// fill in but how far a lever may rattle.
func (d *draft) moved(p flightdata.Parameter) {
	u := d.unitOf(p)
	d.line("  - name: %s", called("flap moved", p))
	d.line("    title: flap lever left alone from the onset")
	d.line("    one_of: {parameter: %s, settings: as at onset, tolerance: %s}", p, quantity(degrees(u), u))
	d.line("    judged: {from: onset, to: lift-off}")
}

// around writes a range check around what was seen.
func (d *draft) around(p flightdata.Parameter, name string, margin float64) {
	u, scale := d.unitOf(p), degrees(d.unitOf(p))
	col := d.rec.Columns[d.chosen[p].columns[0]]
	lo, hi := col.Lo, col.Hi
	if v := d.seen(p, 0.05*scale); len(v) > 0 {
		lo, hi = v[0], v[len(v)-1]
	}
	d.line("  - name: %s", called(name, p))
	d.line("    title: %s in the takeoff range", called(name, p))
	d.confirm("    ", "PLACEHOLDER: enter the limits of the type, or a band over weight and centre of gravity; seen was %s to %s", short(lo), short(hi))
	d.line("    range: {parameter: %s, min: %s, max: %s}", p, quantity(d.within(p, lo-margin*scale, 1, 5), u), quantity(d.within(p, hi+margin*scale, 5, 1), u))
}

// stowed writes that a lever or panel lies within a twentieth of its travel
// from its lower end.
func (d *draft) stowed(p flightdata.Parameter, name string) {
	u, col := d.unitOf(p), d.rec.Columns[d.chosen[p].columns[0]]
	limit := max(col.Lo, 0) + max(0.05*(col.Hi-max(col.Lo, 0)), degrees(u))
	d.line("  - name: %s", called(name, p))
	d.line("    title: %s stowed", called(name, p))
	d.confirm("    ", "PLACEHOLDER: enter the limit of the type; this is a twentieth of the travel seen, %s to %s", short(col.Lo), short(col.Hi))
	d.line("    range: {parameter: %s, max: %s}", p, quantity(d.within(p, limit, 1, 1), u))
}

// state writes a state check.
func (d *draft) state(p flightdata.Parameter, name, is string) {
	rules := d.chosen[p].guess.States
	if !slices.ContainsFunc(rules, func(r profile.StateRule) bool { return r.State == is }) {
		return
	}
	d.line("  - name: %s", name)
	d.line("    title: %s %s", name, is)
	d.line("    state: {parameter: %s, is: %s}", p, is)
}

// ends writes the warning and the reject rule.
func (d *draft) ends() {
	if c := d.chosen[flightdata.TakeoffWarning]; c != nil {
		d.confirm("", "how soon the warning must be seen")
		d.line("warning: {parameter: takeoff_warning, within: 3 s}\n")
	}
	d.line("reject:")
	d.line("  boundary: 80 kt # CONFIRM: 80 or 100 kt, by your own procedures")
	for _, p := range []flightdata.Parameter{flightdata.BrakePressure, flightdata.BrakePressure.Left()} {
		if c := d.chosen[p]; c != nil {
			conv, _ := unit.Convert(unit.Must("psi"), c.guess.Unit)
			d.line("  brakes_on: %s # CONFIRM: PLACEHOLDER, 300 psi", quantity(math.Round(conv.Apply(300)), c.guess.Unit))
			break
		}
	}
	if c := d.chosen[flightdata.SpeedbrakeLever]; c != nil {
		col := d.rec.Columns[c.columns[0]]
		out := max(0.1*(col.Hi-max(col.Lo, 0)), 2*degrees(c.guess.Unit))
		d.line("  lever_out: %s # CONFIRM: PLACEHOLDER, a tenth of the travel seen", quantity(out, c.guess.Unit))
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
