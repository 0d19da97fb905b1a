package takeoff

import (
	"time"

	"rollonset/detect/motion"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// Before a roll start and after an end the fused motion takes this much in, so
// that a lag of the recorded speed has its samples.
const (
	motionBefore = 2 * time.Second
	motionAfter  = time.Second
)

// Motion is the speed over the ground of an attempt that rolled, on time. It
// is a function of the recording and of the attempt's RollStart and End alone.
func (a *Attempt) Motion(rec *flightdata.Recording) motion.Track {
	return motion.Of(rec, span.Span{From: a.RollStart.At.Add(-motionBefore), To: a.End.Add(motionAfter)})
}

// onTime reads the peak and the stop of a reject again from the fused motion,
// where there is one: the peak between two samples of the recorded speed, the
// stop without the lag with which it shows there.
func (f *finder) onTime(a *Attempt) {
	if a.Outcome != Rejected || !a.Rolled() || !a.PeakSpeed.OK {
		return
	}
	t := a.Motion(f.rec)
	if !t.Fused {
		return
	}
	if top, around, ok := t.Fastest(span.Span{From: a.ThrustAdvance.At, To: a.End + 1}); ok {
		a.Peak, a.PeakSpeed = around, top
	}
	if early := a.Stop.Later(-t.Lag); early.Known {
		// The late edge stays: the last knots before a stop creep.
		a.Stop = span.Within(early.At, early.Earliest, a.Stop.Latest)
	}
}
