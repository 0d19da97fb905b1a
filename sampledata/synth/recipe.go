package synth

import (
	"rollonset/ingest/flightdata"
)

// Difficulty says how near to the edges of a profile a flight may come.
type Difficulty int

// Plain flights keep clear of what a slow recorder cannot resolve: no state
// changes within 3 s of the onset, no value is nearer to a limit than three
// quanta. Hard flights may come as near as chance has it, drop out for short
// stretches and show flickers and spikes at the instants that matter. Nasty
// flights have two faults at once, at the decisive second, on a recorder as
// slow and coarse as the rules allow (nasty.go).
const (
	Plain Difficulty = iota
	Hard
	Nasty
)

// Difficulties lists them all, the easier first.
func Difficulties() []Difficulty { return []Difficulty{Plain, Hard, Nasty} }

// String is the word for it on a command line.
func (d Difficulty) String() string { return [...]string{"plain", "hard", "nasty"}[d] }

// start is how a takeoff roll begins.
type start int

const (
	standing start = iota
	rolling        // on from taxi speed, without a stop
	held           // brakes held until the thrust is set
)

// setting is how the thrust is advanced.
type setting int

const (
	full       setting = iota
	reduced            // less than full takeoff thrust
	split              // half of the engines lead by seconds: crosswind
	stabilised         // a pause on the way, then takeoff thrust
)

// ending is how a flight, or its first attempt, ends.
type ending int

const (
	flies         ending = iota
	engineLoss           // one engine fails above V1, continued
	rejectStill          // thrust cut before the aircraft moves
	rejectLow            // below the boundary of the profile
	rejectHigh           // above it, below V1
	rejectPastV1         // above V1, before the rotation
	rejectRotated        // nose wheel up, then down again
	dataEnds             // the recording ends in the roll
	noAttempt            // nothing but taxi and look-alikes
	lands                // arrival: approach, landing, taxi in
	touches              // arrival: touch-and-go
)

// manner is how a check is out of limits in time.
type manner int

const (
	throughout manner = iota
	corrected         // put right in the roll
	arises            // within limits at the onset, goes out in the roll
	inTransit         // the lever is right, the surfaces are on their way
	walking           // parking brake: set, released at walking speed
	dragged           // parking brake: set through the roll
)

// prelude is something before the attempt that looks like one.
type prelude int

const (
	burst          prelude = iota // taxi burst of thrust in a turn
	shortBurst                    // thrust advanced for less than the persistence
	runUp                         // standing, long
	oneEngine                     // single-engine taxi; never reaches the threshold
	antiIce                       // standing thrust below the threshold
	taxiTurnStrong                // breakaway thrust below the threshold
)

// faultKind is what a recorder or a sensor does wrong.
type faultKind int

const (
	missing  faultKind = iota // no such column in the file
	dead                      // the column is there and every cell is blank
	dropout                   // blank from before the onset to after the roll
	frozen                    // one value from before the onset to after the roll
	spikes                    // single samples far off
	flicker                   // a discrete inverted for single samples
	inverted                  // a discrete inverted throughout
	brief                     // blank for a few seconds; hard flights only
	drifting                  // the clock of the file runs fast

	// On nasty flights only.
	blind      // blank for seconds around the onset
	frozenLate // one value from the middle of the roll on
	unlocked   // the flag of a reverser says that it is out, always
)

// fault is one fault on one parameter.
type fault struct {
	kind  faultKind
	param flightdata.Parameter
}

// recipe says what is to happen in one flight. The zero value is a normal
// takeoff from standing with full thrust.
type recipe struct {
	name        string
	start       start
	setting     setting
	ending      ending
	brakesFirst bool   // in a reject, brakes come seconds before the thrust
	check       string // name of the check to be out of limits, "" for none
	manner      manner
	warning     warningMode
	before      []prelude
	faults      []fault
	retry       bool // after a reject a second attempt follows, put right
	bounce      bool // wheels touch again just after they left the ground
	noPlan      bool // the flight list knows neither weight nor CG
	short       bool // the recording ends in the middle of the reject
	atOnce      bool // what goes in or out of limits does so about the onset
}

// rejects says whether the first attempt is given up.
func (r *recipe) rejects() bool {
	switch r.ending {
	case rejectStill, rejectLow, rejectHigh, rejectPastV1, rejectRotated:
		return true
	}
	return false
}

// departs says whether the flight begins at the gate.
func (r *recipe) departs() bool { return r.ending != lands && r.ending != touches }
