package archive

import (
	"fmt"
	"slices"

	"rollonset/detect/configuration"
)

// Once is the summary of a flight with those of its attempts that count, for
// what adds up flights. An attempt that goes on in another recording has the
// outcome, the reject and the event of the reject from there. The summary
// given is not changed; it is returned as it is when all of its attempts count
// as they are.
func (v *View) Once(s Summary) (Summary, error) {
	if !slices.ContainsFunc(s.Attempts, func(a AttemptSummary) bool { return v.byID[a.ID] != nil }) {
		return s, nil
	}
	attempts := make([]AttemptSummary, 0, len(s.Attempts))
	s.Coverage = slices.Clone(s.Coverage)
	for _, a := range s.Attempts {
		seen := v.byID[a.ID]
		switch {
		case seen == nil:
		case !seen.Counts(a.ID):
			uncover(s.Coverage, &a)
			continue
		case seen.Split():
			var err error
			if a, err = v.withEnd(a, &seen.Sightings[seen.End]); err != nil {
				return Summary{}, err
			}
		}
		attempts = append(attempts, a)
	}
	s.Attempts = attempts
	return s, nil
}

// uncover takes an attempt out of the coverage of its recording.
func uncover(coverage []CheckCoverage, a *AttemptSummary) {
	for _, f := range a.Findings {
		for i := range coverage {
			if c := &coverage[i]; c.Check == f.Check {
				c.Attempts--
				if f.State != string(configuration.Unknown) {
					c.Told--
				}
			}
		}
	}
}

// withEnd gives an attempt the end that another recording tells.
func (v *View) withEnd(a AttemptSummary, end *Sighting) (AttemptSummary, error) {
	s, err := v.a.Read(end.Folder)
	if err != nil {
		return a, fmt.Errorf("the end of attempt %s: %w", a.ID, err)
	}
	for i := range s.Attempts {
		e := &s.Attempts[i]
		if e.ID != end.ID {
			continue
		}
		a.Outcome, a.Reject, a.LiftOff, a.NextMinutes = e.Outcome, e.Reject, e.LiftOff, e.NextMinutes
		a.Why = "the recording ends in the roll; " + end.File + ", where it goes on, says: " + e.Why
		a.Events = slices.Clone(a.Events)
		for _, event := range e.Events {
			if event.Kind == rejectKind {
				a.Events = append(a.Events, event)
			}
		}
		slices.SortStableFunc(a.Events, func(x, y EventSummary) int { return rankOf(x.Severity) - rankOf(y.Severity) })
	}
	return a, nil
}
