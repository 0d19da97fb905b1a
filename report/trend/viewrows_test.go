package trend_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
	"rollonset/report/trend"
)

// several are summaries with what rows depend on: states, margins, a reject,
// a reaction, a touch-and-go, a flight without date, one without type.
func several() []archive.Summary {
	margin, value := -0.5, 3.0
	reaction := 2.5
	finding := func(check, state string) archive.FindingSummary {
		f := archive.FindingSummary{Check: check, State: state, Unit: "deg", Life: state != "cannot be told"}
		if state == "out of limits" {
			f.Severity, f.Margin, f.Value = "high", &margin, &value
		}
		return f
	}
	var out []archive.Summary
	for i, outcome := range []string{"airborne", "rejected", "touch-and-go", "undetermined"} {
		key := strings.Repeat(fmt.Sprint(i), 64)
		s := archive.Summary{
			Key: key, Profile: archive.ProfileInfo{Name: "QX40"}, Recording: archive.RecordingInfo{SHA256: key},
			Flight: archive.Flight{Folder: fmt.Sprintf("flights/2031/03/0%d/f", i+1), Tail: "ZZ-Q01", Aerodrome: "ZZA", Runway: "09", Date: fmt.Sprintf("2031-03-0%d", i+1)},
		}
		if i == 1 {
			s.Flight.Type = "QX40-200"
		}
		if i == 3 {
			s.Flight.Date = ""
		}
		a := archive.AttemptSummary{Number: 1, ID: archive.AttemptID(key, 1), Outcome: outcome, Findings: []archive.FindingSummary{
			finding("flaps", "out of limits"), finding("trim", "within limits"), finding("brake", "cannot be told"),
		}}
		if outcome == "rejected" {
			a.Reject = &archive.RejectSummary{Class: "low-speed", Severity: "low", GroundAtCut: &archive.Reading{Value: 40}}
			a.Warning = &archive.WarningSummary{Verdict: "both", Reaction: &reaction}
		}
		s.Attempts = []archive.AttemptSummary{a}
		out = append(out, s)
	}
	return out
}

// TestViewRowsAreTheRowsOfTheSummaries: the fast way and the slow one agree.
func TestViewRowsAreTheRowsOfTheSummaries(t *testing.T) {
	summaries := several()
	seq := func(yield func(archive.Summary, error) bool) {
		for _, s := range summaries {
			if !yield(s, nil) {
				return
			}
		}
	}
	a, err := archive.Create(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.WriteTables("r", seq); err != nil {
		t.Fatal(err)
	}
	v, err := a.View()
	if err != nil {
		t.Fatal(err)
	}
	reviews := func(attempt, kind, check string) trend.Review {
		if kind == "configuration" && check == "flaps" && strings.HasPrefix(attempt, "1") {
			return trend.Nuisance
		}
		return trend.Unreviewed
	}
	text := func(rows []trend.Row) []string {
		var out []string
		for _, r := range rows {
			out = append(out, fmt.Sprintf("%+v", r)) // NaN as text, so that it equals itself
		}
		slices.SortFunc(out, cmp.Compare)
		return out
	}
	want, got := text(collect(trend.Rows(seq, reviews))), text(collect(trend.ViewRows(v, reviews)))
	if diff := gocmp.Diff(want, got); diff != "" {
		t.Errorf("rows (-summaries +view):\n%s", diff)
	}
	if len(want) < 12 {
		t.Errorf("only %d rows", len(want))
	}
	within := collect(trend.Within(trend.ViewRows(v, nil), trend.Period{From: trend.MonthOf(begin), To: trend.MonthOf(begin)}))
	for _, r := range within {
		if !r.Date.IsZero() {
			t.Errorf("a row of %s is within January", r.Date)
		}
	}
}

func TestReadMarkers(t *testing.T) {
	got, err := trend.ReadMarkers(strings.NewReader("text,date,check\n\"Bulletin, new\",2031-03-07,flaps\nCard,2031-04-01,\n"), "m.csv")
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 || got[0].Label != "Bulletin, new" || got[0].Check != "flaps" || got[1].Check != "" || got[1].Date.Format("2006-01-02") != "2031-04-01" {
		t.Errorf("markers %+v", got)
	}
	for text, want := range map[string]string{
		"":                               "is empty",
		"day,what\n":                     `"date" and "text" are needed`,
		"date,text\n7 March,x\n":         `m.csv:2: "7 March" is no date`,
		"date,text\n2031-03-07\n":        "m.csv:2: the line has 1 columns",
		"date,text\n2031-03-07,\"x\n":    "m.csv: ",
		"date,text\n2031-02-30,Nowhen\n": "is no date",
	} {
		if _, err := trend.ReadMarkers(strings.NewReader(text), "m.csv"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want %q", text, err, want)
		}
	}
}

// TestFiguresAndJSON: both forms are made of the same trends, hold no NaN, and
// every rate has its denominator.
func TestFiguresAndJSON(t *testing.T) {
	f := fleet{months: 14, perDay: 8, tails: 4, rejects: 0.001}
	tr := build(t, f.rows(5), trend.Options{Markers: []trend.Marker{{Date: changed, Label: "x"}}})
	var b strings.Builder
	if err := trend.WriteJSON(&b, tr); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"per_thousand"`, `"spi"`, `"p05"`, `"from": "2031-01"`, `"told"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in the JSON", want)
		}
	}
	if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
		t.Error("the JSON holds what is no JSON")
	}
	rates, events := 0, int64(0)
	for _, r := range tr.Figures() {
		if strings.HasPrefix(r.Figure, "rate") && r.Unit == "per 1,000 takeoffs told" {
			if r.Told == nil || r.Events == nil {
				t.Fatalf("a rate without denominator: %+v", r)
			}
			rates++
		}
		if r.Figure == "rate" && r.Series == "flaps" && r.By == "" && r.From == r.To {
			events += *r.Events
		}
	}
	if s := seriesOf(tr, "flaps"); rates < 100 || events != int64(s.Rate.Events) {
		t.Errorf("%d rates; months add up to %d events of flaps, the series has %d", rates, events, s.Rate.Events)
	}
}
