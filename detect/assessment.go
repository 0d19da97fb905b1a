package detect

import (
	"time"

	"rollonset/detect/configuration"
	"rollonset/detect/reject"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Version is the version of the detection logic. It is part of the identity
// of every result: the same recording, profile and Version give the same
// bytes. Raise it with every change that can alter a finding.
const Version = "1"

// Assessment is everything that is told about one recording.
type Assessment struct {
	Recording  *flightdata.Recording
	Profile    *profile.Profile
	Attempts   []Attempt
	LookAlikes []takeoff.LookAlike
	Coverage   []Coverage
	Notes      []flightdata.Note
	// Windows are the stretches that a clip must hold so that the same
	// findings can be derived from it again.
	Windows span.Set
}

// Attempt is one takeoff attempt with all that was found on it.
type Attempt struct {
	takeoff.Attempt
	Findings []configuration.Finding // in the order of the profile's checks; none for a touch-and-go
	Warning  configuration.Warning
	Reject   *reject.Measures // nil unless the attempt was given up
	Events   []Event          // worst first
	// Next is the time to the thrust advance of the next attempt, nil when
	// the recording holds none.
	Next *time.Duration
}

// EventKind is what kind of event a person must see.
type EventKind string

// The kinds of event.
const (
	ConfigurationEvent EventKind = "configuration"
	WarningEvent       EventKind = "warning"
	RejectEvent        EventKind = "reject"
)

// Event is a finding, a warning verdict or a reject that a person must see.
type Event struct {
	Kind     EventKind
	Check    string // of a configuration event; the verdict or class otherwise
	Severity string // "low", "medium" or "high"
	Rule     string // which rule set the severity
}

// Coverage counts, for one check, on how many attempts it could be told.
type Coverage struct {
	Check          string
	Told, Attempts int
	Life           bool // every state it depends on was seen in the recording
	LifeWhy        string
}
