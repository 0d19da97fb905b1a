package page_test

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"html"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/ingest/flightdata"
	"rollonset/report/archive"
	"rollonset/report/page"
)

var update = flag.Bool("update", false, "write the golden files anew")

func options() page.Options {
	return page.Options{
		Commands: []page.Command{
			{For: "the same facts in a terminal", Line: "rollonset show archive 0123456789ab-1"},
			{For: "the same result from the recording", Line: "rollonset process --profile fleet/qx40.yaml --to archive ZZ-Q07_20310307T0410_MA204.csv"},
		},
		Levels: []page.Level{
			{Parameter: flightdata.EPR, Value: 1.1, Label: "takeoff threshold 1.10"},
			{Parameter: flightdata.FlapLever, Value: 10, Label: "setting 10"},
			{Parameter: flightdata.FlapLever, Value: 20, Label: "setting 20"},
			{Parameter: flightdata.SpeedbrakeLever, Value: 2, Label: "at most 2"},
			// Next to the upper edge of the trim band, which has a label too.
			{Parameter: flightdata.StabilizerTrim, Value: 5.6, Label: "at most 5.60"},
		},
		Index: "../../../../../index.html",
	}
}

func flight(t testing.TB, s archive.Summary, clip *flightdata.Recording) string {
	t.Helper()
	var b bytes.Buffer
	if err := page.Flight(&b, s, clip, options()); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func night(t testing.TB, summaries ...archive.Summary) string {
	t.Helper()
	var b bytes.Buffer
	if err := page.Night(&b, fixtureRun(), page.Each(summaries), page.NightOptions{Trends: "trends.html"}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var (
	unread   = regexp.MustCompile(`(?s)<(style|script|svg)[^>]*>.*?</(style|script|svg)>`)
	cellEnds = regexp.MustCompile(`</t[hd]>\s*<t[hd][^>]*>`)
	blocks   = regexp.MustCompile(`</?(p|tr|h[1-6]|li|section|table|caption|dt|dd|figcaption|header|nav|title|summary|footer|div)[^>]*>`)
	lines    = regexp.MustCompile(`<span class="sub">`)
	tags     = regexp.MustCompile(`<[^>]*>`)
	spaces   = regexp.MustCompile(`[ \t]*\n\s*`)
)

// words is the text of a page as a reader of words sees it: a line per block,
// cells parted by bars, pictures and scripts left out.
func words(source string) string {
	s := unread.ReplaceAllString(source, "")
	s = lines.ReplaceAllString(s, " / ")
	s = cellEnds.ReplaceAllString(s, " | ")
	s = blocks.ReplaceAllString(s, "\n")
	s = html.UnescapeString(tags.ReplaceAllString(s, ""))
	return strings.TrimSpace(spaces.ReplaceAllString(s, "\n")) + "\n"
}

func golden(t *testing.T, file, got string) {
	t.Helper()
	file = filepath.Join("testdata", file)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v; run the test with -update and read the file", err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", file, diff)
	}
}

func TestPagesGolden(t *testing.T) {
	clip := fixtureClip(8)
	for file, make := range map[string]func() string{
		"reject-then-takeoff.txt": func() string { return flight(t, rejectThenTakeoff(), clip) },
		"untold-trim.txt":         func() string { return flight(t, untoldTrim(), nil) },
		"hostile.txt":             func() string { return flight(t, hostileNames(), clip) },
		"night.txt":               func() string { return night(t, rejectThenTakeoff(), untoldTrim(), hostileNames()) },
		"night-without-any.txt":   func() string { return night(t) },
	} {
		t.Run(file, func(t *testing.T) {
			first := make()
			if make() != first {
				t.Fatal("the same input gave two different pages")
			}
			golden(t, file, words(first))
		})
	}
}

// TestNothingGetsOut: no attack of the hostile flight survives as markup, no
// page names an outside address, none writes a negative zero.
func TestNothingGetsOut(t *testing.T) {
	for name, source := range map[string]string{
		"flight": flight(t, hostileNames(), fixtureClip(8)),
		"night":  night(t, hostileNames()),
	} {
		for _, bad := range []string{"<script>alert", "<img src=x", `onerror="`, `href="javascript`} {
			if strings.Contains(source, bad) {
				t.Errorf("%s page holds %q", name, bad)
			}
		}
		outside := regexp.MustCompile(`(src|href|action|poster|srcset)="(https?:|//)|@import|url\(`)
		if m := outside.FindString(source); m != "" {
			t.Errorf("%s page refers to the outside: %s", name, m)
		}
		if m := regexp.MustCompile(`[-−]0(\.0+)?[ <]`).FindString(words(source)); m != "" {
			t.Errorf("%s page holds a negative zero: %q", name, m)
		}
		if !strings.Contains(source, "default-src &#39;none&#39;") {
			t.Errorf("%s page has no content security policy", name)
		}
	}
}

// TestEvents: the worst event of the night comes first, whatever the order
// of the flights.
func TestEventsWorstFirst(t *testing.T) {
	high := rejectThenTakeoff()
	high.Attempts[0].Events[1].Severity = "high"
	text := words(night(t, untoldTrim(), rejectThenTakeoff(), high))
	_, events, _ := strings.Cut(text, "Events to look at, worst first\n")
	var got []string
	for _, line := range strings.Split(events, "\n")[1:6] {
		word, _, ok := strings.Cut(line, " | ")
		if ok {
			got = append(got, word)
		}
	}
	if diff := cmp.Diff([]string{"high", "medium", "medium", "low"}, got); diff != "" {
		t.Error(diff)
	}
}

// TestEventsOfOneSeverity: the event that held to the highest speed comes
// first, of two of one speed the earlier, and one without a speed last.
func TestEventsOfOneSeverity(t *testing.T) {
	event := func(tail string, at float64, to *archive.Reading) archive.Summary {
		s := fixtureSummary(rejectedAttempt())
		s.Flight.Tail = tail
		a := &s.Attempts[0]
		a.Onset, a.Events = moment(at), a.Events[:1]
		a.Findings[0].Stretches = []archive.OutOfLimits{{From: *moment(at), To: *moment(at + 9), SpeedTo: to}}
		return s
	}
	text := words(night(t, event("untold", 10, nil), event("slow", 20, reading(45, 1)), event("late", 40, reading(120, 1)), event("early", 30, reading(120, 1))))
	_, events, _ := strings.Cut(text, "Events to look at, worst first\n")
	var got []string
	for _, line := range strings.Split(events, "\n")[1:5] {
		cells := strings.Split(line, " | ")
		got = append(got, cells[2]+" "+cells[3])
	}
	if diff := cmp.Diff([]string{"120 early", "120 late", "45 slow", "– untold"}, got); diff != "" {
		t.Error(diff)
	}
	if !strings.Contains(text, "within one, by the ground speed up to which it held") {
		t.Error("the order is not said")
	}
}

// TestUntoldIsNamed: what could not be told stands with its reason and its
// flights, a reason that holds for many flights in one row.
func TestUntoldIsNamed(t *testing.T) {
	var all []archive.Summary
	for i := range 6 {
		s := untoldTrim()
		s.Flight.Flight = fmt.Sprintf("MA%d", i)
		all = append(all, s)
	}
	lost := fixtureSummary(changed(takeoffAttempt(), func(a *archive.AttemptSummary) {
		a.Outcome, a.Why = "undetermined", "the data end in the roll"
	}))
	text := words(night(t, append(all, lost)...))
	for _, want := range []string{
		"On 7 attempts something could not be told",
		"ZZ-Q09 | trim | 6 | stabilizer_trim not recorded | MA0 2031-03-07, MA1 2031-03-07, MA2 2031-03-07, MA3 2031-03-07 and others",
		"ZZ-Q07 | end of the attempt | 1 | the data end in the roll | MA204 2031-03-07",
		"QX40 | takeoff configuration warning | 1 | 7 | 6 | 0 | the warning is not recorded on this aircraft: 6",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the night page does not say %q", want)
		}
	}
}

