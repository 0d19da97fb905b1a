package quality_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	. "rollonset/ingest/quality"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// series samples values at a steady rate in the canonical unit of the
// parameter.
func series(p flightdata.Parameter, perSecond float64, values ...float64) *flightdata.Series {
	def, _ := flightdata.Define(p)
	s := &flightdata.Series{
		Parameter: p, Kind: def.Kind, States: def.States, Circular: def.Circular,
		Period: time.Duration(1e9 / perSecond), Values: values,
	}
	if len(def.Dims) > 0 {
		s.Unit = unit.Canonical(def.Dims[0])
	}
	for i := range values {
		s.Times = append(s.Times, span.Sec(float64(i)/perSecond))
	}
	return s
}

// letters shows the masks, one letter a sample in the order of the masks: good,
// not a number, out of range, too fast (its rate), spike, stuck, below floor, doubted.
func letters(s *flightdata.Series) string {
	var b strings.Builder
	for i := range s.Times {
		m := flightdata.Good
		if s.Masks != nil {
			m = s.Masks[i]
		}
		b.WriteByte(".norSxbd"[m])
	}
	return b.String()
}

// rule is a profile's rule without bounds of its own.
func rule() *profile.ParameterRule {
	return &profile.ParameterRule{Lo: math.NaN(), Hi: math.NaN(), Floor: math.NaN()}
}

