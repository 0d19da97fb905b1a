package sanity

import (
	"fmt"
	"math"

	"rollonset/ingest/flightdata"
)

// Radio height and pressure altitude are compared close to the ground, where
// terrain matters least. Hills may make a factor of 1.5; feet for metres make 3.3.
const (
	nearGround          = 1000 // ft, or what is taken for ft
	heightLow, heightUp = 0.5, 2.0
	climbFor            = 5   // s over which a change is taken
	tellingClimb        = 40  // ft in that time: slower is level flight
	tellingHeight       = 200 // ft of climb and descent in all
)

// heights doubts both heights when one rises and falls several times as much
// as the other. Which one is wrong cannot be told, and hardly matters.
func (s *scene) heights() {
	if !s.usable(flightdata.RadioHeight) || !s.usable(flightdata.PressureAltitude) {
		return
	}
	radio, pressure := s.raw(flightdata.RadioHeight), s.raw(flightdata.PressureAltitude)
	_, top := extent(radio)
	bound := min(nearGround, 0.8*top) // below the end of the scale, where it stands still
	var sumR, sumP float64
	for c := 0; c+climbFor < s.cells; c += climbFor {
		r, p := radio[c+climbFor]-radio[c], pressure[c+climbFor]-pressure[c]
		if !(r*p > 0) || !(max(radio[c], radio[c+climbFor]) < bound) || !(min(radio[c], radio[c+climbFor]) > 0.02*bound) {
			continue
		}
		if max(math.Abs(r), math.Abs(p)) >= tellingClimb {
			sumR += math.Abs(r)
			sumP += math.Abs(p)
		}
	}
	ratio := sumR / sumP
	if max(sumR, sumP) < tellingHeight || ratio > heightLow && ratio < heightUp {
		return
	}
	s.doubt(fmt.Sprintf("near the ground radio_height changes %s times as much as pressure_altitude, which looks like feet and metres exchanged", figure(ratio)),
		fmt.Sprintf("check the units of %s and %s", s.column(flightdata.RadioHeight), s.column(flightdata.PressureAltitude)),
		flightdata.RadioHeight, flightdata.PressureAltitude)
}