func TestNightSaysWhereTheSummariesBroke(t *testing.T) {
	broken := errors.New("disk gone")
	err := page.Night(io.Discard, fixtureRun(), func(yield func(archive.Summary, error) bool) {
		if yield(untoldTrim(), nil) {
			yield(archive.Summary{}, broken)
		}
	}, page.NightOptions{})
	if !errors.Is(err, broken) || !strings.Contains(err.Error(), "after 1 ") {
		t.Errorf("error = %v", err)
	}
}

// TestSizes: a flight page with one attempt at 8 Hz stays under 400 KB, a
// night of 2,000 attempts is written whole.
func TestSizes(t *testing.T) {
	s := fixtureSummary(rejectedAttempt())
	if n := len(flight(t, s, fixtureClip(8))); n > 400<<10 {
		t.Errorf("flight page of %d KB, want at most 400", n>>10)
	} else {
		t.Logf("flight page: %d KB", n>>10)
	}
	many := manyFlights(1000)
	source := night(t, many...)
	if n := strings.Count(source, "ZZ-Q07"); n < 2000 {
		t.Errorf("night page names the tail %d times, want one for each of 2000 attempts", n)
	}
	t.Logf("night page of 2000 attempts: %d KB", len(source)>>10)
}

func manyFlights(n int) []archive.Summary {
	out := make([]archive.Summary, n)
	for i := range out {
		out[i] = rejectThenTakeoff()
		out[i].Flight.Flight = fmt.Sprintf("MA%d", i)
	}
	return out
}

func BenchmarkFlight(b *testing.B) {
	s, clip := fixtureSummary(rejectedAttempt()), fixtureClip(8)
	for b.Loop() {
		if err := page.Flight(io.Discard, s, clip, options()); err != nil {
			b.Fatal(err)
		}
	}
}

// TestWorthAPage: samples that leave a check open are worth a look, what a
// whole fleet does not record is not.
func TestWorthAPage(t *testing.T) {
	for reason, want := range map[string]bool{
		"parking_brake: every sample is masked or missing":  true,
		"flap_position: no sample near enough at the onset": true,
		"center_of_gravity: not recorded":                   false,
		"parking_brake is not recorded":                     false,
		"the flight list plans no value for it":             false,
	} {
		s := archive.Summary{Attempts: []archive.AttemptSummary{{Outcome: "airborne", Findings: []archive.FindingSummary{{State: "cannot be told", Reason: reason}}}}}
		if got := page.WorthAPage(s); got != want {
			t.Errorf("%q: %v", reason, got)
		}
		s.Attempts[0].Findings[0].State = "within limits"
		if page.WorthAPage(s) {
			t.Errorf("a flight within limits is worth a page")
		}
	}
}