func TestMask(t *testing.T) {
	bounded, floored := rule(), rule()
	bounded.Lo, bounded.Hi = 2, 9
	floored.Floor = 30
	for _, c := range []struct {
		name string
		s    *flightdata.Series
		rule *profile.ParameterRule
		want string
	}{
		// Range.
		{"above what is possible", series(flightdata.Pitch, 4, 1, 1, 76, 1, 1), nil, "..o.."},
		{"below what is possible", series(flightdata.GroundSpeed, 1, 3, -1.5, -1, 3), nil, ".o.."},
		{"on the bounds", series(flightdata.Heading, 1, -360, 0, 360), nil, "..."},
		{"on the profile's bounds", series(flightdata.StabilizerTrim, 0.25, 2, 9, 5), bounded, "..."},
		{"beyond the profile's bounds", series(flightdata.StabilizerTrim, 0.25, 5, 9.1, 5, 1.9), bounded, ".o.o"},
		{"infinite", series(flightdata.GrossWeight, 1, 2e5, math.Inf(1), math.Inf(-1), 2e5), nil, ".oo."},
		{"no number", series(flightdata.GrossWeight, 1, 2e5, math.NaN(), 2e5), nil, ".o."},
		{"a parameter of the profile's own has no bounds", series("tail_skid_load", 1, 0, 1e9, -1e9), nil, "..."},
		{"its bounds in the profile count", series("tail_skid_load", 1, 3, 1e9, 3), bounded, ".o."},
		{
			"a lever in percent has no bounds in degrees",
			func() *flightdata.Series {
				s := series(flightdata.FlapLever, 1, 0, 100, 100)
				s.Unit = unit.Must("%")
				return s
			}(), nil, "...",
		},

		// Floor of the air-data computer.
		{"at and below the floor", series(flightdata.Airspeed, 1, 30, 0, 30, 30.5, 45, 60), floored, "bbb..."},
		{"no floor in the profile", series(flightdata.Airspeed, 1, 0, 0, 12, 30), rule(), "...."},

		// Rate.
		{"one sample too fast", series(flightdata.GroundSpeed, 1, 50, 52, 90, 56, 58), nil, "..r.."},
		{"two samples too fast", series(flightdata.GroundSpeed, 1, 50, 52, 130, 132, 58, 60), nil, "..rr.."},
		{"a step that persists is believed from its third sample", series(flightdata.GroundSpeed, 1, 50, 50, 120, 120, 120, 120), nil, "..rr.."},
		{"a wrong start is left behind", series(flightdata.GroundSpeed, 1, 300, 0, 0, 0, 0), nil, ".rr.."},
		{"a hard stop, 0.6 g", series(flightdata.GroundSpeed, 1, 140, 128.6, 117.2, 105.8, 94.4, 83, 71.6, 60.2), nil, "........"},
		{"a takeoff at half a g", series(flightdata.GroundSpeed, 1, 0, 9.5, 19, 28.5, 38, 47.5, 57), nil, "......."},
		{"thrust cut from takeoff to idle", series(flightdata.N1.Engine(1), 1, 96, 95.8, 60, 35, 24, 22, 22), nil, "......."},
		{"a gap leaves time to change", func() *flightdata.Series {
			s := series(flightdata.GroundSpeed, 1, 10, 10, 130, 130)
			s.Times[2] += span.Sec(30)
			s.Times[3] += span.Sec(30)
			return s
		}(), nil, "...."},
		{"flaps at their own speed", series(flightdata.FlapPosition.Left(), 0.5, 0, 4, 8, 10, 10), nil, "....."},

		// Spikes, of parameters without a rate too.
		{"a lone spike of the lever", series(flightdata.FlapLever, 1, 10, 10, 10, 35, 10, 10, 10), nil, "...S..."},
		{"a lone dip of the weight", series(flightdata.GrossWeight, 0.25, 3e5, 3e5, 3e5, 1e5, 3e5, 3e5, 3e5), nil, "...S..."},
		{"flap lever moved", series(flightdata.FlapLever, 1, 0, 0, 0, 10, 10, 10, 20, 20, 20), nil, "........."},
		{"flap lever moved over a detent", series(flightdata.FlapLever, 1, 0, 0, 5, 10, 10), nil, "....."},
		{"corner of a ramp", series(flightdata.GroundSpeed, 1, 0, 0, 0, 0, 9, 18, 27, 36), nil, "........"},
		{"top of a roof", series(flightdata.GroundSpeed, 1, 70, 80, 90, 100, 90, 80, 70), nil, "......."},
		{"noise of one quantum", series(flightdata.FlapPosition.Left(), 1, 10, 10.1, 10, 9.9, 10.1, 10, 9.9), nil, "......."},
		{"first and last sample have one neighbour", series(flightdata.FlapLever, 1, 40, 10, 10, 10, 40), nil, "....."},
		{"two samples are no lone spike", series(flightdata.FlapLever, 1, 10, 10, 10, 35, 35, 10, 10, 10), nil, "........"},
		{"a lone airspeed among those below the floor", series(flightdata.Airspeed, 1, 0, 0, 0, 135, 0, 0, 0), floored, "bbbSbbb"},
		{"the first airspeed above the floor is a spike", series(flightdata.Airspeed, 1, 30, 30, 30, 30, 138, 45, 46, 44, 40, 30), floored, "bbbbS....b"},
		{"airspeed leaves the floor and falls to it", series(flightdata.Airspeed, 1, 0, 0, 0, 42, 49, 42, 0, 0), floored, "bbb...bb"},
		{"brakes released for a moment", series(flightdata.BrakePressure.Left(), 1, 2000, 2000, 0, 2000, 2000), nil, "....."},
		{"a bump of the longitudinal acceleration", series(flightdata.LongAcceleration, 4, 0.2, 0.2, 0.9, 0.2, 0.2), nil, "....."},
		{"a burst of thrust in taxi", series(flightdata.Torque.Engine(1), 1, 4, 4, 4, 25.6, 64, 49.6, 12.6, 5.6), nil, "........"},
		{"a burst of one sample", series(flightdata.EPR.Engine(3), 1, 1.02, 1.02, 1.06, 1.11, 1.06, 1.02), nil, "......"},
		{"heading over north", series(flightdata.Heading, 1, 359, 0.5, 359.5, 1, 359), nil, "....."},

		// A discrete is judged by persistence, never masked.
		{"a discrete flickers", series(flightdata.AirGround, 1, 0, 0, 1, 0, 0), bounded, "....."},
		{"a warning sounds once", series(flightdata.TakeoffWarning, 1, 0, 0, 1, 0), nil, "...."},

		{"no sample", series(flightdata.GroundSpeed, 1), nil, ""},
		{"one sample", series(flightdata.GroundSpeed, 1, 5), nil, "."},
	} {
		t.Run(c.name, func(t *testing.T) {
			values := fmt.Sprint(c.s.Values)
			Mask(c.s, c.rule)
			if got := letters(c.s); got != c.want {
				t.Errorf("%s masked as %q, want %q", values, got, c.want)
			}
			if got := fmt.Sprint(c.s.Values); got != values {
				t.Errorf("values were repaired: %s became %s", values, got)
			}
			if counts := c.s.MaskCounts(); counts[flightdata.Good] != strings.Count(c.want, ".") ||
				counts[flightdata.OutOfRange] != strings.Count(c.want, "o") || counts[flightdata.TooFast] != strings.Count(c.want, "r") ||
				counts[flightdata.Spike] != strings.Count(c.want, "S") || counts[flightdata.BelowFloor] != strings.Count(c.want, "b") {
				t.Errorf("%v do not add up to %q", counts, c.want)
			}
		})
	}
}

