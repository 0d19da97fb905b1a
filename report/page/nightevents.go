package page

import (
	"cmp"
	"math"
	"slices"

	"rollonset/detect"
	"rollonset/report/archive"
)

// EventOrder says in words what [Place.Compare] does.
const EventOrder = "In order of severity; within one, by the ground speed up to which it held, the highest first (of a reject, the speed at the thrust cut); then by time."

// Place is what an event is sorted by, the same wherever events are listed.
type Place struct {
	severity string
	held     float64 // kt, NaN when it cannot be told
	when, id string  // of the attempt
}

// PlaceOf is the place of an event of an attempt of a flight.
func PlaceOf(f archive.Flight, a archive.AttemptSummary, e archive.EventSummary) Place {
	return Place{e.Severity, held(e, a), whenCell(f, a).Text, a.ID}
}

// Compare is negative when an event comes before another. Events of one
// attempt with the same severity and speed are equal.
func (p Place) Compare(o Place) int {
	return cmp.Or(compareGrade(p.severity, o.severity, p.held, o.held), cmp.Compare(p.when, o.when), cmp.Compare(p.id, o.id))
}

// compareGrade puts the worse severity first, then the higher speed. A speed
// that cannot be told comes last: Compare puts NaN first, and the order of
// speeds is falling.
func compareGrade(a, b string, heldA, heldB float64) int {
	return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(heldB, heldA))
}

// ranked is a row of an event table with its place.
type ranked struct {
	Place
	row []cell
}

// held is the ground speed in kt up to which an event held: of a finding the
// highest at the end of a stretch out of limits, of a warning that was due
// that of the findings it was due for, of a reject the speed at the thrust cut.
func held(e archive.EventSummary, a archive.AttemptSummary) float64 {
	switch detect.EventKind(e.Kind) {
	case detect.RejectEvent:
		if a.Reject != nil && a.Reject.GroundAtCut != nil {
			return a.Reject.GroundAtCut.Value
		}
		return math.NaN()
	case detect.WarningEvent:
		out := math.NaN()
		for _, f := range a.Findings {
			if a.Warning != nil && slices.Contains(a.Warning.Due, f.Check) {
				out = higherOf(out, fastest(a, f))
			}
		}
		return out
	}
	for _, f := range a.Findings {
		if f.Check == e.Check {
			return fastest(a, f)
		}
	}
	return math.NaN()
}

// fastest is the highest ground speed at the ends of a finding's stretches.
func fastest(a archive.AttemptSummary, f archive.FindingSummary) float64 {
	out := math.NaN()
	for _, s := range f.Stretches {
		if v := endSpeed(a, s); v != nil {
			out = higherOf(out, v.Value)
		}
	}
	return out
}

// higherOf is the higher of two speeds, or the one that is told.
func higherOf(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

func (n *night) eventTable() table {
	slices.SortStableFunc(n.events, func(a, b ranked) int { return a.Compare(b.Place) })
	t := table{
		ID: "events", Kind: "night-events", Narrow: flows, Caption: "Events to look at, worst first", Sort: true, Empty: "No event.",
		Head: []head{
			{Text: "Severity"},
			{Text: "Event"},
			{Text: "Held to", Unit: "kt", Num: true},
			{Text: "Tail"},
			{Text: "Flight"},
			{Text: "Onset, UTC"},
			{Text: "Attempt"},
			{Text: "Event id"},
		},
	}
	if n.options.Review != nil {
		t.Head = append(t.Head, head{Text: "Review"})
	}
	for _, e := range n.events {
		t.Rows = append(t.Rows, e.row)
	}
	return t
}
