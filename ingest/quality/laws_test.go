package quality_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	. "rollonset/ingest/quality"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// drawAny gives a series of any parameter with values that no recorder would
// write, NaN and infinities among them.
func drawAny(t *rapid.T, p flightdata.Parameter) *flightdata.Series {
	def, _ := flightdata.Define(p)
	s := &flightdata.Series{Parameter: p, Kind: def.Kind, Circular: def.Circular, Unit: unit.Must(rapid.SampledFrom(unit.Symbols()).Draw(t, "unit"))}
	if rapid.Bool().Draw(t, "canonical") && len(def.Dims) > 0 {
		s.Unit = unit.Canonical(def.Dims[0])
	}
	value := rapid.OneOf(
		rapid.Float64(), rapid.Float64Range(-50, 500), rapid.SampledFrom([]float64{0, 10, 10, 10, math.NaN(), math.Inf(1), math.Inf(-1)}),
	)
	s.Values = rapid.SliceOfN(value, 0, 40).Draw(t, "values")
	at := span.Instant(0)
	for range s.Values {
		s.Times = append(s.Times, at)
		at += span.Instant(rapid.SampledFrom([]int64{1, 250e6, 1e9, 1e9, 1e9, 4e9, 90e9}).Draw(t, "step"))
	}
	s.Period = flightdata.NominalPeriod(s.Times)
	if rapid.Bool().Draw(t, "masked before") {
		s.Masks = rapid.SliceOfN(rapid.SampledFrom([]flightdata.Mask{flightdata.Good, flightdata.Good, flightdata.NotANumber}), len(s.Values), len(s.Values)).Draw(t, "masks")
	}
	return s
}

// names are the parameters that recordings hold, in every form.
func names() []flightdata.Parameter {
	out := []flightdata.Parameter{"of_the_profile_itself", "nonsense.7"}
	for _, d := range flightdata.Definitions() {
		switch {
		case d.PerEngine:
			out = append(out, d.Name.Engine(1), d.Name.Engine(2))
		case d.Sided:
			out = append(out, d.Name, d.Name.Left())
		default:
			out = append(out, d.Name)
		}
	}
	return out
}

func TestMaskLaws(t *testing.T) {
	all := names()
	rapid.Check(t, func(t *rapid.T) {
		s := drawAny(t, rapid.SampledFrom(all).Draw(t, "parameter"))
		var r *profile.ParameterRule
		if rapid.Bool().Draw(t, "ruled") {
			bound := rapid.OneOf(rapid.Just(math.NaN()), rapid.Float64Range(-100, 600))
			r = &profile.ParameterRule{Lo: bound.Draw(t, "lo"), Hi: bound.Draw(t, "hi"), Floor: bound.Draw(t, "floor")}
		}
		values, before := slices.Clone(s.Values), slices.Clone(s.Masks)
		Mask(s, r)

		for i, v := range values {
			if math.Float64bits(v) != math.Float64bits(s.Values[i]) {
				t.Fatalf("value %d was %g and is %g: nothing may be repaired", i, v, s.Values[i])
			}
			if before != nil && before[i] != flightdata.Good && s.Masks[i] != before[i] {
				t.Fatalf("mask %d was %s and is %s: the first reason stays", i, before[i], s.Masks[i])
			}
		}
		if s.Masks != nil && len(s.Masks) != len(values) {
			t.Fatalf("%d masks for %d samples", len(s.Masks), len(values))
		}
		if s.Kind == flightdata.Discrete && !slices.Equal(before, s.Masks) {
			t.Fatal("a discrete was masked")
		}
		// What is not a number is never good.
		for i, v := range s.Values {
			if s.Kind == flightdata.Continuous && v != v && s.Masks[i] == flightdata.Good {
				t.Fatalf("sample %d is NaN and good", i)
			}
		}
		again := *s
		again.Masks = slices.Clone(s.Masks)
		Mask(&again, r)
		for i := range s.Masks {
			if s.Masks[i] != flightdata.Good && again.Masks[i] != s.Masks[i] {
				t.Fatalf("masking twice changed the reason of sample %d", i)
			}
		}
	})
}

func TestStuckLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := &flightdata.Recording{Series: map[flightdata.Parameter]*flightdata.Series{}}
		for _, p := range []flightdata.Parameter{
			flightdata.GroundSpeed, flightdata.Airspeed, flightdata.RadioHeight, flightdata.PressureAltitude,
			flightdata.N1.Engine(1), flightdata.ThrustLever.Engine(1),
		} {
			if rapid.Bool().Draw(t, "has "+string(p)) {
				r.Series[p] = drawAny(t, p)
			}
		}
		masked := func() (n int) {
			for _, s := range r.Series {
				n += s.MaskCounts()[flightdata.Stuck]
			}
			return n
		}
		notes := Stuck(r, rapid.IntRange(0, 4).Draw(t, "engines"), flightdata.N1)
		if (len(notes) > 0) != (masked() > 0) {
			t.Fatalf("%d samples masked, notes %v", masked(), notes)
		}
		for p, s := range r.Series {
			for i, m := range s.Masks {
				if m == flightdata.Stuck && (i == 0 || s.Values[i-1] != s.Values[i]) && (i+1 == s.Len() || s.Values[i+1] != s.Values[i]) {
					t.Fatalf("%s: sample %d is masked as stuck and equals neither neighbour", p, i)
				}
			}
		}
	})
}

// TestPhysicsIsNotMasked draws ground speeds that obey the limits of the
// aeroplane, however wild, sampled and quantised as a recorder does.
func TestPhysicsIsNotMasked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const steps = 16 // of the motion in a second
		s := &flightdata.Series{Parameter: flightdata.GroundSpeed, Unit: unit.Must("kt"), Period: time.Second}
		v, quantum := rapid.Float64Range(0, 250).Draw(t, "speed"), rapid.SampledFrom([]float64{0.125, 0.5, 1}).Draw(t, "quantum")
		a := 0.0
		for i := range 60 * steps {
			if i%(2*steps) == 0 {
				a = rapid.Float64Range(-12, 7).Draw(t, "kt per second") // from 0.62 g of braking to 0.36 g of takeoff
			}
			v = min(max(v+a/steps, 0), 600)
			if i%steps == 0 {
				s.Times = append(s.Times, span.Sec(float64(i)/steps))
				s.Values = append(s.Values, math.Round(v/quantum)*quantum)
			}
		}
		Mask(s, nil)
		if n := s.MaskCounts(); n[flightdata.Good] != s.Len() {
			t.Fatalf("%v of a motion that can be were masked: %v", n, s.Values)
		}
	})
}
