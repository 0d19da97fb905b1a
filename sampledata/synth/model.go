package synth

import (
	"fmt"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// model is one invented aircraft: what the simulator must know of it beyond
// its profile. Masses scale with the weights of the profile's trim band, so
// that model and profile cannot drift apart.
type model struct {
	name        string
	jet         bool
	wingLoading float64 // kg/m² at the largest weight
	thrustRatio float64 // static thrust of all engines over the largest weight
	lapse       float64 // loss of thrust per m/s, as a share
	clMax       float64 // flaps up
	clFlap      float64 // added per degree of flap
	clGround    float64
	cdGround    float64
	clPerDegree float64 // lift per degree of pitch
	idle        float64 // share of thrust at idle
	spoolUp     float64 // growth of the share per second, from idle
	spoolMore   float64 // further growth per second and share
	spoolDown   float64
	rotateTo    float64 // deg
	detents     []detent
	flapRate    float64 // deg/s
	landingFlap float64 // detent
	heavy       float64 // kg, when the profile has no weight band
}

// detent is one position of the flap lever with what the surfaces do there.
type detent struct{ lever, flap, slat float64 }

// models lists the invented aircraft by profile name. Thrust over weight and
// friction give mean takeoff accelerations of 0.2 to 0.3 g, the range that
// published examples support; the rest is invented.
var models = []model{
	{
		name: "QX40", jet: true, wingLoading: 690, thrustRatio: 0.29, lapse: 0.0022,
		clMax: 1.35, clFlap: 0.03, clGround: 0.30, cdGround: 0.055, clPerDegree: 0.095,
		idle: 0.035, spoolUp: 0.07, spoolMore: 0.45, spoolDown: 0.45, rotateTo: 13,
		detents:  []detent{{0, 0, 0}, {1, 0, 12}, {5, 5, 12}, {10, 10, 20}, {20, 20, 20}, {25, 25, 24}, {30, 30, 24}},
		flapRate: 1, landingFlap: 30, heavy: 380000,
	},
	{
		name: "TJ22", jet: true, wingLoading: 610, thrustRatio: 0.31, lapse: 0.0022,
		clMax: 1.4, clFlap: 0.045, clGround: 0.30, cdGround: 0.06, clPerDegree: 0.1,
		idle: 0.03, spoolUp: 0.09, spoolMore: 0.6, spoolDown: 0.5, rotateTo: 14,
		detents:  []detent{{0, 0, 0}, {1, 0, 17}, {5, 5, 17}, {10, 10, 17}, {15, 15, 23}, {25, 25, 24}, {35, 35, 24}},
		flapRate: 0.38, landingFlap: 35, heavy: 68000,
	},
	{
		name: "TP08", wingLoading: 370, thrustRatio: 0.33, lapse: 0.005,
		clMax: 1.6, clFlap: 0.04, clGround: 0.35, cdGround: 0.05, clPerDegree: 0.11,
		idle: 0.04, spoolUp: 0.35, spoolMore: 0.4, spoolDown: 0.6, rotateTo: 10,
		detents:  []detent{{0, 0, 0}, {5, 5, 0}, {15, 15, 0}, {25, 25, 0}, {35, 35, 0}},
		flapRate: 1.2, landingFlap: 35, heavy: 23000,
	},
}

// modelOf is the model that flies a profile.
func modelOf(p *profile.Profile) (*model, error) {
	for i := range models {
		if models[i].name == p.Name {
			return &models[i], nil
		}
	}
	return nil, fmt.Errorf("no aircraft model for profile %s; the simulator has QX40, TJ22 and TP08", p.Name)
}

// indication is what the engine instruments show at a share of thrust.
func (m *model) indication(measure flightdata.Parameter, share float64) float64 {
	switch measure {
	case flightdata.N1:
		if share < m.idle {
			return 8 + float64(14*share/m.idle) // windmilling
		}
		return 22 + float64(76*squareRoot((float64(share)-m.idle)/(1-m.idle)))
	case flightdata.EPR:
		return 1 + float64(0.5*share)
	case flightdata.Torque:
		return 100 * share
	}
	return 0
}

// shareFor is the share of thrust at which the measure shows a value, by
// halving: the indications rise with the share.
func (m *model) shareFor(measure flightdata.Parameter, value, full float64) float64 {
	low, high := 0.0, 1.2
	for range 60 {
		mid := (low + high) / 2
		shown := mid * full
		if measure != flightdata.ThrustLever {
			shown = m.indication(measure, mid)
		}
		if shown < value {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// leverFull is the reading of a thrust lever at full thrust in its unit.
func leverFull(p *profile.Profile) float64 {
	if r := p.Find(flightdata.ThrustLever.Engine(1)); r != nil && r.Canonical.Dim() == unit.Angle {
		return 50
	}
	return 100
}

// takeoffSettings are the flap settings in which the profile allows a
// takeoff, by the first check that lists any for lever or surface.
func takeoffSettings(p *profile.Profile) []float64 {
	for _, base := range []flightdata.Parameter{flightdata.FlapLever, flightdata.FlapPosition} {
		for i := range p.Checks {
			o := p.Checks[i].OneOf
			if o != nil && o.Rule == profile.ListedSettings && o.Parameter.Base() == base {
				return o.Settings
			}
		}
	}
	return []float64{10}
}

// weightRange is the range of takeoff weights: inside the nodes of the trim
// band, so that no edge is clamped.
func (m *model) weightRange(p *profile.Profile) (low, high float64) {
	if n := nodes(p, flightdata.GrossWeight); n != nil {
		return n[0], n[len(n)-1]
	}
	return 0.6 * m.heavy, m.heavy
}

// cgRange is the range of centers of gravity, % MAC.
func cgRange(p *profile.Profile) (low, high float64) {
	if n := nodes(p, flightdata.CenterOfGravity); n != nil {
		return n[0], n[len(n)-1]
	}
	return 18, 30
}

// nodes are the nodes of the first trim band over a parameter.
func nodes(p *profile.Profile, over flightdata.Parameter) []float64 {
	for i := range p.Checks {
		b := p.Checks[i].Band
		if b == nil {
			continue
		}
		for axis, o := range b.Over {
			switch {
			case o == over && axis == 0:
				return b.Tables[0].X
			case o == over:
				return b.Tables[0].Y
			}
		}
	}
	return nil
}
