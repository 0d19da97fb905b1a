package ingest

import (
	"math"
	"testing"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

// gateOf is a gate over air/ground and two speeds in knots.
func gateOf(t *testing.T) *aloft {
	t.Helper()
	kt, err := unit.Parse("kt")
	if err != nil {
		t.Fatal(err)
	}
	same, err := unit.Convert(kt, kt)
	if err != nil {
		t.Fatal(err)
	}
	return &aloft{
		rule: &profile.ParameterRule{Parameter: flightdata.AirGround, States: []profile.StateRule{{State: "ground", Cells: []string{"G"}}, {State: "air", Cells: []string{"A"}}}},
		speeds: []fast{
			{conv: same, above: fastOver, value: math.NaN()}, {conv: same, above: fastAir, value: math.NaN()},
		},
	}
}

// leg is some seconds of rows, one a second, that all say the same; a speed
// below zero is a blank cell.
type leg struct {
	seconds    int
	word       string
	over, air  float64
	step       time.Duration // between rows, one second if zero
	backwards  bool          // the first row is as old as the one before
	untimed    bool          // the first row has no time
	uneven     bool          // rows lie a little less and a little more apart
	wantClosed bool          // some of the rows are passed over
}

// cruise passes rows over after the first half minute.
var cruise = leg{seconds: 600, word: "A", over: 420, air: 260, wantClosed: true}

func TestGate(t *testing.T) {
	taxi := leg{seconds: 60, word: "G", over: 15, air: 0}
	blank := func(l leg, change func(l *leg)) leg { l.wantClosed = false; change(&l); return l }
	uneven := func(l leg) leg { l.uneven = true; return l }
	cases := []struct {
		name string
		legs []leg
	}{
		{"flight", []leg{taxi, {seconds: 60, word: "A", over: 180, air: 180}, cruise, {seconds: 300, word: "A", over: 160, air: 150}, taxi}},
		{"from the air on", []leg{blank(cruise, func(*leg) {})}},
		{"half a minute", []leg{taxi, blank(cruise, func(l *leg) { l.seconds = 30 }), {seconds: 5, word: "A", over: 200, air: 200}, blank(cruise, func(l *leg) { l.seconds = 30 })}},
		{"says ground", []leg{taxi, blank(cruise, func(l *leg) { l.word = "G" })}},
		{"says nothing", []leg{taxi, blank(cruise, func(l *leg) { l.word = "" })}},
		{"as fast as a tyre", []leg{taxi, blank(cruise, func(l *leg) { l.over = fastOver })}},
		{"only one is fast", []leg{taxi, blank(cruise, func(l *leg) { l.air = 120 })}},
		{"no airspeed", []leg{taxi, blank(cruise, func(l *leg) { l.air = -1 })}},
		{"no ground speed", []leg{taxi, blank(cruise, func(l *leg) { l.over = -1 })}},
		{"speed no number", []leg{taxi, {seconds: 1, word: "G", over: math.NaN()}, blank(cruise, func(*leg) {})}},
		{"unknown word", []leg{taxi, {seconds: 1, word: "?", over: 10}, blank(cruise, func(*leg) {})}},
		{"air at rest", []leg{taxi, {seconds: 10, word: "A", over: 5}, blank(cruise, func(*leg) {})}},
		{"time stands", []leg{taxi, blank(cruise, func(l *leg) { l.backwards = true })}},
		{"no time", []leg{taxi, blank(cruise, func(l *leg) { l.untimed = true })}},
		{"rows far apart", []leg{taxi, blank(cruise, func(l *leg) { l.step = 11 * time.Second })}},
		{"uneven clock", []leg{uneven(taxi), uneven(blank(cruise, func(*leg) {}))}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			g := gateOf(t)
			clock := int64(5e9)
			for i, l := range c.legs {
				closed := l.run(g, &clock)
				if (closed > 0) != l.wantClosed {
					t.Errorf("leg %d: %d rows passed over", i, closed)
				}
				// Fifteen out of sixteen seconds of the rest of each cycle.
				if l.wantClosed && (closed < (l.seconds-30)*3/4 || closed > l.seconds-30) {
					t.Errorf("leg %d: %d of %d rows passed over", i, closed, l.seconds)
				}
			}
		})
	}
}

func (l leg) run(g *aloft, clock *int64) (closed int) {
	step := l.step
	if step == 0 {
		step = time.Second
	}
	for k := range l.seconds {
		if k > 0 || !l.backwards {
			*clock += int64(step)
		}
		if l.uneven {
			*clock += int64(k%3-1) * int64(time.Millisecond)
		}
		r := table.GateRow{Clock: *clock, Timed: k > 0 || !l.untimed, Word: l.word, Told: l.word != ""}
		r.Numbers = []table.GateNumber{{Value: l.over, There: !(l.over < 0)}, {Value: l.air, There: !(l.air < 0)}}
		if !g.Open(&r) {
			closed++
		}
	}
	return closed
}

// Whatever stops being fast flight is read at once, and a copy of the gate
// goes on as the gate does.
func TestGateOpensAtOnce(t *testing.T) {
	for name, r := range map[string]table.GateRow{
		"ground":          {Told: true, Word: "G", Timed: true},
		"slow":            {Numbers: []table.GateNumber{{Value: 190, There: true}, {}}, Timed: true},
		"slow in the air": {Numbers: []table.GateNumber{{}, {Value: 190, There: true}}, Timed: true},
		"bad word":        {Told: true, Timed: true},
		"bad number":      {Numbers: []table.GateNumber{{Value: math.NaN(), There: true}, {}}, Timed: true},
		"no time":         {},
	} {
		g := gateOf(t)
		clock := int64(0)
		leg{seconds: 60, word: "G", over: 15}.run(g, &clock)
		leg{seconds: 60, word: "A", over: 300, air: 250}.run(g, &clock)
		r.Clock = clock + int64(time.Second)
		if r.Numbers == nil {
			r.Numbers = make([]table.GateNumber, 2)
		}
		for which, g := range map[string]table.Gate{"gate": g, "copy": g.Copy()} {
			if same := (&table.GateRow{Clock: clock + 1, Timed: true, Numbers: make([]table.GateNumber, 2)}); g.Open(same) {
				t.Fatalf("%s: the %s was not shut", name, which)
			}
			if !g.Open(&r) {
				t.Errorf("%s: the %s stays shut", name, which)
			}
		}
	}
}
