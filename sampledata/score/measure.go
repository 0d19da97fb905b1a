package score

import (
	"cmp"
	"math"
	"slices"

	"rollonset/report/archive"
	"rollonset/sampledata/truth"
)

// measureNames are the measures in the order of the report, with their units.
var measureNames = []struct{ name, unit string }{
	{"thrust advance", "s"},
	{"onset", "s"},
	{"roll start", "s"},
	{"rotation", "s"},
	{"lift-off", "s"},
	{"thrust cut", "s"},
	{"first action", "s"},
	{"peak", "s"},
	{"stop", "s"},
	{"peak ground speed", "kt"},
	{"ground speed at cut", "kt"},
	{"distance to cut", "m"},
	{"distance to cut beyond 5 m and 1 %", "m"},
	{"distance to stop", "m"},
	{"distance to stop beyond 5 m and 1 %", "m"},
}

// errorList collects the errors of one measure.
type errorList struct {
	cases          []Case
	errs           []float64
	widths         []float64
	held           int
	missing, extra int
}

// pair is one measure of one attempt: the truth, and what was found with the
// bracket it states; NaN where there is none.
type pair struct {
	name           string
	want           float64
	got, low, high float64
	second         float64
	stamped        float64 // what the stamps of the rows leave open
}

// rounding is by how much a summary may round a figure, so that a bracket
// that ends at the truth still holds it.
const rounding = 0.002

// stamped is by how much, s, a recorder with a bad clock may stamp a row early
// or late (sampledata/synth, nasty: 5 ms): nothing in the recording tells.
const stamped = 0.005

func (c *comparison) measure(row *truth.Attempt, a *archive.AttemptSummary) {
	for _, p := range instants(row, a) {
		c.add(row, p)
	}
	for _, p := range quantities(row, a) {
		c.add(row, p)
	}
}

func instants(row *truth.Attempt, a *archive.AttemptSummary) []pair {
	out := []pair{
		instant("thrust advance", row.ThrustAdvance, a.ThrustAdvance),
		instant("roll start", row.RollStart, a.RollStart),
		instant("lift-off", row.LiftOff, a.LiftOff),
		instant("thrust cut", row.ThrustCut, a.ThrustCut),
	}
	if row.Outcome == truth.TouchAndGo {
		return out[2:3] // its go part begins at speed: only the lift-off is of use
	}
	out = append(out, instant("onset", row.Onset, a.Onset), instant("rotation", row.Rotation, a.Rotation))
	if row.RejectClass == "" {
		return out
	}
	var first *archive.Moment
	if a.Reject != nil && a.Reject.FirstAction != nil {
		first = &a.Reject.FirstAction.At
	}
	return append(out, instant("first action", row.FirstAction, first),
		instant("peak", row.Peak, a.Peak), instant("stop", row.Stop, a.Stop))
}

func instant(name string, want float64, got *archive.Moment) pair {
	p := pair{name: name, want: want, got: math.NaN(), low: math.NaN(), high: math.NaN(), second: want, stamped: stamped}
	if got != nil {
		p.got, p.low, p.high = got.At, got.Earliest, got.Latest
	}
	return p
}

func quantities(row *truth.Attempt, a *archive.AttemptSummary) []pair {
	if row.RejectClass == "" || row.RejectClass == truth.BeforeRoll || a.Reject == nil {
		return nil
	}
	r := a.Reject
	out := []pair{
		reading("peak ground speed", row.PeakGroundSpeed, row.Peak, r.PeakGround),
		reading("ground speed at cut", row.GroundSpeedAtCut, row.ThrustCut, r.GroundAtCut),
	}
	for _, d := range []struct {
		name           string
		want, second   float64
		got, low, high *float64
	}{
		{"distance to cut", row.DistanceToCut, row.ThrustCut, r.ToCut, r.ToCutLow, r.ToCutHigh},
		{"distance to stop", row.DistanceToStop, row.Stop, r.ToStop, r.ToStopLow, r.ToStopHigh},
	} {
		p := pair{name: d.name, want: d.want, got: figure(d.got), low: figure(d.low), high: figure(d.high), second: d.second}
		out = append(out, p)
		p.name, p.low, p.high = p.name+" beyond 5 m and 1 %", math.NaN(), math.NaN()
		if excess := math.Abs(p.got-p.want) - math.Max(5, 0.01*p.want); excess <= 0 {
			p.got = p.want
		}
		out = append(out, p)
	}
	return out
}

