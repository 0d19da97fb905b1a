package guess

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// Recording is what Draft makes a profile of.
type Recording struct {
	Name     string           // of the file, for the comments
	Time     profile.TimeRule // the zero value when no column holds the time
	Assumed  bool             // the step of the frames is a guess
	Duration time.Duration
	Long     *profile.LongRule // nil for a wide file
	NoSample []string          // texts taken for no sample
	Step     time.Duration     // between two steps of a course
	Columns  []Column
	Guesses  []Guess // of the columns, in their order
}

// caution stands at the head of every draft.
const caution = `# CAUTION: this is a draft that a program made of ONE recording. Nobody has
# approved it. It says what the columns seem to be, and its limits are no limits
# at all: THEY ARE THE VALUES SEEN IN THAT RECORDING, so it would call a takeoff
# with wrong flaps normal if that recording was one. An operator enters its own
# approved figures. A profile supports a safety-management process; it releases
# no aircraft.
#
# Every line that needs a person is marked CONFIRM. Work through all of them,
# then take the marks and this head out.
`

// Draft writes a first profile. The text is one that the profile parser takes
// without a mistake if the recording holds a speed and the thrust of every
// engine; where it does not, the text says what is missing.
func Draft(r *Recording) []byte {
	d := &draft{rec: r, chosen: map[flightdata.Parameter]*chosen{}}
	d.choose()
	d.rolls()
	d.line("%s", caution)
	d.head()
	d.parameters()
	d.thrust()
	d.checks()
	d.ends()
	return []byte(d.b.String())
}

// draft is a profile in the making.
type draft struct {
	rec    *Recording
	b      strings.Builder
	order  []flightdata.Parameter
	chosen map[flightdata.Parameter]*chosen
	unused []string // columns whose guess was not taken, each with the reason
	// onset are the steps at which a takeoff roll passes walking speed.
	onset []int
}

// chosen is the columns taken for one parameter, the best first.
type chosen struct {
	guess   Guess
	columns []int
}

func (d *draft) line(format string, args ...any) { fmt.Fprintf(&d.b, format+"\n", args...) }

// confirm writes a comment that asks a person.
func (d *draft) confirm(indent, format string, args ...any) {
	d.line("%s# CONFIRM: %s", indent, plain(fmt.Sprintf(format, args...)))
}

// plain keeps a text on one line of a comment, whatever a file calls its columns.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if !strconv.IsPrint(r) {
			return '?'
		}
		return r
	}, s)
}

// quote writes a text of the recording as a text of YAML.
func quote(s string) string { return strconv.Quote(s) }

// choose takes the surest column for each parameter, and further ones of the
// same unit or states behind it.
func (d *draft) choose() {
	for _, sure := range []Certainty{Sure, Likely, Perhaps} {
		for i, g := range d.rec.Guesses {
			if g.Certainty != sure || g.Parameter == "" || g.Parameter == Time {
				continue
			}
			c := d.chosen[g.Parameter]
			switch {
			case !writable(d.rec.Columns[i].Name, g):
				d.leave(i, "a profile cannot hold its name or its cells; export it under a plain name")
			case c == nil && d.otherForm(g.Parameter):
				d.leave(i, "the other form of it, with or without sides, is taken")
			case c == nil && d.otherKind(g):
				d.leave(i, "its other side or engine is taken in another kind of unit; say in which both are")
			case c == nil:
				d.chosen[g.Parameter] = &chosen{g, []int{i}}
				d.order = append(d.order, g.Parameter)
			case sure != Perhaps && c.guess.Unit == g.Unit && sameStates(c.guess.States, g.States):
				c.columns = append(c.columns, i)
			default:
				d.leave(i, "a surer column is taken")
			}
		}
	}
	rank := map[flightdata.Parameter]int{}
	for i, def := range flightdata.Definitions() {
		rank[def.Name] = i
	}
	slices.SortStableFunc(d.order, func(a, b flightdata.Parameter) int {
		if r := rank[a.Base()] - rank[b.Base()]; r != 0 {
			return r
		}
		return strings.Compare(string(a), string(b))
	})
}

