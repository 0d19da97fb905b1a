package sanity_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/sanity"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// plain is the profile of the flights made by hand here.
const plain = `
rollonset: 1
name: AB01
title: an invented type for tests
version: "1"
reason: test
types: [AB01]
tails: ["ZZ-A*"]
engines: 2
time: {column: T, form: seconds}
parameters:
  ground_speed: {column: GS, unit: kt, rate: 1}
  airspeed: {column: IAS, unit: kt, rate: 1, floor: 40 kt}
  n1.*: {column: "N1_*", unit: "%", rate: 1}
  thrust_lever.*: {column: "TLA_*", unit: deg, rate: 1}
  thrust_reverser.*: {column: "REV_*", states: {stowed: ["0"], deployed: ["1"]}}
  air_ground: {column: AIR, states: {ground: ["0"], air: ["1"]}}
  radio_height: {column: RA, unit: ft}
  pressure_altitude: {column: ALT, unit: ft}
  longitudinal_acceleration: {column: NX, unit: g}
  pitch: {column: PITCH, unit: deg}
  parking_brake: {column: PBRK, states: {released: ["0"], set: ["1"]}}
  speedbrake_lever: {column: SB, unit: "%"}
  gross_weight: {column: GW, unit: kg}
  center_of_gravity: {column: CG, unit: "%"}
thrust: {measure: n1}
checks:
  - name: trim
    title: weight inside its table
    band:
      parameter: center_of_gravity
      over: [gross_weight]
      tables: [{gross_weight: [50 t, 70 t], low: ["10 %", "10 %"], high: ["35 %", "35 %"]}]
reject: {boundary: 80 kt}
`

// flight is a hand-made flight, second by second: 60 s at the gate with the
// brake set, 120 s of taxi at 15 kt, 20 s of waiting, a roll of 5 kt/s to 150 kt,
// two minutes of climb.
type flight struct {
	rec  *flightdata.Recording
	prof *profile.Profile
}

const gate, wait, roll, lift, end = 60, 180, 200, 230, 350

func newFlight(t *testing.T) *flight {
	t.Helper()
	prof, err := profile.Parse("ab01.yaml", []byte(plain))
	if err != nil {
		t.Fatal(err)
	}
	f := &flight{&flightdata.Recording{Span: span.Span{To: span.Instant(end * time.Second)}, Series: map[flightdata.Parameter]*flightdata.Series{}}, prof}
	speed := func(s int) float64 {
		switch {
		case s < gate || s >= wait && s < roll:
			return 0
		case s < wait:
			return math.Min(15, 3*float64(min(s-gate, wait-s)))
		case s < lift:
			return 5 * float64(s-roll)
		}
		return 150 + 0.2*float64(s-lift)
	}
	height := func(s int) float64 { return 30 * math.Max(0, float64(s-lift)) }
	f.set("ground_speed", speed)
	f.set("airspeed", func(s int) float64 { return speed(s) + 10 })
	f.set("longitudinal_acceleration", func(s int) float64 { return (speed(s+1) - speed(s)) / (9.80665 * 3600 / 1852) })
	f.set("radio_height", func(s int) float64 { return math.Min(2500, height(s)) })
	f.set("pressure_altitude", func(s int) float64 { return 700 + height(s) })
	f.set("pitch", func(s int) float64 { return math.Min(12, 3*math.Max(0, float64(s-lift+2))) })
	f.set("air_ground", func(s int) float64 { return flag(s >= lift) })
	f.set("parking_brake", func(s int) float64 { return flag(s < gate) })
	f.set("speedbrake_lever", func(s int) float64 { return 100 * flag(s >= 20 && s < 30) }) // a check at the gate
	f.set("gross_weight", func(int) float64 { return 62000 })
	f.set("center_of_gravity", func(int) float64 { return 24 })
	for n := 1; n <= 2; n++ {
		f.set(flightdata.N1.Engine(n), func(s int) float64 { return 22 + 68*flag(s >= roll) + 0.1*float64((s*n)%3) })
		f.set(flightdata.ThrustLever.Engine(n), func(s int) float64 { return 60 * flag(s >= roll) })
		f.set(flightdata.ThrustReverser.Engine(n), func(int) float64 { return 0 })
	}
	return f
}

