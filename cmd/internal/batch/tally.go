package batch

import (
	"strings"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// Tally is what the account says of one flight. It is small, because a run
// holds one for every recording until it ends.
type Tally struct {
	// Counts has the figures of attempts and events; those of recordings are 0.
	Counts   archive.RunCounts
	Coverage []Coverage // in the order of the profile
	Doubts   []page.Doubt
	Events   []Event // in the order of attempts
}

// Coverage is on how many attempts of a flight a check could be told, and
// whether it clears nobody there, see page.Lifeless.
type Coverage struct {
	Check          string
	Told, Attempts int
	Lifeless       bool
}

// Event is an event as the account lists it.
type Event struct {
	Severity string
	Place    page.Place // what it is sorted by
	Attempt  string     // ID
	Flight   string     // short name of the flight
	Text     string     // in words
}

// tallyOf makes the tally of a summary.
func tallyOf(s *archive.Summary) Tally {
	t := Tally{Doubts: page.Doubts(s), Coverage: make([]Coverage, 0, len(s.Coverage))}
	for _, c := range s.Coverage {
		t.Coverage = append(t.Coverage, Coverage{Check: c.Check, Told: c.Told, Attempts: c.Attempts, Lifeless: page.Lifeless(c)})
	}
	for i := range s.Attempts {
		a := &s.Attempts[i]
		t.attempt(a)
		for _, e := range a.Events {
			t.event(e.Severity)
			t.Events = append(t.Events, Event{Severity: e.Severity, Place: page.PlaceOf(s.Flight, *a, e), Attempt: a.ID, Flight: FlightName(s), Text: page.EventText(e, *a)})
		}
	}
	return t
}

func (t *Tally) attempt(a *archive.AttemptSummary) {
	c := &t.Counts
	c.Attempts++
	c.AddUntold(a)
	if a.LiftOff != nil {
		c.Takeoffs++
	}
	if a.Reject != nil {
		c.Rejects++
	}
}

func (t *Tally) event(severity string) {
	t.Counts.Events++
	switch severity {
	case "high":
		t.Counts.High++
	case "medium":
		t.Counts.Medium++
	default:
		t.Counts.Low++
	}
}

// FlightName names a flight in one short phrase.
func FlightName(s *archive.Summary) string {
	parts := []string{}
	for _, p := range []string{s.Flight.Tail, s.Flight.Flight, s.Flight.Date} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		return s.Recording.File
	}
	return strings.Join(parts, " ")
}
