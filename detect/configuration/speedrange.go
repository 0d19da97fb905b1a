package configuration

import (
	"fmt"
	"math"

	"rollonset/detect/trigger"
	"rollonset/ingest/flightdata"
)

// narrow cuts the judged span to the first stretch of it in which the ground
// speed is in the range where the check matters. Outside of the range nothing
// is asked of the parameter, so it is neither out of limits nor untold there.
func (j *judge) narrow() {
	c := j.check
	if c.SpeedFrom <= 0 && math.IsInf(c.SpeedTo, 1) {
		return
	}
	gs := j.rec.Get(flightdata.GroundSpeed)
	first := gs.At(j.judged.From)
	if !first.OK {
		j.never = fmt.Sprintf("the check matters at some ground speeds only, and %s: %s at the onset", flightdata.GroundSpeed, first.Why)
		return
	}
	whole, prev := j.judged, flightdata.Point{At: j.judged.From, Value: first.Value}
	inside := prev.Value >= c.SpeedFrom && prev.Value < c.SpeedTo
	for p := range gs.Good(whole) {
		if p.At <= prev.At {
			continue
		}
		if !inside && prev.Value < c.SpeedFrom && p.Value >= c.SpeedFrom {
			j.judged.From, inside = trigger.Cross(prev, p, c.SpeedFrom), true
		}
		if inside && p.Value >= c.SpeedTo {
			j.judged.To, j.ended = trigger.Cross(prev, p, c.SpeedTo), BySpeed
			return
		}
		if inside && p.Value < c.SpeedFrom {
			j.judged.To, j.ended = trigger.Cross(prev, p, c.SpeedFrom), BySpeed
			return
		}
		prev = p
	}
	if !inside {
		j.never = fmt.Sprintf("the ground speed was never from %s kt up to %s kt, where the check matters", num(c.SpeedFrom), num(c.SpeedTo))
	}
}
