package synth

import (
	"math"
	"testing"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// values makes a state out of what is known.
func values(known map[flightdata.Parameter]float64) *state {
	read := func(p flightdata.Parameter) (float64, bool) { v, ok := known[p]; return v, ok }
	return &state{read: read, onset: read, planned: math.NaN(), states: func(flightdata.Parameter, string) float64 { return 1 }}
}

// The trim band of the QX40, with weight 300 t and flap 10: at CG 22 % the
// edges are 4 and 6 units, printed in the profile.
func TestBandVerdicts(t *testing.T) {
	p := load(t, "qx40")
	var band *profile.Check
	for i := range p.Checks {
		if p.Checks[i].Band != nil {
			band = &p.Checks[i]
		}
	}
	const gw, cg, flap, trim = flightdata.GrossWeight, flightdata.CenterOfGravity, flightdata.FlapLever, flightdata.StabilizerTrim
	for _, c := range []struct {
		name        string
		known       map[flightdata.Parameter]float64
		out, untold bool
		margin      float64 // of one that cannot be told: to the nearest edge that would tell it
	}{
		{"inside", map[flightdata.Parameter]float64{gw: 300000, cg: 22, flap: 10, trim: 4.5}, false, false, 0.5},
		{"on the edge", map[flightdata.Parameter]float64{gw: 300000, cg: 22, flap: 10, trim: 6}, false, false, 0},
		{"outside", map[flightdata.Parameter]float64{gw: 300000, cg: 22, flap: 10, trim: 6.25}, true, false, -0.25},
		{"between nodes", map[flightdata.Parameter]float64{gw: 340000, cg: 18, flap: 10, trim: 5}, false, false, 0.2},
		{"clamped", map[flightdata.Parameter]float64{gw: 500000, cg: 22, flap: 10, trim: 4.5}, true, false, -0.1},
		{"CG unknown, between", map[flightdata.Parameter]float64{gw: 300000, flap: 10, trim: 4.5}, false, true, 0.5},
		{"CG unknown, inside all", map[flightdata.Parameter]float64{gw: 300000, flap: 10, trim: 5}, false, false, 0},
		{"CG unknown, outside all", map[flightdata.Parameter]float64{gw: 300000, flap: 10, trim: 7.5}, true, false, -0.5},
		{"flap selects no table", map[flightdata.Parameter]float64{gw: 300000, cg: 22, flap: 5, trim: 5.8}, false, true, 0.2},
		{"trim unknown", map[flightdata.Parameter]float64{gw: 300000, cg: 22, flap: 10}, false, true, math.NaN()},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := judge(band, values(c.known))
			if v.out != c.out || v.untold != c.untold {
				t.Fatalf("out %v untold %v, want %v %v", v.out, v.untold, c.out, c.untold)
			}
			if math.IsNaN(c.margin) != math.IsNaN(v.margin) || math.Abs(v.margin-c.margin) > 1e-9 {
				t.Errorf("margin %v, want %v", v.margin, c.margin)
			}
		})
	}
}

func TestPlainVerdicts(t *testing.T) {
	listed := profile.Check{OneOf: &profile.OneOf{Parameter: "x", Settings: []float64{10, 20}, Tolerance: 0.5}}
	asOnset := profile.Check{OneOf: &profile.OneOf{Parameter: "x", Rule: profile.AsAtOnset, Tolerance: 2}}
	planned := profile.Check{OneOf: &profile.OneOf{Parameter: "x", Rule: profile.PlannedSetting, Tolerance: 0.5}}
	apart := profile.Check{Range: &profile.Range{Parameter: "x", Minus: "y", Min: -2, Max: 2}}
	state := profile.Check{State: &profile.State{Parameter: "x", Is: "there"}}
	for _, c := range []struct {
		name        string
		check       *profile.Check
		x, y        float64
		out, untold bool
	}{
		{"one of, in", &listed, 20.5, 0, false, false},
		{"one of, out", &listed, 20.6, 0, true, false},
		{"one of, unknown", &listed, math.NaN(), 0, false, true},
		{"as at onset", &asOnset, 13, 0, true, false},
		{"plan not known", &planned, 10, 0, false, true},
		{"apart", &apart, 10, 12.5, true, false},
		{"together", &apart, 10, 12, false, false},
		{"other side unknown", &apart, 10, math.NaN(), false, true},
		{"state", &state, 1, 0, false, false},
		{"other state", &state, 0, 0, true, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			st := values(nil)
			st.read = func(p flightdata.Parameter) (float64, bool) {
				v := map[flightdata.Parameter]float64{"x": c.x, "y": c.y}[p]
				return v, !math.IsNaN(v)
			}
			st.onset = func(flightdata.Parameter) (float64, bool) { return 10, true }
			if v := judge(c.check, st); v.out != c.out || v.untold != c.untold {
				t.Errorf("out %v untold %v, want %v %v", v.out, v.untold, c.out, c.untold)
			}
		})
	}
}