// TestBadCellsDoNotHideAStep: a level that was reached for good must be
// believed although every second cell of it holds no number.
func TestBadCellsDoNotHideAStep(t *testing.T) {
	s := series(flightdata.GroundSpeed, 1, 50, 50, 400, 0, 400, 0, 400, 0, 400, 400)
	s.Masks = make([]flightdata.Mask, s.Len())
	for _, i := range []int{3, 5, 7} {
		s.Masks[i] = flightdata.NotANumber
	}
	Mask(s, nil)
	if got, want := letters(s), "..rnrn.n.."; got != want {
		t.Errorf("masked as %q, want %q", got, want)
	}
}

// TestSpikeBesideABadCell: what a masked neighbour holds is no evidence.
func TestSpikeBesideABadCell(t *testing.T) {
	s := series(flightdata.FlapLever, 1, 10, 10, 500, 35, 10, 10, 10, 10)
	Mask(s, nil)
	if got, want := letters(s), "..oS...."; got != want {
		t.Errorf("masked as %q, want %q", got, want)
	}
}

// line gives n samples from a by step.
func line(n int, a, step float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = a + step*float64(i)
	}
	return out
}

func TestStuck(t *testing.T) {
	const n = 40
	thrust := func(name flightdata.Parameter) flightdata.Parameter { return name.Engine(1) }
	for _, c := range []struct {
		name    string
		of      *flightdata.Series
		proof   *flightdata.Series
		masked  bool
		measure flightdata.Parameter
	}{
		{"ground speed stands while airspeed rises", series(flightdata.GroundSpeed, 1, line(n, 80, 0)...), series(flightdata.Airspeed, 1, line(n, 60, 2)...), true, flightdata.N1},
		{"airspeed stands while ground speed rises", series(flightdata.Airspeed, 1, line(n, 80, 0)...), series(flightdata.GroundSpeed, 1, line(n, 60, 2)...), true, flightdata.N1},
		{"both stand", series(flightdata.GroundSpeed, 1, line(n, 0, 0)...), series(flightdata.Airspeed, 1, line(n, 30, 0)...), false, flightdata.N1},
		{"the proof moves by a gust only", series(flightdata.GroundSpeed, 1, line(n, 0, 0)...), series(flightdata.Airspeed, 1, line(n, 30, 0.5)...), false, flightdata.N1},
		{"for less than 8 s", series(flightdata.GroundSpeed, 1, 0, 0, 0, 0, 0, 0, 0, 0), series(flightdata.Airspeed, 1, line(8, 30, 10)...), false, flightdata.N1},
		{"for 8 s", series(flightdata.GroundSpeed, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0), series(flightdata.Airspeed, 1, line(9, 30, 10)...), true, flightdata.N1},
		{"one quantum of noise is life", series(flightdata.GroundSpeed, 1, append(line(n/2, 80, 0), line(n/2, 80, 0.5)...)...), series(flightdata.Airspeed, 1, line(n, 60, 1)...), false, flightdata.N1},
		{"radio height stands in a climb", series(flightdata.RadioHeight, 1, line(n, 700, 0)...), series(flightdata.PressureAltitude, 1, line(n, 1000, 30)...), true, flightdata.N1},
		{"radio height at the top of its scale", series(flightdata.RadioHeight, 1, line(n, 2500, 0)...), series(flightdata.PressureAltitude, 1, line(n, 3000, 30)...), false, flightdata.N1},
		{"N1 stands while its lever moves", series(thrust(flightdata.N1), 1, line(n, 22, 0)...), series(thrust(flightdata.ThrustLever), 1, line(n, 0, 1)...), true, flightdata.N1},
		{"N1 stands at a steady lever", series(thrust(flightdata.N1), 1, line(n, 22, 0)...), series(thrust(flightdata.ThrustLever), 1, line(n, 30, 0)...), false, flightdata.N1},
		{"another engine's lever proves nothing", series(flightdata.N1.Engine(2), 1, line(n, 22, 0)...), series(thrust(flightdata.ThrustLever), 1, line(n, 0, 1)...), false, flightdata.N1},
		// That a surface does not follow its lever is what a check must find.
		{"flap surface does not follow its lever", series(flightdata.FlapPosition.Left(), 0.5, line(n, 0, 0)...), series(flightdata.FlapLever, 1, line(n, 0, 0.5)...), false, flightdata.N1},
		{"trim stands while the speed rises", series(flightdata.StabilizerTrim, 1, line(n, 4.5, 0)...), series(flightdata.GroundSpeed, 1, line(n, 0, 4)...), false, flightdata.N1},
		{"the lever itself is the measure", series(thrust(flightdata.ThrustLever), 1, line(n, 20, 0)...), series(flightdata.GroundSpeed, 1, line(n, 0, 4)...), false, flightdata.ThrustLever},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := &flightdata.Recording{Series: map[flightdata.Parameter]*flightdata.Series{c.of.Parameter: c.of, c.proof.Parameter: c.proof}}
			notes := Stuck(r, 2, c.measure)
			want := 0
			if c.masked {
				want = c.of.Len()
			}
			if got := c.of.MaskCounts()[flightdata.Stuck]; got != want {
				t.Errorf("%d of %d samples masked, want %d", got, c.of.Len(), want)
			}
			if got := c.proof.MaskCounts(); got[flightdata.Good] != c.proof.Len() {
				t.Errorf("the proof itself is masked: %v", got)
			}
			if (len(notes) == 1) != c.masked || len(notes) > 1 {
				t.Errorf("notes %v", notes)
			}
		})
	}
}

