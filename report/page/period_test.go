package page_test

import (
	"bytes"
	"strings"
	"testing"

	"rollonset/report/archive"
	"rollonset/report/page"
	"rollonset/report/trend"
)

// periodArchive holds the reject of the fixture in March 2031, its flight
// folder published as a summary would be, and one flight of February whose
// folder was removed.
func periodArchive(t testing.TB) (*archive.Archive, *archive.View) {
	t.Helper()
	a, err := archive.Create(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	march, february := rejectThenTakeoff(), untoldTrim()
	march.Flight.Folder, march.Flight.Date = "flights/2031/03/07/march", "2031-03-07"
	february.Flight.Folder, february.Flight.Date = "flights/2031/02/20/february", "2031-02-20"
	february.Recording.SHA256, february.Key = strings.Repeat("2", 64), strings.Repeat("2", 64)
	for _, s := range []*archive.Summary{&february, &march} {
		for i := range s.Attempts {
			s.Attempts[i].ID = archive.AttemptID(s.Key, i+1)
		}
	}
	february.Attempts[0].Events = []archive.EventSummary{{Kind: "configuration", Check: "flap lever", Severity: "high", Rule: "fixed"}}
	february.Attempts[0].Findings = append(february.Attempts[0].Findings, archive.FindingSummary{Check: "flap lever", State: "out of limits", Severity: "high", Limit: "10 or 20 deg", Life: true})
	if _, err := a.WriteTables("r", page.Each([]archive.Summary{february, march})); err != nil {
		t.Fatal(err)
	}
	run := fixtureRun()
	run.ID = "r"
	for i := range run.Recordings {
		run.Recordings[i].Folder = march.Flight.Folder
	}
	if err := a.WriteRun(run); err != nil {
		t.Fatal(err)
	}
	v, err := a.View()
	if err != nil {
		t.Fatal(err)
	}
	return a, v
}

func periodPage(t testing.TB, p trend.Period, reviews trend.Reviews) (string, *page.PeriodFacts) {
	t.Helper()
	a, v := periodArchive(t)
	facts, err := page.ReadPeriod(a, v, p, reviews)
	if err != nil {
		t.Fatal(err)
	}
	tr, err := trend.Build(trend.Within(trend.ViewRows(v, reviews), trend.Period{From: 1, To: p.To}), trend.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := page.Period(&b, facts, tr, page.PeriodOptions{Archive: "archive", Caution: archive.Caution, Source: "Read: a fixture."}); err != nil {
		t.Fatal(err)
	}
	return b.String(), facts
}

func monthOf(t testing.TB, text string) trend.Month {
	t.Helper()
	m, err := trend.ParseMonth(text)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestPeriodGolden(t *testing.T) {
	march := monthOf(t, "2031-03")
	source, facts := periodPage(t, trend.Period{From: march, To: march}, nil)
	golden(t, "period.txt", words(source))
	if facts.Attempts == 0 || len(facts.Events) == 0 {
		t.Fatalf("facts %+v", facts)
	}
	// February's high event is 15 days old on the last day with a takeoff.
	if len(facts.Open) == 0 || facts.Open[0].Check != "flap lever" || facts.AsOf.Sub(facts.Open[0].Date).Hours() != 15*24 {
		t.Errorf("not reviewed: %+v as of %s", facts.Open, facts.AsOf)
	}
}

func TestPeriodCountsReviewsAndKeepsToItsMonths(t *testing.T) {
	valid := func(string, string, string) trend.Review { return trend.Valid }
	february := monthOf(t, "2031-02")
	source, facts := periodPage(t, trend.Period{From: february, To: february}, valid)
	if len(facts.Open) != 0 || !strings.Contains(words(source), "Every event of high severity has been reviewed") {
		t.Errorf("reviewed events are open: %+v", facts.Open)
	}
	if strings.Contains(source, "2031-03") {
		t.Error("the report of February knows of March")
	}
	if !strings.Contains(words(source), "flap lever: out of limits (limit 10 or 20 deg)") {
		t.Error("an event without a flight folder is not told from its row")
	}
	year, all := periodPage(t, trend.Period{From: monthOf(t, "2031-01"), To: monthOf(t, "2031-12")}, valid)
	if !strings.Contains(year, "Takeoffs of 2031<") || len(all.Events) <= len(facts.Events) {
		t.Errorf("the year has %d events, February %d", len(all.Events), len(facts.Events))
	}
	none, _ := periodPage(t, trend.Period{From: monthOf(t, "2030-01"), To: monthOf(t, "2030-12")}, valid)
	if !strings.Contains(words(none), "The archive holds no takeoff attempt of 2030.") {
		t.Error("an empty year is not said to be empty")
	}
}

// TestPeriodSaysItsRules: a report says that its rules are those of the trend
// page and what counts, and its rows count by them.
func TestPeriodSaysItsRules(t *testing.T) {
	a, v := periodArchive(t)
	march := monthOf(t, "2031-03")
	p := trend.Period{From: march, To: march}
	facts, err := page.ReadPeriod(a, v, p, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, only := range []bool{false, true} {
		tr, err := trend.Build(trend.ViewRows(v, nil), trend.Options{ValidOnly: only})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := page.Period(&b, facts, tr, page.PeriodOptions{}); err != nil {
			t.Fatal(err)
		}
		want := map[bool]string{true: "Only events reviewed as valid count", false: "Events that nobody has reviewed count"}[only]
		if got := words(b.String()); !strings.Contains(got, want) || !strings.Contains(got, "follow the rules of the trend page, over the archive up to the end of this period and no further") {
			t.Errorf("valid only %t: no %q in\n%s", only, want, got)
		}
		_, rate := tr.Over(&tr.Series[0], p)
		if only == (rate.Events > 0) && tr.Series[0].Total.Unreviewed > 0 {
			t.Errorf("valid only %t: %v", only, rate)
		}
	}
}
