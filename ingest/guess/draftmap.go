package guess

import (
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// head writes who the profile is for and how the recording is timed.
func (d *draft) head() {
	d.line("rollonset: 1")
	name := nameOf(d.rec.Name)
	d.line("name: %s # CONFIRM: a short name of the type or subfleet", name)
	d.line("title: %s", quote("draft made of the recording "+plain(filepath.Base(d.rec.Name))))
	d.line(`version: "draft" # CONFIRM: your own version`)
	d.line("reason: first draft out of one recording")
	d.line("types: [DRAFT] # CONFIRM: the aircraft types")
	d.line("tails: [%s] # CONFIRM: the tails, or patterns of them", quote(name))
	d.line("engines: %d # CONFIRM: counted by the columns of thrust", max(d.engines(), 1))
	d.line("")
	d.time()
	if l := d.rec.Long; l != nil {
		d.confirm("", "each row is taken as one sample of the parameter that it names")
		unit := ""
		if l.Unit != "" {
			unit = ", unit: " + quote(l.Unit)
		}
		d.line("long: {parameter: %s, value: %s%s}\n", quote(l.Parameter), quote(l.Value), unit)
	}
}

// time writes how the recording is timed. How long it lasts by that is what a
// person can check a unit by.
func (d *draft) time() {
	t := d.rec.Time
	if len(t.Columns) == 0 {
		d.confirm("", "no column rises from row to row: name the one that holds the time")
		d.line(`time: {column: "FILL IN", form: seconds}` + "\n")
		return
	}
	rest := ""
	if t.DateColumn != "" {
		rest += ", date_column: " + quote(t.DateColumn)
	}
	if t.Rows > 1 || t.Form == profile.TimeFrames {
		rest += ", step: " + number(t.Step.Seconds()) + " s"
	}
	if t.Rows > 1 {
		rest += fmt.Sprintf(", rows: %d", t.Rows)
		d.confirm("", "%d rows share one written time and are taken to lie evenly in it", t.Rows)
	}
	if t.WrapsAt > 0 {
		rest += fmt.Sprintf(", wraps_at: %d", t.WrapsAt)
		d.confirm("", "the counter starts again, which is taken to be after %d", t.WrapsAt-1)
	}
	if d.rec.Assumed {
		d.confirm("", "how long a frame lasts: 1 s is ASSUMED, and every rate and speed of change below rests on it")
	}
	d.confirm("", "by this the recording lasts %s s", number(math.Round(10*d.rec.Duration.Seconds())/10))
	d.line("time: {column: %s, form: %s%s}\n", quote(t.Columns[0]), t.Form, rest)
}

// slots are the columns that hold the samples of one row together with those
// of c, by their names: four or more that end in a, b, c and so on, or in 1, 2,
// 3, whether or not each has samples. Two or three may as well be sources of
// which one is enough; then it is nil.
func (d *draft) slots(c *chosen) []int {
	first := d.rec.Columns[c.columns[0]].Name
	if len(first) < 2 {
		return nil
	}
	for _, letter := range []byte{'a', 'A', '1'} {
		var out []int
		for {
			name := first[:len(first)-1] + string(letter+byte(len(out)))
			i := slices.IndexFunc(d.rec.Columns, func(c Column) bool { return c.Name == name })
			// A number that stands for the engine makes another parameter.
			if i < 0 || d.rec.Guesses[i].Parameter != "" && d.rec.Guesses[i].Parameter != c.guess.Parameter {
				break
			}
			out = append(out, i)
		}
		if len(out) >= 4 && !slices.ContainsFunc(c.columns, func(i int) bool { return !slices.Contains(out, i) }) {
			return out
		}
	}
	return nil
}

// notInNames is what a profile's name cannot hold, dots included: what follows
// one is an extension in most file names.
var notInNames = regexp.MustCompile(`[^A-Za-z0-9_-]+`)

// longestName is how long the name of a profile may be.
const longestName = 40

// nameOf is the name of the draft of a recording: two drafts in a folder are
// two profiles, and where they came from can be read off them.
func nameOf(file string) string {
	stem, _, _ := strings.Cut(filepath.Base(file), ".")
	name := strings.Trim("DRAFT-"+notInNames.ReplaceAllString(stem, "-"), "-")
	return name[:min(len(name), longestName)]
}

// engines is how many engines, from the first on, one measure of thrust is
// found for.
func (d *draft) engines() int {
	most := 0
	for _, m := range measures {
		n := 0
		for d.chosen[m.Engine(n+1)] != nil {
			n++
		}
		most = max(most, n)
	}
	return most
}

// parameters writes the map: for each parameter the reason and the entry.
func (d *draft) parameters() {
	if len(d.rec.NoSample) > 0 {
		var texts []string
		for _, s := range d.rec.NoSample {
			texts = append(texts, quote(s))
		}
		d.confirm("", "these stand in several columns where numbers should, and are taken for no sample")
		d.line("no_sample: [%s]\n", strings.Join(texts, ", "))
	}
	d.line("parameters:")
	if d.chosen[flightdata.GroundSpeed] == nil && d.chosen[flightdata.Airspeed] == nil {
		d.confirm("  ", "no column looks like a speed, and no profile can do without one")
	}
	done := map[flightdata.Parameter]bool{}
	for _, p := range d.order {
		if done[p] || p.EngineNumber() > max(d.engines(), 1) {
			continue
		}
		c := d.chosen[p]
		key, column := string(p), d.columnsOf(c.columns)
		if pattern := d.everyEngine(p); pattern != "" {
			key, column = string(p.Base())+".*", quote(pattern)
			for n := 1; n <= d.engines(); n++ {
				done[p.Base().Engine(n)] = true
			}
		}
		d.confirm("  ", "(%s) %s", c.guess.Certainty, c.guess.Reason)
		way := "column"
		if row := d.slots(c); row != nil {
			way, column = "in_row", d.columnsOf(row)
			d.confirm("  ", "by their names the columns are taken as samples of one row, in this order")
		}
		d.line("  %s: {%s: %s%s}", key, way, column, d.rest(p, c))
	}
	d.leftOver()
	d.line("")
}

// columnsOf is the name of a column, or a list of several.
func (d *draft) columnsOf(columns []int) string {
	var names []string
	for _, i := range columns {
		names = append(names, quote(d.rec.Columns[i].Name))
	}
	if len(names) == 1 {
		return names[0]
	}
	return "[" + strings.Join(names, ", ") + "]"
}

// rest is the rest of an entry: unit or states, rate, floor.
func (d *draft) rest(p flightdata.Parameter, c *chosen) string {
	s := ""
	if len(c.guess.States) > 0 {
		var states []string
		for _, r := range c.guess.States {
			var cells []string
			for _, cell := range r.Cells {
				cells = append(cells, quote(cell))
			}
			states = append(states, fmt.Sprintf("%s: [%s]", r.State, strings.Join(cells, ", ")))
		}
		s += ", states: {" + strings.Join(states, ", ") + "}"
	} else {
		s += ", unit: " + quote(orNone(c.guess.Unit))
	}
	col := d.rec.Columns[c.columns[0]]
	perSecond := rate(col.Period.Seconds())
	if row := d.slots(c); row != nil { // each column adds its own
		perSecond = 0
		for _, i := range row {
			perSecond += rate(d.rec.Columns[i].Period.Seconds())
		}
	}
	if col.Filled {
		s += ", filled: true"
	}
	if r := perSecond; r > 0 && r <= 1000 {
		s += ", rate: " + number(r)
	}
	if p == flightdata.Airspeed {
		f := 1 / inKnots(c.guess.Unit)
		floor := 30 * f
		if col.Lo > 15*f && col.Lo < 70*f { // it stands at its floor
			floor = col.Lo
		}
		s += fmt.Sprintf(", floor: %s", quote(number(floor)+" "+c.guess.Unit.Symbol))
	}
	return s
}

// rate turns a period into samples per second, as a recorder would state it.
func rate(period float64) float64 {
	if period <= 0 {
		return 0
	}
	r := 1 / period
	if r >= 1 {
		return math.Round(r)
	}
	return math.Round(r*1000) / 1000
}

// everyEngine is the name of the columns of all engines with * for the number,
// "" when the names differ in more, or units, or states.
func (d *draft) everyEngine(p flightdata.Parameter) string {
	n := d.engines()
	if p.EngineNumber() != 1 || n < 2 {
		return ""
	}
	first := d.chosen[p]
	for i, r := range d.rec.Columns[first.columns[0]].Name {
		if r != '1' {
			continue
		}
		name := d.rec.Columns[first.columns[0]].Name
		pattern := name[:i] + "*" + name[i+1:]
		if !strings.Contains(name, "*") && d.allMatch(p.Base(), pattern, n) {
			return pattern
		}
	}
	return ""
}

func (d *draft) allMatch(base flightdata.Parameter, pattern string, n int) bool {
	first := d.chosen[base.Engine(1)]
	for k := 1; k <= n; k++ {
		c := d.chosen[base.Engine(k)]
		if c == nil || len(c.columns) != 1 || c.guess.Unit != first.guess.Unit || !sameStates(c.guess.States, first.guess.States) {
			return false
		}
		if d.rec.Columns[c.columns[0]].Name != strings.Replace(pattern, "*", strconv.Itoa(k), 1) {
			return false
		}
	}
	return true
}

// leftOver lists the columns that were not taken, so that nobody has to look
// for them: one of them may be what a check needs.
func (d *draft) leftOver() {
	var names []string
	for i, g := range d.rec.Guesses {
		if g.Parameter == "" {
			names = append(names, quote(d.rec.Columns[i].Name))
		}
	}
	for _, s := range d.unused {
		d.confirm("  ", "not taken: %s", s)
	}
	const most = 40
	if len(names) > most {
		names = append(names[:most], fmt.Sprintf("and %d more", len(names)-most))
	}
	if len(names) > 0 {
		d.line("  # No guess for: %s", plain(strings.Join(names, ", ")))
	}
}

// unitOf is the unit in which the draft writes limits of a parameter.
func (d *draft) unitOf(p flightdata.Parameter) unit.Unit { return d.chosen[p].guess.Unit }
