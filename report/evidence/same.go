package evidence

import (
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/span"
	"rollonset/report/archive"
)

// sameFindings holds a copy to the summary that it was made from: every
// attempt of the part, every finding of it, and nothing else. at is the
// instant of the summary that is zero of the copy.
func sameFindings(was, is archive.Summary, at span.Instant, numbers []int) error {
	next := 0
	for i := range was.Attempts {
		a := &was.Attempts[i]
		if !slices.Contains(numbers, a.Number) {
			continue
		}
		if next == len(is.Attempts) {
			return fmt.Errorf("attempt %d is missing", a.Number)
		}
		if err := sameAttempt(a, &is.Attempts[next], at.Seconds()); err != nil {
			return fmt.Errorf("attempt %d: %w", a.Number, err)
		}
		next++
	}
	if next < len(is.Attempts) {
		return fmt.Errorf("there are %d attempts, not %d", len(is.Attempts), next)
	}
	return nil
}

func sameAttempt(was, is *archive.AttemptSummary, shift float64) error {
	switch {
	case was.Outcome != is.Outcome:
		return fmt.Errorf("the outcome is %q, not %q", is.Outcome, was.Outcome)
	case !sameMoment(was.Onset, is.Onset, shift) || !sameMoment(was.RollStart, is.RollStart, shift) ||
		!sameMoment(was.LiftOff, is.LiftOff, shift) || !sameMoment(was.ThrustCut, is.ThrustCut, shift):
		return fmt.Errorf("an instant is another one")
	case len(was.Findings) != len(is.Findings):
		return fmt.Errorf("%d checks, not %d", len(is.Findings), len(was.Findings))
	case len(was.Events) != len(is.Events):
		return fmt.Errorf("%d events, not %d", len(is.Events), len(was.Events))
	case (was.Reject == nil) != (is.Reject == nil) || was.Reject != nil && was.Reject.Class != is.Reject.Class:
		return fmt.Errorf("the reject is another one")
	case (was.Warning == nil) != (is.Warning == nil) || was.Warning != nil && was.Warning.Verdict != is.Warning.Verdict:
		return fmt.Errorf("the verdict on the warning is another one")
	}
	for i := range was.Findings {
		w, n := &was.Findings[i], &is.Findings[i]
		if w.Check != n.Check || w.State != n.State || w.AtOnset != n.AtOnset || w.Severity != n.Severity || !sameNumber(w.Margin, n.Margin) || !sameNumber(w.WorstMargin, n.WorstMargin) {
			return fmt.Errorf("check %q is %s, not %s", w.Check, n.State, w.State)
		}
	}
	for i := range was.Events {
		if w, n := was.Events[i], is.Events[i]; w.Kind != n.Kind || w.Check != n.Check || w.Severity != n.Severity {
			return fmt.Errorf("event %d is %s %s %s, not %s %s %s", i+1, n.Severity, n.Kind, n.Check, w.Severity, w.Kind, w.Check)
		}
	}
	return nil
}

// fine is how near two instants must be: the nanosecond of the archive, and
// the noise of a float on top.
const fine = 2e-9

func sameMoment(was, is *archive.Moment, shift float64) bool {
	if was == nil || is == nil {
		return was == is
	}
	return math.Abs(was.At-shift-is.At) <= fine
}

func sameNumber(was, is *float64) bool {
	if was == nil || is == nil {
		return was == is
	}
	return math.Abs(*was-*is) <= 2e-6
}
