package profile

import (
	"time"

	"rollonset/ingest/flightdata"
)

// The defaults of every entry that a profile may leave out. They are common
// practice of the trade without a published source.

// thrustDefault is the arming threshold and hysteresis of one measure, in its
// canonical unit. A zero threshold means that no number fits all types and
// the profile has to state one.
type thrustDefault struct {
	measure               flightdata.Parameter
	threshold, hysteresis float64
}

// thrustDefaults lists the arming measures in the order of preference.
var thrustDefaults = []thrustDefault{
	{flightdata.ThrustLever, 0, 3},
	{flightdata.EPR, 1.10, 0.03},
	{flightdata.N1, 70, 3},
	{flightdata.Torque, 0, 3},
}

const defaultThrustPersistence = 2 * time.Second

// defaultAttempt is the attempt rule of a profile that says nothing.
func defaultAttempt() AttemptRule {
	return AttemptRule{
		StartBelow:    60,
		OnsetAfter:    time.Second,
		AirborneFor:   2 * time.Second,
		NoAdvance:     5 * time.Second,
		SpeedFall:     10,
		RolledFrom:    5,
		TaxiBelow:     30,
		TaxiTurn:      20,
		RunUpFrom:     15 * time.Second,
		RetryWithin:   15 * time.Minute,
		AirborneSince: 60 * time.Second,
	}
}

const (
	defaultHighReject = 120.0 // kt
	defaultCueWithin  = 6 * time.Second
	defaultWarnWithin = 3 * time.Second
	defaultMediumFrom = 40.0 // kt
	defaultHighFrom   = 80.0 // kt
)