// writable says whether a profile can hold the name of a column and the cells
// of its states: in one line, and without the * that stands for an engine.
func writable(name string, g Guess) bool {
	texts := []string{name}
	for _, r := range g.States {
		texts = append(texts, r.Cells...)
	}
	return !slices.ContainsFunc(texts, func(s string) bool {
		return s == "" || s != strings.TrimSpace(s) || strings.Contains(s, "*") || plain(s) != s
	})
}

func (d *draft) leave(i int, why string) {
	g := d.rec.Guesses[i]
	d.unused = append(d.unused, fmt.Sprintf("%q may be %s (%s): %s", d.rec.Columns[i].Name, g.Parameter, g.Certainty, why))
}

// otherForm says whether a parameter is taken with sides where p has none, or
// the reverse.
func (d *draft) otherForm(p flightdata.Parameter) bool {
	def, ok := flightdata.Define(p)
	if !ok || !def.Sided {
		return false
	}
	if p == def.Name {
		return d.chosen[p.Left()] != nil || d.chosen[p.Right()] != nil
	}
	return d.chosen[def.Name] != nil
}

// otherKind says whether a side or engine of the same quantity is taken in a
// unit of another kind; a profile holds them in one.
func (d *draft) otherKind(g Guess) bool {
	for p, c := range d.chosen {
		if p.Base() == g.Parameter.Base() && c.guess.Unit.Dim() != g.Unit.Dim() {
			return true
		}
	}
	return false
}

func sameStates(a, b []profile.StateRule) bool {
	return slices.EqualFunc(a, b, func(x, y profile.StateRule) bool { return x.State == y.State && slices.Equal(x.Cells, y.Cells) })
}

// rollPast is the ground speed in kt past which a rise from taxi speed is taken
// for a takeoff roll, be it rejected afterwards: above what is taxied at.
const rollPast = 45

// rolls finds where the configuration of a takeoff can be seen: where the ground
// speed passes 40 kt on its way to 70 kt within half a minute, or rises from
// 20 kt past 45 kt in a third of that, as in a roll that is rejected early. No
// aircraft taxis so. A slow recording sees each in steps.
func (d *draft) rolls() {
	gs := d.course(flightdata.GroundSpeed)
	if gs == nil || d.rec.Step <= 0 {
		return
	}
	f := 1 / inKnots(d.chosen[flightdata.GroundSpeed].guess.Unit)
	half := max(int(30*time.Second/d.rec.Step), 1)
	for c := 1; c < len(gs); c++ {
		if n := len(d.onset); n > 0 && c-d.onset[n-1] < half {
			continue // the same roll
		}
		passes := func(v float64) bool { return float64(gs[c-1]) < v*f && float64(gs[c]) >= v*f }
		rises := func(to float64, steps int) bool {
			return slices.ContainsFunc(gs[c:min(c+steps, len(gs))], func(v float32) bool { return float64(v) > to*f })
		}
		slow := slices.ContainsFunc(gs[max(c-half, 0):c], func(v float32) bool { return float64(v) < 15*f })
		if slow && (passes(20) && rises(rollPast, max(half/3, 2)) || passes(40) && rises(70, half)) {
			d.onset = append(d.onset, c)
		}
	}
}

// course is the course of a parameter, nil when there is none.
func (d *draft) course(p flightdata.Parameter) []float32 {
	c := d.chosen[p]
	if c == nil {
		return nil
	}
	return d.rec.Columns[c.columns[0]].Course
}

// seen lists the values of a parameter in the rolls, rising, rounded to near;
// nil when no roll was found.
func (d *draft) seen(p flightdata.Parameter, near float64) []float64 {
	v := d.course(p)
	var out []float64
	for _, c := range d.onset {
		if c >= len(v) || v[c] != v[c] {
			continue
		}
		x := math.Round(float64(v[c])/near) * near
		if !slices.ContainsFunc(out, func(y float64) bool { return math.Abs(x-y) < near/2 }) {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return out
}

// number writes a limit as the language wants it: plain decimals.
func number(v float64) string {
	s := strconv.FormatFloat(math.Round(v*1e5)/1e5, 'f', -1, 64)
	if s == "-0" {
		return "0"
	}
	return s
}