func flag(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// set puts a series into the flight, a sample each second.
func (f *flight) set(p flightdata.Parameter, value func(s int) float64) {
	s := &flightdata.Series{Parameter: p, Period: time.Second}
	if rule := f.prof.Find(p); rule != nil {
		s.Kind, s.Unit = rule.Kind, rule.Canonical
		for _, r := range rule.States {
			s.States = append(s.States, r.State)
		}
	} else {
		s.Unit = unit.Canonical(unit.Speed)
	}
	for i := range end {
		s.Times = append(s.Times, span.Instant(time.Duration(i)*time.Second))
		s.Values = append(s.Values, value(i))
	}
	f.rec.Series[p] = s
}

// change maps the values of a series.
func (f *flight) change(p flightdata.Parameter, to func(s int, v float64) float64) {
	s := f.rec.Series[p]
	for i, v := range s.Values {
		s.Values[i] = to(i, v)
	}
}

func (f *flight) scale(p flightdata.Parameter, by float64) {
	f.change(p, func(_ int, v float64) float64 { return v * by })
}

func (f *flight) turn(p flightdata.Parameter, top float64) {
	f.change(p, func(_ int, v float64) float64 { return top - v })
}

// plan lists a weight for the flight, kg.
func (f *flight) plan(kg float64) {
	f.rec.Plan = &flightdata.Plan{List: "flights.csv", Line: 2, Weight: &kg}
}

// degrees makes a series one of degrees and maps its values.
func (f *flight) degrees(p flightdata.Parameter, by float64) {
	f.scale(p, by)
	f.rec.Series[p].Unit = unit.Canonical(unit.Angle)
	rule := f.prof.Find(p)
	rule.Unit, rule.Canonical = unit.Canonical(unit.Angle), unit.Canonical(unit.Angle)
}

// kmh and ms turn knots into other units.
const kmh, ms = 1.852, 1852. / 3600

// checkCase is one change of the hand-made flight and what must come of it.
type checkCase struct {
	name   string
	do     func(f *flight)
	doubt  string // parameters in name order
	remark string // what the first note must hold
}

// checkCases try one thing at a time. Those without doubt are real events, or
// things that look odd and happen.
var checkCases = []checkCase{
	{"nothing", func(*flight) {}, "", ""},

	{"ground speed in m/s", func(f *flight) { f.scale("ground_speed", ms) }, "ground_speed", "0.51 times as fast as airspeed says, which looks like m/s read as kt or kt read as km/h; check the unit of ground_speed (line 12"},
	{"airspeed in km/h", func(f *flight) { f.scale("airspeed", kmh) }, "airspeed", "1.9 times as fast as ground_speed says, which looks like kt read as m/s or km/h read as kt"},
	{"acceleration in m/s2", func(f *flight) { f.scale("longitudinal_acceleration", 9.80665) }, "longitudinal_acceleration", "m/s2 read as g"},
	{"two speeds that nothing tells apart", func(f *flight) {
		delete(f.rec.Series, "longitudinal_acceleration")
		f.scale("ground_speed", ms)
	}, "airspeed ground_speed", "times as fast"},
	{"a headwind of 45 kt", func(f *flight) { f.change("airspeed", func(_ int, v float64) float64 { return v + 35 }) }, "", ""},
	{"a high and hot aerodrome", func(f *flight) { f.scale("airspeed", 0.8) }, "", ""},
	{"an uphill runway and a biased accelerometer", func(f *flight) {
		f.change("longitudinal_acceleration", func(_ int, v float64) float64 { return v + 0.04 })
	}, "", ""},
	{"a jump of the ground speed", func(f *flight) {
		f.change("ground_speed", func(s int, v float64) float64 { return v + 60*flag(s > 100 && s < 130) })
	}, "", ""},

	{"radio height in metres", func(f *flight) { f.scale("radio_height", 0.3048) }, "pressure_altitude radio_height", "0.3 times as much"},
	{"terrain that rises with the climb", func(f *flight) { f.scale("radio_height", 0.65) }, "", ""},

	{"air/ground inverted", func(f *flight) { f.turn("air_ground", 1) }, "air_ground", "says air from 0 s while the speed is below 30 kt"},
	{"air/ground stuck on ground", func(f *flight) { f.scale("air_ground", 0) }, "air_ground", "says ground from"},
	{"a radio height that is stuck aloft", func(f *flight) {
		f.change("radio_height", func(int, float64) float64 { return 900 })
		f.change("pressure_altitude", func(int, float64) float64 { return 700 })
		f.change("air_ground", func(s int, v float64) float64 { return v * flag(s >= lift+8) })
	}, "", ""},
	{"a nose gear that flickers", func(f *flight) {
		f.change("air_ground", func(s int, v float64) float64 { return max(v, flag(s%9 < 3)) })
	}, "", ""},

	{"parking brake inverted", func(f *flight) { f.turn("parking_brake", 1) }, "parking_brake", "says set for 123 of 123 s of taxiing"},
	{"a rotation of equal steps", func(f *flight) {
		f.set("pitch", func(s int) float64 { return math.Min(14, 2.8*math.Max(0, float64(s-lift+2))) })
	}, "", ""},
	{"parking brake inverted, and little taxiing recorded", func(f *flight) {
		f.turn("parking_brake", 1)
		f.change("ground_speed", func(s int, v float64) float64 { return v * flag(s < gate+25 || s >= wait) })
	}, "parking_brake", "says set whenever the aircraft moves"},
	{"parking brake inverted, little taxiing recorded and little of the roll", func(f *flight) {
		f.turn("parking_brake", 1)
		f.change("parking_brake", func(s int, v float64) float64 {
			if s >= lift-10 {
				return math.NaN()
			}
			return v
		})
		f.change("ground_speed", func(s int, v float64) float64 { return v * flag(s < gate+25 || s >= wait) })
	}, "parking_brake", "says set whenever the aircraft moves"},
	{"parking brake left set for the roll after little taxiing", func(f *flight) {
		f.change("parking_brake", func(s int, v float64) float64 { return max(v, flag(s >= wait)) })
		f.change("ground_speed", func(s int, v float64) float64 { return v * flag(s < gate+25 || s >= wait) })
	}, "", ""},
	{"parking brake left set for the roll", func(f *flight) {
		f.change("parking_brake", func(s int, v float64) float64 { return max(v, flag(s >= wait)) })
	}, "", ""},
	{"parking brake never set", func(f *flight) { f.scale("parking_brake", 0) }, "", ""},

	{"reverser inverted", func(f *flight) { f.turn("thrust_reverser.1", 2) }, "thrust_reverser.1", "says deployed for 351 of 351 s"},
	{"speedbrake measured from the other end", func(f *flight) { f.turn("speedbrake_lever", 100) }, "speedbrake_lever", "may be inverted"},
	{"speedbrake forgotten before the takeoff", func(f *flight) {
		f.change("speedbrake_lever", func(s int, v float64) float64 { return max(v, 100*flag(s >= wait)) })
	}, "", ""},

	{"weight in pounds", func(f *flight) { f.scale("gross_weight", 2.2046) }, "gross_weight", "inside after an exchange of kg and lb"},
	{"a light ferry flight", func(f *flight) { f.scale("gross_weight", 0.65) }, "", ""},
	{"weight that the plan confirms", func(f *flight) {
		f.scale("gross_weight", 2.2046)
		f.plan(135000)
	}, "", ""},
	{"a planned weight in other units than a recorded one that fits", func(f *flight) { f.plan(28000) }, "", "the planned weight is not used: 62000 kg recorded and 28000 kg planned are 2.2 times apart"},
	{"a recorded weight in other units than a planned one that fits", func(f *flight) {
		f.scale("gross_weight", 2.2046)
		f.plan(62000)
	}, "gross_weight", "the planned one fits the tables"},
	{"two weights that no table tells apart", func(f *flight) {
		f.prof.Checks = nil
		f.plan(28000)
	}, "gross_weight", "nothing tells which is wrong"},
	{"a planned weight alone, in pounds", func(f *flight) {
		delete(f.rec.Series, "gross_weight")
		f.plan(137000)
	}, "", "137000 kg lies far outside the tables of the profile"},
	{"a planned weight of another flight", func(f *flight) { f.plan(51000) }, "", ""},

	{"speedbrake lever in radians", func(f *flight) {
		f.change("speedbrake_lever", func(s int, _ float64) float64 { return 50 * flag(s >= 20 && s < 50) })
		f.degrees("speedbrake_lever", math.Pi/180)
	}, "speedbrake_lever", "rests at both ends, which looks like radians"},
	{"speedbrake lever that stays in, with noise", func(f *flight) {
		f.change("speedbrake_lever", func(s int, _ float64) float64 { return 0.05 * float64(s*7%5) })
		f.degrees("speedbrake_lever", 1)
	}, "", ""},
	{"speedbrake lever in degrees read as radians", func(f *flight) {
		f.change("speedbrake_lever", func(s int, _ float64) float64 { return 0.05 * float64(s*7%5) })
		f.degrees("speedbrake_lever", 180/math.Pi)
		f.prof.Find("speedbrake_lever").Unit = unit.Must("rad")
	}, "speedbrake_lever", "degrees read as radians"},
	{"thrust levers in radians", func(f *flight) { f.scale("thrust_lever.1", math.Pi/180); f.scale("thrust_lever.2", math.Pi/180) }, "thrust_lever.1 thrust_lever.2", "idle to takeoff thrust, which looks like radians"},
	{"a threshold below idle", func(f *flight) { f.prof.Thrust.Threshold = 7 }, "n1.1 n1.2", "above the arming threshold of 7 for 100 % of the time taxiing"},
	{"a threshold just above idle", func(f *flight) { f.prof.Thrust.Threshold = 25 }, "", ""},
	{"centre of gravity as a fraction", func(f *flight) { f.scale("center_of_gravity", 0.01) }, "center_of_gravity", "fraction read as percent"},
	{"N1 as a fraction", func(f *flight) { f.scale("n1.1", 0.01); f.scale("n1.2", 0.01) }, "n1.1 n1.2", ""},
	{"pitch in radians", func(f *flight) { f.scale("pitch", math.Pi/180) }, "pitch", "radians"},

	{"engines exchanged", func(f *flight) {
		// Lever 1 leads by 20 s, and engine 2 comes up first.
		f.change("thrust_lever.2", func(s int, v float64) float64 { return v * flag(s >= roll+20) })
		f.change("n1.1", func(s int, v float64) float64 { return 22 + (v-22)*flag(s >= roll+20) })
	}, "thrust_lever.1 thrust_lever.2", "engines 1 and 2 are exchanged"},
	{"an engine that fails", func(f *flight) {
		f.change("n1.2", func(s int, v float64) float64 { return v - 60*flag(s > roll+10) })
	}, "", ""},
	{"one engine read twice", func(f *flight) { f.rec.Series["n1.2"].Values = slices.Clone(f.rec.Series["n1.1"].Values) }, "n1.2", "the same as n1.1 to the last bit"},
}

// TestCheck: what is not believed after each change, and what the note says.
func TestCheck(t *testing.T) {
	for _, c := range checkCases {
		t.Run(c.name, func(t *testing.T) {
			f := newFlight(t)
			c.do(f)
			notes := sanity.Check(f.rec, f.prof)
			var names []string
			for _, p := range slices.Sorted(maps.Keys(f.rec.Doubted)) {
				names = append(names, string(p))
			}
			if got := strings.Join(names, " "); got != c.doubt {
				t.Fatalf("doubted %q, want %q; %v", got, c.doubt, notes)
			}
			if c.remark != "" && !strings.Contains(fmt.Sprint(notes), c.remark) {
				t.Errorf("notes %v, want one with %q", notes, c.remark)
			}
			if (len(notes) > 0) != (c.doubt != "" || c.remark != "") {
				t.Errorf("%d notes", len(notes))
			}
			for p := range f.rec.Doubted {
				if n := f.rec.Series[p].MaskCounts(); n[flightdata.Doubted] == 0 || n[flightdata.Good] != 0 {
					t.Errorf("%s is doubted and its masks are %v", p, n)
				}
			}
		})
	}
}

// TestClock: milliseconds and seconds exchanged, by the expected rates and,
// when the profile states none, by how long a roll takes.
func TestClock(t *testing.T) {
	for _, rates := range []bool{true, false} {
		for _, factor := range []float64{1, 1000, 0.001} {
			f := newFlight(t)
			for i := range f.prof.Parameters {
				if !rates {
					f.prof.Parameters[i].Rate = 0
				}
			}
			f.rec.Span.To = span.Instant(float64(f.rec.Span.To) * factor)
			for _, s := range f.rec.Series {
				s.Period = time.Duration(float64(s.Period) * factor)
				for i, at := range s.Times {
					s.Times[i] = span.Instant(float64(at) * factor)
				}
			}
			sanity.Check(f.rec, f.prof)
			want := 0
			if factor != 1 {
				want = len(f.rec.Series)
			}
			if len(f.rec.Doubted) != want {
				t.Errorf("factor %g, rates %v: %d parameters doubted, want %d", factor, rates, len(f.rec.Doubted), want)
			}
		}
	}
}

// TestNothingToCheck: no samples, no series, one sample.
func TestNothingToCheck(t *testing.T) {
	f := newFlight(t)
	for _, s := range f.rec.Series {
		s.Times, s.Values = nil, nil
	}
	if notes := sanity.Check(f.rec, f.prof); len(notes) != 0 {
		t.Errorf("empty series: %v", notes)
	}
	f = newFlight(t)
	for p := range f.rec.Series {
		f.rec.Series[p].Times, f.rec.Series[p].Values = f.rec.Series[p].Times[:1], f.rec.Series[p].Values[:1]
	}
	f.rec.Span.To = 0
	if notes := sanity.Check(f.rec, f.prof); len(notes) != 0 {
		t.Errorf("one sample: %v", notes)
	}
	f.rec.Series = nil
	if notes := sanity.Check(f.rec, f.prof); len(notes) != 0 {
		t.Errorf("no series: %v", notes)
	}
}
