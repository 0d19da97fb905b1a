package synth

import (
	"bytes"
	"encoding/csv"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

func load(t *testing.T, name string) *profile.Profile {
	t.Helper()
	p, err := profile.Load(filepath.Join("..", "fleet", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// played is a flight of a recipe, played but not recorded.
func played(t *testing.T, name string, r recipe) *flight {
	t.Helper()
	f, err := newFlight(r, load(t, name), newRandom(9, 1), Plain, false)
	if err != nil {
		t.Fatal(err)
	}
	f.play()
	return f
}

// Every recorded number is the simulator's to within half a step and the
// noise, at the recorder's own instants; times and rates are as promised.
func TestRecorderKeepsTheState(t *testing.T) {
	for _, name := range []string{"qx40", "tj22", "tp08"} {
		f := played(t, name, recipe{})
		tape := recordFlight(f.p, f.sim.tape, f.rnd, nil, condition{})
		for i := range f.p.Parameters {
			rule := &f.p.Parameters[i]
			c := &tape.columns[i]
			if c.name != rule.Columns[0] {
				t.Fatalf("%s: column %d is %s, want %s", name, i, c.name, rule.Columns[0])
			}
			keepsState(t, f, tape, rule, c)
		}
	}
}

func keepsState(t *testing.T, f *flight, tape *tape, rule *profile.ParameterRule, c *column) {
	t.Helper()
	back, err := unit.Convert(rule.Unit, rule.Canonical)
	if err != nil {
		t.Fatal(err)
	}
	ch := channelOf(rule.Parameter)
	slack := ch.quantum/2 + 3.5*ch.noise + 1e-9
	n, last := 0, -1
	for row, cell := range c.cells {
		if cell == blankCell {
			continue
		}
		n++
		step := (int(tape.micros[row])*tape.hz/1_000_000 + tape.first) * stepsPerS / tape.hz
		want, _ := f.sim.tape.at(rule.Parameter, step)
		got := float64(cell)
		if !c.discrete() {
			got = back.Apply(c.number(cell))
		}
		if rule.Parameter == flightdata.Airspeed {
			want = max(want, rule.Floor)
		}
		off := math.Abs(got - want)
		if rule.Parameter == flightdata.Heading {
			off = math.Min(off, 360-off)
		}
		if off > slack {
			t.Fatalf("%s at step %d: recorded %v, state %v, allowed %v", rule.Parameter, step, got, want, slack)
		}
		if last >= 0 && math.Abs(float64(step-last)/stepsPerS-1/rule.Rate) > 1e-9 {
			t.Fatalf("%s: %v s between samples, want %v", rule.Parameter, float64(step-last)/stepsPerS, 1/rule.Rate)
		}
		last = step
	}
	if n == 0 {
		t.Errorf("%s has no sample", rule.Parameter)
	}
}

// Each fault does what its name says, and nothing to any other column.
func TestFaults(t *testing.T) {
	const gs, pb = flightdata.GroundSpeed, flightdata.ParkingBrake
	for _, c := range []struct {
		name string
		fault
		wrong func(before, after *column, from, to int) string
	}{
		{"dead", fault{dead, gs}, func(_, after *column, _, _ int) string { return anyCell(after.cells) }},
		{"dropout", fault{dropout, gs}, func(_, after *column, from, to int) string { return anyCell(after.cells[from:to]) }},
		{"frozen", fault{frozen, gs}, func(_, after *column, from, to int) string { return changes(after.cells[from:to]) }},
		{"spikes", fault{spikes, gs}, func(before, after *column, _, _ int) string { return single(before, after) }},
		{"flicker", fault{flicker, pb}, func(before, after *column, _, _ int) string { return single(before, after) }},
		{"inverted", fault{inverted, pb}, func(before, after *column, _, _ int) string { return opposite(before, after) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := played(t, "qx40", recipe{faults: []fault{c.fault}})
			faults := f.placeFaults()
			good := recordFlight(f.p, f.sim.tape, newRandom(1, 1), nil, condition{})
			bad := recordFlight(f.p, f.sim.tape, newRandom(1, 1), faults, condition{})
			for i := range good.columns {
				before, after := &good.columns[i], &bad.columns[i]
				if p := f.p.Find(c.param); before.name == p.Columns[0] {
					from, to := row(good, faults[0].from), row(good, faults[0].to)
					if why := c.wrong(before, after, from, to); why != "" {
						t.Errorf("%s: %s", before.name, why)
					}
				} else if c.kind != spikes && c.kind != flicker && !equal(before.cells, after.cells) {
					t.Errorf("%s changed too", before.name)
				}
			}
		})
	}
}

// row is the first row at or after a step.
func row(t *tape, step int) int {
	for i, us := range t.micros {
		if int(us)*t.hz/1_000_000+t.first >= step*t.hz/stepsPerS {
			return i
		}
	}
	return len(t.micros)
}

func anyCell(cells []int64) string {
	for _, v := range cells {
		if v != blankCell {
			return "a cell is left"
		}
	}
	return ""
}

func changes(cells []int64) string {
	last := int64(blankCell)
	for _, v := range cells {
		if v == blankCell {
			continue
		}
		if last != blankCell && v != last {
			return "it moves"
		}
		last = v
	}
	return ""
}

// single demands at least one changed sample and none beside another.
func single(before, after *column) string {
	hits, beside, previous := 0, false, false
	for i := range before.cells {
		if before.cells[i] == blankCell {
			continue
		}
		changed := before.cells[i] != after.cells[i]
		if changed {
			hits++
			beside = beside || previous
		}
		previous = changed
	}
	switch {
	case hits == 0:
		return "nothing changed"
	case beside:
		return "two samples in a row"
	}
	return ""
}

func opposite(before, after *column) string {
	for i := range before.cells {
		if before.cells[i] != blankCell && before.cells[i]+after.cells[i] != 1 {
			return "a sample is not inverted"
		}
	}
	return ""
}

func equal(a, b []int64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// A missing column is missing and every other cell is as it was.
func TestMissingColumn(t *testing.T) {
	f := played(t, "tj22", recipe{faults: []fault{{missing, flightdata.GrossWeight}}})
	tape := recordFlight(f.p, f.sim.tape, f.rnd, f.placeFaults(), condition{})
	for i := range tape.columns {
		if tape.columns[i].name == "GWT" {
			t.Error("the column is there")
		}
	}
	if len(tape.columns) != len(f.p.Parameters) { // one less, and the frame counter
		t.Errorf("%d columns for %d parameters", len(tape.columns), len(f.p.Parameters))
	}
}

// The step of a stored number is 1, 2 or 5 times a power of ten, never
// coarser than the quantum and never finer than two fifths of it.
func TestNiceStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(1e-6, 1e5).Draw(t, "quantum")
		step, decimals := niceStep(q)
		got := float64(step) / math.Pow(10, float64(decimals))
		if got > q*(1+1e-6) || got < 0.39*q {
			t.Fatalf("quantum %v gives step %v", q, got)
		}
		digits := strings.TrimRight(strconv.FormatInt(step, 10), "0")
		if digits != "1" && digits != "2" && digits != "5" {
			t.Fatalf("step %d is not 1, 2 or 5 times a power of ten", step)
		}
	})
}

// The text of a cell is its value, exactly.
func TestCellText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := column{decimals: rapid.IntRange(0, 6).Draw(t, "decimals")}
		c.cells = []int64{rapid.Int64Range(-1e12, 1e12).Draw(t, "cell")}
		got, err := strconv.ParseFloat(string(appendCell(nil, &c, 0)), 64)
		if err != nil || got != c.number(c.cells[0]) {
			t.Fatalf("%q, want %v: %v", appendCell(nil, &c, 0), c.number(c.cells[0]), err)
		}
	})
}

// A CSV of seconds and one of RFC 3339 have a time in every row, rising.
func TestTimesRise(t *testing.T) {
	for _, name := range []string{"qx40", "tj22"} {
		f := played(t, name, recipe{ending: lands})
		tape := recordFlight(f.p, f.sim.tape, f.rnd, nil, condition{})
		data := encodeCSV(tape, clockFace{rule: f.p.Time, start: day, origin: 86_000_000_000})
		rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for i := 2; i < len(rows); i++ {
			if a, b := rows[i-1][0], rows[i][0]; len(a) != len(b) || a >= b {
				t.Fatalf("%s row %d: %s after %s", name, i, b, a)
			}
		}
	}
}
