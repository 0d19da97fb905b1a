package sanity

import (
	"fmt"

	"rollonset/ingest/flightdata"
)

// idleFor is how many seconds of taxi, or else at rest, tell what the engines
// show without being advanced, and mostlyArmed the share of them from which on
// a threshold is one that idle passes.
const (
	idleFor     = 30
	mostlyArmed = 0.8
)

// threshold doubts the arming measure when the engines are above the threshold
// for most of the taxi: idle passes it, and whatever moves would be an attempt.
// Without a taxi the time at rest tells, when there is enough that no run-up
// fills it.
func (s *scene) threshold() {
	rule := s.prof.Thrust
	var params []flightdata.Parameter
	var grids [][]float64
	for n := 1; n <= s.prof.Engines; n++ {
		if p := rule.Measure.Engine(n); s.usable(p) {
			params, grids = append(params, p), append(grids, s.hold(p))
		}
	}
	need := rule.Engines.Need(s.prof.Engines)
	if len(params) < need {
		return
	}
	armed := func(c int) bool {
		n := 0
		for _, g := range grids {
			if g[c] >= rule.Threshold {
				n++
			}
		}
		return n >= need
	}
	gs := s.hold(flightdata.GroundSpeed)
	where, slow := "taxiing", func(c int) bool { return gs[c] > rolling && gs[c] < walking }
	if s.count(slow) < idleFor {
		where, slow = "standing still", func(c int) bool { return gs[c] <= rolling }
		if s.count(slow) < 4*idleFor {
			return
		}
	}
	if share := s.share(armed, slow); share > mostlyArmed {
		s.doubt(fmt.Sprintf("the engines are above the arming threshold of %s for %.0f %% of the time %s, so that idle thrust would count as takeoff thrust", figure(rule.Threshold), 100*share, where),
			"raise thrust.threshold in the profile, or check the unit of the measure", params...)
	}
}
