package trend_test

import (
	"errors"
	"iter"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/report/archive"
	"rollonset/report/trend"
)

func ptr(v float64) *float64 { return &v }

func summaries(list []archive.Summary, err error) iter.Seq2[archive.Summary, error] {
	return func(yield func(archive.Summary, error) bool) {
		for _, s := range list {
			if !yield(s, nil) {
				return
			}
		}
		if err != nil {
			yield(archive.Summary{}, err)
		}
	}
}

func TestRowsOfSummaries(t *testing.T) {
	s := archive.Summary{
		Flight: archive.Flight{Tail: "ZZ-Q07", Type: "QX-40", Aerodrome: "ZZB", Runway: "27", Date: "2031-03-07"},
		Attempts: []archive.AttemptSummary{
			{
				ID: "abc-1", Outcome: "rejected",
				Findings: []archive.FindingSummary{
					{Check: "flaps", State: "out of limits", Severity: "high", Life: true},
					{Check: "trim", State: "within limits", Unit: "deg", Margin: ptr(1.5)},
					{Check: "parking_brake", State: "cannot be told", Reason: "not recorded"},
				},
				Reject:  &archive.RejectSummary{Class: "low-speed", Severity: "medium", GroundAtCut: &archive.Reading{Value: 14}},
				Warning: &archive.WarningSummary{Verdict: "both", Reaction: ptr(2.3)},
			},
			{ID: "abc-2", Outcome: "touch-and-go", Findings: []archive.FindingSummary{{Check: "flaps", State: "within limits"}}},
			{ID: "abc-3", Outcome: "undetermined"},
		},
	}
	reviews := func(attempt, kind, check string) trend.Review {
		return map[string]trend.Review{"abc-1 configuration flaps": trend.Nuisance, "abc-1 reject low-speed": trend.Valid}[attempt+" "+kind+" "+check]
	}
	nan := ptr(0)
	*nan = 0 / *nan
	row := func(edit func(*trend.Row)) trend.Row {
		r := trend.Row{Kind: trend.CheckKind, Date: time.Date(2031, 3, 7, 0, 0, 0, 0, time.UTC), Type: "QX-40", Tail: "ZZ-Q07", Aerodrome: "ZZB", Runway: "27", Value: *nan}
		edit(&r)
		return r
	}
	want := []trend.Row{
		row(func(r *trend.Row) {
			r.Check, r.Told, r.Event, r.Life, r.Severity, r.Review = "flaps", true, true, true, "high", trend.Nuisance
		}),
		row(func(r *trend.Row) { r.Check, r.Told, r.Unit, r.Value = "trim", true, "deg", 1.5 }),
		row(func(r *trend.Row) { r.Check = "parking_brake" }), // not told: neither event nor fine
		row(func(r *trend.Row) {
			r.Kind, r.Check, r.Unit, r.Told, r.Value = trend.MeasureKind, trend.RejectSpeed, "kt", true, 14
		}),
		row(func(r *trend.Row) {
			r.Kind, r.Told, r.Event, r.Life, r.Class, r.Severity, r.Review = trend.RejectKind, true, true, true, "low-speed", "medium", trend.Valid
		}),
		row(func(r *trend.Row) {
			r.Kind, r.Check, r.Unit, r.Told, r.Value = trend.MeasureKind, trend.Reaction, "s", true, 2.3
		}),
		// A touch-and-go is no attempt; of the third it is not known whether it was given up.
		row(func(r *trend.Row) { r.Kind, r.Life = trend.RejectKind, true }),
	}
	got := collect(trend.Rows(summaries([]archive.Summary{s}, nil), reviews))
	if diff := cmp.Diff(want, got, cmpopts.EquateNaNs()); diff != "" {
		t.Error(diff)
	}

	broken := errors.New("summary.json: cut off")
	if _, err := trend.Build(trend.Rows(summaries([]archive.Summary{s}, broken), nil), trend.Options{}); !errors.Is(err, broken) {
		t.Errorf("error %v, want that of the summaries", err)
	}
	s.Flight.Date = ""
	if tr := build(t, trend.Rows(summaries([]archive.Summary{s}, nil), nil), trend.Options{}); tr.Undated != 7 {
		t.Errorf("%d rows undated, want all 7", tr.Undated)
	}
}