func TestStuckNote(t *testing.T) {
	gs := series(flightdata.GroundSpeed, 1, append(line(10, 0, 3), line(20, 27, 0)...)...)
	r := &flightdata.Recording{Series: map[flightdata.Parameter]*flightdata.Series{
		flightdata.GroundSpeed: gs, flightdata.Airspeed: series(flightdata.Airspeed, 1, line(30, 0, 4)...),
	}}
	want := []flightdata.Note{{Text: "ground_speed stood at 27 for 20 s from 9.0 s while airspeed moved: masked as stuck"}}
	if diff := cmp.Diff(want, Stuck(r, 2, flightdata.N1)); diff != "" {
		t.Error(diff)
	}
	if got, want := letters(gs), strings.Repeat(".", 9)+strings.Repeat("x", 21); got != want {
		t.Errorf("masked as %q, want %q", got, want)
	}
}

// TestGapIsNotStuck: two equal samples on either side of a gap say nothing of
// the time between.
func TestGapIsNotStuck(t *testing.T) {
	gs := series(flightdata.GroundSpeed, 1, 20, 20, 20, 20)
	gs.Times[2] += span.Sec(60)
	gs.Times[3] += span.Sec(60)
	r := &flightdata.Recording{Series: map[flightdata.Parameter]*flightdata.Series{
		flightdata.GroundSpeed: gs, flightdata.Airspeed: series(flightdata.Airspeed, 1, line(70, 20, 2)...),
	}}
	if notes := Stuck(r, 2, flightdata.N1); len(notes) != 0 || letters(gs) != "...." {
		t.Errorf("masked as %q with %v", letters(gs), notes)
	}
}
