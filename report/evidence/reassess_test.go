package evidence

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
)

// attemptAt is an attempt with its onset, its events as "kind check severity"
// and its findings as "check: state".
func attemptAt(at float64, events []string, findings ...string) archive.AttemptSummary {
	a := archive.AttemptSummary{ID: fmt.Sprintf("id-%g", at), Onset: &archive.Moment{At: at}, ThrustAdvance: &archive.Moment{At: at - 5}}
	for _, e := range events {
		part := strings.Split(e, "/")
		a.Events = append(a.Events, archive.EventSummary{Kind: part[0], Check: part[1], Severity: part[2]})
	}
	for _, f := range findings {
		check, state, _ := strings.Cut(f, ": ")
		a.Findings = append(a.Findings, archive.FindingSummary{Check: check, State: state})
	}
	return a
}

// Events come, go or change their grade; what stays is counted and not listed.
func TestReassessedCompares(t *testing.T) {
	was := archive.Summary{Attempts: []archive.AttemptSummary{
		attemptAt(100, []string{"configuration/trim/high", "configuration/flaps/low", "reject/low-speed/low", "warning/condition only/high"},
			"trim: out of limits", "flaps: out of limits", "slats: cannot be told", "old: within limits"),
		attemptAt(400, []string{"configuration/trim/high"}, "trim: out of limits"),
	}}
	is := archive.Summary{Attempts: []archive.AttemptSummary{
		attemptAt(101.5, []string{"configuration/trim/medium", "configuration/slats/high", "reject/high-speed/high", "warning/condition only/high"},
			"trim: out of limits", "flaps: cannot be told", "slats: out of limits", "new: within limits"),
		attemptAt(900, []string{"configuration/trim/low"}, "trim: out of limits"),
	}}
	r := Reassessed{ByCheck: map[string][2]int{}}
	r.compare(&was, &is)
	var got []string
	for _, c := range r.Changes {
		got = append(got, fmt.Sprintf("%s %q %s %s (%s): %q %q", c.Change, c.Event, c.Kind, c.Check, c.CheckWas, c.Was, c.Is))
	}
	want := []string{
		`re-graded "id-100" configuration trim (): "high" "medium"`,
		`dropped "id-100" configuration flaps (): "low" ""`,
		`re-graded "id-100" reject high-speed (low-speed): "low" "high"`,
		`added "id-100" configuration slats (): "" "high"`,
		`dropped "id-400" configuration trim (): "high" ""`,
		`added "" configuration trim (): "" "low"`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	counts := fmt.Sprint(r.AttemptsWas, r.AttemptsIs, r.EventsWas, r.EventsIs, r.Kept, r.NowTold, r.NowUntold, r.ThereBefore, r.New)
	// The attempt at 400 s is gone with its check, the one at 900 s is new with its.
	if want := fmt.Sprint(2, 2, 5, 5, 1, 1, 1, 2, 2); counts != want {
		t.Errorf("counts %s, want %s", counts, want)
	}
	sum := Sum([]Reassessed{r, {Without: "why"}, {Without: "why"}}, nil, "1")
	if sum.Added != 2 || sum.Dropped != 2 || sum.Regraded != 2 || sum.Flights != 1 || sum.Without["why"] != 2 || len(sum.Changes) != 6 {
		t.Errorf("sum %+v", sum)
	}
	for _, c := range sum.Checks {
		if c.Was+c.Added-c.Dropped != c.Is && !strings.HasPrefix(c.Check, "reject") {
			t.Errorf("%s: %d and %d added and %d dropped are not %d", c.Check, c.Was, c.Added, c.Dropped, c.Is)
		}
	}
}

// No text of a flight runs as a formula in the sheet, or as markup on the page.
func TestReassessmentIsHarmless(t *testing.T) {
	sum := Sum([]Reassessed{{Changes: []EventChange{{Change: Added, Tail: "=1+1", Flight: "<script>alert(1)</script>", Kind: "configuration", Check: "@x"}}}}, nil, "1")
	var page, sheet strings.Builder
	if err := sum.page(&page, func(string) string { return "javascript:alert(1)" }); err != nil {
		t.Fatal(err)
	}
	if err := archive.WriteSheet(&sheet, sum.rows()); err != nil {
		t.Fatal(err)
	}
	if text := page.String(); strings.Contains(text, "<script") || strings.Contains(text, "javascript:") {
		t.Errorf("the page holds markup of a flight:\n%s", text)
	}
	if text := sheet.String(); !strings.Contains(text, "'=1+1") || !strings.Contains(text, "'@x") {
		t.Errorf("the sheet holds a formula:\n%s", text)
	}
}