// figure is the figure, NaN for none.
func figure(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

func reading(name string, want, second float64, got *archive.Reading) pair {
	p := pair{name: name, want: want, got: math.NaN(), low: math.NaN(), high: math.NaN(), second: second}
	if got != nil {
		p.got, p.low, p.high = got.Value, got.Low, got.High
	}
	return p
}

// add puts a pair into its distribution, or reports that one side lacks it.
func (c *comparison) add(row *truth.Attempt, p pair) {
	l := c.errors[p.name]
	if l == nil {
		l = &errorList{}
		c.errors[p.name] = l
	}
	switch {
	case math.IsNaN(p.want) && math.IsNaN(p.got):
		return
	case math.IsNaN(p.got):
		l.missing++
		c.differ(row.Number, p.second, p.name, "known", "not told")
		return
	case math.IsNaN(p.want):
		l.extra++
		c.differ(row.Number, p.got, p.name, "did not happen", "told")
		return
	}
	l.errs = append(l.errs, math.Abs(p.got-p.want))
	l.cases = append(l.cases, Case{
		Measure: p.name, File: c.recording, Attempt: row.Number, Second: p.second, Want: p.want, Got: p.got, Scenario: row.Scenario,
	})
	if math.IsNaN(p.low) || math.IsNaN(p.high) {
		return
	}
	l.widths = append(l.widths, p.high-p.low)
	if slack := rounding + p.stamped; p.want >= p.low-slack && p.want <= p.high+slack {
		l.held++
	}
}

// worstOf is how many cases of each measure the report lists.
const worstOf = 5

// settle turns what was collected into the report.
func (c *comparison) settle() {
	for _, n := range measureNames {
		m := Measure{Name: n.name, Unit: n.unit}
		if l := c.errors[n.name]; l != nil {
			m.fill(l)
			c.out.Worst = append(c.out.Worst, l.worst()...)
		}
		c.out.Measures = append(c.out.Measures, m)
	}
	for _, k := range c.kinds {
		c.out.Kinds = append(c.out.Kinds, *k)
	}
	slices.SortFunc(c.out.Kinds, func(a, b Kind) int { return cmp.Compare(a.Name, b.Name) })
	for _, s := range c.scenarios {
		c.out.Scenarios = append(c.out.Scenarios, *s)
	}
	slices.SortFunc(c.out.Scenarios, func(a, b Scenario) int { return cmp.Compare(a.Name, b.Name) })
}

func (m *Measure) fill(l *errorList) {
	slices.Sort(l.errs)
	m.N, m.Missing, m.Extra = len(l.errs), l.missing, l.extra
	m.P50, m.P95, m.P99, m.Max = rank(l.errs, 50), rank(l.errs, 95), rank(l.errs, 99), rank(l.errs, 100)
	slices.Sort(l.widths)
	m.Brackets, m.Held, m.Width = len(l.widths), l.held, rank(l.widths, 50)
}

// rank is the value at a percentage by nearest rank: the least value that at
// least so many per cent do not exceed. Zero for none.
func rank(sorted []float64, percent int) float64 {
	if len(sorted) == 0 {
		return 0
	}
	i := (len(sorted)*percent + 99) / 100
	return sorted[max(i, 1)-1]
}

// worst are the cases with the largest errors, largest first; those without
// any error are left out.
func (l *errorList) worst() []Case {
	slices.SortStableFunc(l.cases, func(a, b Case) int {
		return cmp.Compare(math.Abs(b.Got-b.Want), math.Abs(a.Got-a.Want))
	})
	n := min(len(l.cases), worstOf)
	for n > 0 && l.cases[n-1].Got == l.cases[n-1].Want {
		n--
	}
	return l.cases[:n]
}
