package trend

import (
	"cmp"
	"iter"
	"math"
	"time"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// Reviews looks up the review of an event of an attempt: by the attempt's id,
// and the event's kind and check as in archive.EventSummary. Nil for none.
type Reviews func(attempt, kind, check string) Review

// The measures that Rows takes from summaries.
const (
	Reaction    = "warning reaction"
	RejectSpeed = "ground speed at thrust cut"
)

// Rows are the rows of summaries, in their order: for each attempt its checks
// and its reject, and the measures that exist. A touch-and-go is no takeoff
// attempt of the rates. An error of the summaries is passed on.
func Rows(summaries iter.Seq2[archive.Summary, error], reviews Reviews) iter.Seq2[Row, error] {
	if reviews == nil {
		reviews = func(string, string, string) Review { return Unreviewed }
	}
	return func(yield func(Row, error) bool) {
		for s, err := range summaries {
			if err != nil {
				yield(Row{}, err)
				return
			}
			for i := range s.Attempts {
				for _, row := range attemptRows(&s, &s.Attempts[i], reviews) {
					if !yield(row, nil) {
						return
					}
				}
			}
		}
	}
}

func attemptRows(s *archive.Summary, a *archive.AttemptSummary, reviews Reviews) []Row {
	outcome := takeoff.Outcome(a.Outcome)
	if outcome == takeoff.TouchAndGo {
		return nil
	}
	f := &s.Flight
	// A profile is that of one type, so its name stands for a type not told.
	base := Row{Type: cmp.Or(f.Type, s.Profile.Name), Tail: f.Tail, Aerodrome: f.Aerodrome, Runway: f.Runway, Value: math.NaN()}
	if date, err := time.Parse(time.DateOnly, f.Date); err == nil {
		base.Date = date // otherwise not known, and counted as such
	}
	var out []Row
	for i := range a.Findings {
		out = append(out, findingRow(base, a.ID, &a.Findings[i], reviews))
	}
	reject := base
	reject.Kind, reject.Life = RejectKind, true
	reject.Told = outcome != takeoff.Undetermined
	if r := a.Reject; r != nil {
		reject.Event, reject.Class, reject.Severity = true, r.Class, r.Severity
		reject.Review = reviews(a.ID, "reject", r.Class)
		if r.GroundAtCut != nil {
			out = append(out, measureRow(base, RejectSpeed, "kt", r.GroundAtCut.Value))
		}
	}
	out = append(out, reject)
	if w := a.Warning; w != nil && w.Reaction != nil {
		out = append(out, measureRow(base, Reaction, "s", *w.Reaction))
	}
	return out
}

func findingRow(row Row, id string, f *archive.FindingSummary, reviews Reviews) Row {
	row.Kind, row.Check, row.Unit, row.Life = CheckKind, f.Check, f.Unit, f.Life
	state := configuration.State(f.State)
	row.Told = state == configuration.Within || state == configuration.Outside
	if state == configuration.Outside {
		row.Event, row.Severity = true, f.Severity
		row.Review = reviews(id, "configuration", f.Check)
	}
	if f.Margin != nil {
		row.Value = *f.Margin
	}
	return row
}

func measureRow(row Row, name, unit string, value float64) Row {
	row.Kind, row.Check, row.Unit, row.Told, row.Value = MeasureKind, name, unit, true, value
	return row
}
