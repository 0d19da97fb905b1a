package reject

import (
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// Action is one thing that was done to stop.
type Action struct {
	What string // "thrust", "brakes", "speedbrake", "reverse"
	At   span.Moment
}

// Cue is something recorded shortly before the first action. It precedes the
// action; nothing here says that it caused it.
type Cue struct {
	What string // "takeoff warning", "thrust loss on engine 2", "master warning", "directional deviation", "airspeed disagreement"
	At   span.Moment
}

// Measures is the measurement of one reject. NaN stands for a figure that
// cannot be told.
type Measures struct {
	Class string // "before the roll", "low-speed" or "high-speed"
	// FirstAction is the earliest of the Actions (14 CFR 1.2 defines V1 by
	// it). Order is "" or says which actions' order is not resolvable.
	FirstAction Action
	Actions     []Action // in order of their moments
	Order       string
	// Speeds, kt.
	GroundAtAction, AirAtAction flightdata.Reading
	GroundAtCut, AirAtCut       flightdata.Reading
	PeakGround, PeakAir         flightdata.Reading
	// AgainstV1 is "before V1", "after V1", "not resolvable", or "" when V1
	// is not known; V1 in kt, NaN when not known, with where it came from.
	AgainstV1 string
	V1        float64
	V1From    string

	Cues []Cue

	MeanDeceleration, PeakDeceleration float64 // g, positive when slowing
	// Distances along the ground from roll start, m: integral of ground speed.
	ToCut, ToPeak, ToStop float64
	// The brackets of two of them, m: what the brackets of the instants and the
	// lag of the recorded speed leave open.
	ToCutLow, ToCutHigh, ToStopLow, ToStopHigh float64
	// CutToStop is the way, m, and CutToStopTime the time, s, from the thrust
	// cut to the stop or turn-off: the length of the reject itself.
	CutToStop, CutToStopTime float64
	// PositionToStop is the same from recorded positions, NaN without them.
	PositionToStop float64
	// Energy is the upper bound of the brake energy, MJ: the kinetic energy
	// lost from brake application to the end of braking; PerWheel shares it.
	Energy, EnergyPerWheel float64
	EnergyWhy              string // why there is none
	// HeadingDeviation is the largest departure from the heading at roll
	// start, deg; LateralDeviation the same across the runway, m.
	HeadingDeviation, LateralDeviation float64
	// RunwayLeft is m, when the flight list knows the length; RunwayLeftIf is
	// what has to be so for it to hold, "" when there is no figure.
	RunwayLeft   float64
	RunwayLeftIf string
	Severity     string
	Rule         string
}

// FromThreshold is what RunwayLeft rests on: no recording here says where on
// the runway an aircraft stood.
const FromThreshold = "if the roll began at the runway threshold"
