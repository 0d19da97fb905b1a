package takeoff

import (
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// Outcome is how a takeoff attempt ended.
type Outcome string

// The outcomes of an attempt.
const (
	Airborne       Outcome = "airborne"
	Rejected       Outcome = "rejected"
	RejectedNoRoll Outcome = "rejected before the roll"
	TouchAndGo     Outcome = "touch-and-go"
	Undetermined   Outcome = "undetermined"
)

// Outcomes lists every outcome, in the order of pages and accounts.
func Outcomes() []Outcome {
	return []Outcome{Airborne, Rejected, RejectedNoRoll, TouchAndGo, Undetermined}
}

// Attempt is one takeoff attempt. Moments that did not happen are not Known.
type Attempt struct {
	Number  int // from 1, in time order within the recording
	Outcome Outcome
	// Why says what decided the outcome, one sentence.
	Why     string
	Rolling bool // the roll went on from taxi speed rather than from a stop

	ThrustAdvance span.Moment // thrust passes the arming threshold, and stays
	Onset         span.Moment // the configuration is first judged
	RollStart     span.Moment // takeoff acceleration starts
	Rotation      span.Moment // nose wheel up: pitch starts to rise for good
	LiftOff       span.Moment // first instant of the sustained airborne state
	ThrustCut     span.Moment // first instant of the final thrust reduction of a reject
	// PerhapsCut is where the thrust of an undetermined attempt began to fall
	// before the data was lost: perhaps a reject, so judging ends there.
	PerhapsCut span.Moment
	Peak       span.Moment // highest ground speed of a reject
	Stop       span.Moment // the aircraft stands, or turns off at walking speed
	// End is the end of what belongs to the attempt: lift-off, the stop as the
	// recorded speed shows it, the next attempt, or the end of the data.
	End span.Instant

	// GroundBy is what told ground from air: "air_ground", "radio_height and
	// speed" or "speed".
	GroundBy string
	// ThrustBy is the measure, and the engines it was read on.
	ThrustBy flightdata.Parameter
	Engines  []int
	// PeakSpeed is the ground speed at Peak, kt, of any attempt that rolled:
	// up to lift-off for one that flew.
	PeakSpeed flightdata.Reading
}

// Rolled says whether the aircraft moved under takeoff thrust.
func (a *Attempt) Rolled() bool { return a.RollStart.Known }

// Reject says whether the attempt was given up.
func (a *Attempt) Reject() bool { return a.Outcome == Rejected || a.Outcome == RejectedNoRoll }

// LookAlike is a stretch of advanced thrust on the ground that is not a
// takeoff attempt.
type LookAlike struct {
	Kind string // "run-up", "taxi burst", "landing roll", "too short"
	Span span.Span
	Why  string
}
