package trend

import (
	"iter"
	"math"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// ViewRows are the rows of an archive read through its tables: the same rows
// as Rows gives for the summaries that the view stands for, in another order.
// It is the way for many flights. An error of the view is passed on.
func ViewRows(v *archive.View, reviews Reviews) iter.Seq2[Row, error] {
	if reviews == nil {
		reviews = func(string, string, string) Review { return Unreviewed }
	}
	return func(yield func(Row, error) bool) {
		for f, err := range v.Findings() {
			if err != nil {
				yield(Row{}, err)
				return
			}
			if f.Outcome != string(takeoff.TouchAndGo) && !yield(findingViewRow(&f, reviews), nil) {
				return
			}
		}
		for a, err := range v.Attempts() {
			if err != nil {
				yield(Row{}, err)
				return
			}
			if a.Outcome == string(takeoff.TouchAndGo) {
				continue
			}
			for _, row := range attemptViewRows(&a, reviews) {
				if !yield(row, nil) {
					return
				}
			}
		}
	}
}

func placed(p *archive.Place) Row {
	return Row{Date: p.Date, Type: p.TypeOrProfile(), Tail: p.Tail, Aerodrome: p.Aerodrome, Runway: p.Runway, Value: math.NaN()}
}

func findingViewRow(f *archive.FindingView, reviews Reviews) Row {
	row := placed(&f.Place)
	row.Kind, row.Check, row.Unit, row.Life, row.Value = CheckKind, f.Check, f.Unit, f.Life, f.Margin
	state := configuration.State(f.State)
	row.Told = state == configuration.Within || state == configuration.Outside
	if state == configuration.Outside {
		row.Event, row.Severity = true, f.Severity
		row.Review = reviews(f.ID, "configuration", f.Check)
	}
	return row
}

func attemptViewRows(a *archive.AttemptView, reviews Reviews) []Row {
	base := placed(&a.Place)
	var out []Row
	reject := base
	reject.Kind, reject.Life = RejectKind, true
	reject.Told = a.Outcome != string(takeoff.Undetermined)
	if a.Class != "" {
		reject.Event, reject.Class, reject.Severity = true, a.Class, a.RejectSeverity
		reject.Review = reviews(a.ID, "reject", a.Class)
		if !math.IsNaN(a.CutSpeed) {
			out = append(out, measureRow(base, RejectSpeed, "kt", a.CutSpeed))
		}
	}
	out = append(out, reject)
	if !math.IsNaN(a.Reaction) {
		out = append(out, measureRow(base, Reaction, "s", a.Reaction))
	}
	return out
}

// Within passes on the rows of some months; rows without a date are passed
// on too, so that they are counted. The zero Period passes all.
func Within(rows iter.Seq2[Row, error], p Period) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		for row, err := range rows {
			if err == nil && p.From != 0 && !row.Date.IsZero() && !p.Has(MonthOf(row.Date)) {
				continue
			}
			if !yield(row, err) {
				return
			}
		}
	}
}
