package evidence

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollonset/report/archive"
)

func day(t *testing.T, text string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestRules(t *testing.T) {
	good, err := ParseRules("rules.txt", "# ours\n\nkeep full 24 months\nkeep reduced 1 month\nhold abc until 2032-01-01 case 12\nhold def for ever\n")
	if err == nil || !strings.Contains(err.Error(), "reduced must be the longer") {
		t.Errorf("a shorter reduced time was taken: %+v %v", good, err)
	}
	good, err = ParseRules("rules.txt", "# ours\n\nkeep full 24 months\nkeep reduced 60 months\nhold abc until 2032-01-01 case 12\nhold def for ever\n")
	if err != nil || good.Full.Months != 24 || good.Reduced.Months != 60 || len(good.Holds) != 2 || good.Full.Rule != "rules.txt:3: keep full 24 months" {
		t.Errorf("%+v %v", good, err)
	}
	if h := good.Holds[0]; h.Reason != "case 12" || h.active(day(t, "2032-01-01")) || !h.active(day(t, "2031-12-31")) || !good.Holds[1].active(day(t, "2099-01-01")) {
		t.Errorf("%+v", h)
	}
	for _, c := range []struct{ text, want string }{
		{"", "there is no rule"},
		{"hold abc x", "there is no rule"},
		{"keep full 24", "rules.txt:1: write"},
		{"keep full 0 months", "no number of months"},
		{"keep half 2 months", "rules.txt:1: write"},
		{"keep full 2 months\nkeep full 3 months", "rules.txt:2: there is a rule for full already"},
		{"delete all", `"delete" is no rule`},
		{"keep full 2 months\nhold abc", "names an event and a reason"},
		{"keep full 2 months\nhold abc until 2032-01-01", "a day and a reason"},
		{"keep full 2 months\nhold abc until soon x", `"soon" is no day`},
	} {
		if _, err := ParseRules("rules.txt", c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
}

func FuzzParseRules(f *testing.F) {
	f.Add("keep full 24 months\nhold abc until 2032-01-01 case\n")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRules("r", text)
		if err == nil && r.Full.Months == 0 && r.Reduced.Months == 0 {
			t.Error("rules without a rule were taken")
		}
	})
}

func TestDue(t *testing.T) {
	k := Keep{Months: 24}
	for _, c := range []struct {
		date, today string
		want        bool
	}{
		{"2031-03-07", "2033-03-30", false},
		{"2031-03-07", "2033-03-31", true},
		{"2031-03-31", "2033-03-30", false},
		{"2031-03-31", "2033-03-31", true},
		{"2031-03", "2033-03-30", false},
		{"2031-03", "2033-03-31", true},
		{"", "2099-01-01", false},
		{"other", "2099-01-01", false},
	} {
		if got := k.due(c.date, day(t, c.today)); got != c.want {
			t.Errorf("a flight of %q is due on %s: %t", c.date, c.today, got)
		}
	}
	if (Keep{}).due("1999-01-01", day(t, "2099-01-01")) {
		t.Error("without a rule something is due")
	}
}

// reviewed is a night of its own with reviews.
func reviewed(t *testing.T) *archive.Archive {
	t.Helper()
	a, err := buildNight(filepath.Join(t.TempDir(), "archive"))
	if err != nil {
		t.Fatal(err)
	}
	var entries []archive.Review
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Attempts {
			at := &s.Attempts[i]
			for _, e := range at.Events {
				entries = append(entries, archive.Review{
					Time: "2031-03-09T08:00:00Z", Decision: archive.NuisanceEvent, Reason: "seen with " + s.Flight.Tail, Event: at.ID, Kind: e.Kind, Check: e.Check,
					EventPlace: archive.EventPlace{Tail: s.Flight.Tail, Recording: s.Recording.SHA256, At: at.Onset.At, UTC: at.Onset.UTC},
				})
			}
		}
	}
	if err := a.AddReviews(entries); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(a.Path("index.html"), []byte("ZZ-Q01 of 2031-03-07"), 0o600); err != nil {
		t.Fatal(err)
	}
	return a
}

func retention(t *testing.T, a *archive.Archive, today string) Retention {
	t.Helper()
	census, err := CensusOf(a, nil)
	if err != nil {
		t.Fatal(err)
	}
	return Retention{
		Archive: a, Cover: Cover{Key: testKey(t, 6), Groups: census.Groups(5), Places: true}, Versions: nightVersions, Today: day(t, today), Page: plainPage,
		Failed: func(folder string, err error) { t.Errorf("%s: %v", folder, err) },
	}
}

const retainRules = "keep full 24 months\nkeep reduced 60 months\n"

func planFor(t *testing.T, a *archive.Archive, rules, today string) []Step {
	t.Helper()
	r, err := ParseRules("rules.txt", rules)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := Plan(a, r, day(t, today))
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// outcomes counts the attempts by outcome and the findings by check and state.
func outcomes(t *testing.T, a *archive.Archive) map[string]int {
	t.Helper()
	n := map[string]int{}
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		n["flights"]++
		for i := range s.Attempts {
			n[s.Attempts[i].Outcome]++
			for _, f := range s.Attempts[i].Findings {
				n[f.Check+" "+f.State]++
			}
		}
	}
	return n
}

// TestRetain takes a night through its whole life: full, reduced, counted.
func TestRetain(t *testing.T) {
	a := reviewed(t)
	words := &Words{}
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		s.Profile.SHA256 = "" // the profile is no flight's and stays
		words.Add(s)
	}
	if plan := planFor(t, a, retainRules, "2033-03-30"); len(plan) > 0 {
		t.Errorf("a day early, %d flights are due", len(plan))
	}
	plan := planFor(t, a, retainRules, "2033-03-31")
	if len(plan) != 46 || plan[0].Action != Reduce || plan[0].Rule != "rules.txt:1: keep full 24 months" {
		t.Fatalf("%d steps, %+v", len(plan), plan[0])
	}
	before := outcomes(t, a)
	if err := retention(t, a, "2033-03-31").Apply(context.Background(), plan); err != nil {
		t.Fatal(err)
	}
	sameCounts(t, before, outcomes(t, a))
	noWords(t, a, words)
	reviews, err := a.Reviews()
	if err != nil || reviews.Whole() != nil || len(reviews.Lines) == 0 || !strings.Contains(reviews.Notes[0], "begins anew") {
		t.Fatalf("reviews: %v %v %v", err, reviews.Whole(), reviews.Notes)
	}
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		if !Reduced(&s) || Month(s.Flight.Date) != "2031-03" {
			t.Errorf("%s is %+v", s.Flight.Folder, s.Flight)
		}
		for i := range s.Attempts {
			at := &s.Attempts[i]
			for _, e := range at.Events {
				p := archive.EventPlace{Tail: s.Flight.Tail, Recording: s.Recording.SHA256, At: at.Onset.At}
				if got := reviews.Decision(p, e.Kind, e.Check); got != archive.NuisanceEvent {
					t.Errorf("the decision on %s %s is lost: %q", at.ID, e.Check, got)
				}
			}
		}
		if _, err := Load(a, s); err != nil {
			t.Error(err)
		}
	}
	run, err := a.ReadRun("night")
	if err != nil || len(run.Recordings) != 46 {
		t.Fatalf("%v, %d lines", err, len(run.Recordings))
	}
	// The night of the run, and the morning of a review, are the day of the
	// flight all but told.
	if run.Started != "2031-03-01T00:00:01Z" || run.Finished != run.Started {
		t.Errorf("the run is of %s to %s", run.Started, run.Finished)
	}
	for _, l := range reviews.Lines {
		if l.Time != "2031-03-01T00:00:00Z" || strings.Contains(l.Reason, "ZZ-") {
			t.Fatalf("a review still says %+v", l)
		}
	}
	if again := planFor(t, a, retainRules, "2033-03-31"); len(again) > 0 {
		t.Errorf("%d flights are due again", len(again))
	}
	counted(t, a, before)
	if log := mustRead(t, a.Path(RetentionFile)); strings.Count(string(log), "\n") != 93 {
		t.Errorf("the log has %d lines, 46 flights went twice and the counts have one", strings.Count(string(log), "\n"))
	}
}

// counted goes on with the reduced archive to the day of counts.
func counted(t *testing.T, a *archive.Archive, before map[string]int) {
	if plan := planFor(t, a, retainRules, "2036-03-30"); len(plan) > 0 {
		t.Errorf("%d flights are due before the end of their month", len(plan))
	}
	if err := retention(t, a, "2036-03-31").Apply(context.Background(), planFor(t, a, retainRules, "2036-03-31")); err != nil {
		t.Fatal(err)
	}
	totals, err := ReadTotals(a)
	if err != nil || len(totals.Pending) > 0 {
		t.Fatalf("%v, pending %q", err, totals.Pending)
	}
	after := map[string]int{}
	for _, c := range totals.Flights {
		after["flights"] += c.Flights
		after["airborne"] += c.Airborne
	}
	for _, c := range totals.Checks {
		after[c.Check+" within limits"] += c.Within
		after[c.Check+" out of limits"] += c.Outside
		after[c.Check+" cannot be told"] += c.Untold
	}
	for name, n := range before {
		if strings.Contains(name, "reject") || strings.Contains(name, "touch") || strings.Contains(name, "undeter") {
			continue // counted together
		}
		if after[name] != n {
			t.Errorf("%s: %d counted, there were %d", name, after[name], n)
		}
	}
	if left := outcomes(t, a); left["flights"] != 0 {
		t.Errorf("%d flights are left", left["flights"])
	}
}

func sameCounts(t *testing.T, before, after map[string]int) {
	t.Helper()
	for name, n := range before {
		if after[name] != n {
			t.Errorf("%s: %d, there were %d", name, after[name], n)
		}
	}
}

// noWords greps the archive, names and decoded tables and clips included.
func noWords(t *testing.T, a *archive.Archive, words *Words) {
	t.Helper()
	err := filepath.WalkDir(a.Dir(), func(p string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(a.Dir(), p)
		text := []byte(rel)
		if !d.IsDir() {
			text = append(text, mustRead(t, p)...)
		}
		if filepath.Ext(p) == ".parquet" {
			text = append(text, decoded(t, p)...)
		}
		if found := words.In(text); len(found) > 0 && !strings.HasPrefix(rel, "profiles") {
			t.Errorf("%s still holds %q", rel, found)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestHold(t *testing.T) {
	a := night(t)
	var first archive.Summary
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		first = s
		break
	}
	id := first.Attempts[0].ID
	kept := func(rules string) (n int) {
		for _, s := range planFor(t, a, rules, "2033-03-31") {
			if s.Action == Keeping {
				n++
				if s.Folder != first.Flight.Folder || !strings.Contains(s.Rule, "case 12") {
					t.Errorf("%+v", s)
				}
			}
		}
		return n
	}
	if n := kept(retainRules + "hold " + id + " case 12\n"); n != 1 {
		t.Errorf("%d flights are held", n)
	}
	if n := kept(retainRules + "hold " + id + " until 2033-03-31 case 12\n"); n != 0 {
		t.Errorf("%d flights are held on the day on which the hold ends", n)
	}
	r, err := ParseRules("r", retainRules+"hold 000000000000-1 case 12\n")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Plan(a, r, day(t, "2033-03-31")); err == nil || !strings.Contains(err.Error(), "r:3") {
		t.Errorf("a hold of nothing was taken: %v", err)
	}
}

// TestRetainAfterFailure: a disk that fails in the middle leaves an archive
// that the same command brings to the same end.
func TestRetainAfterFailure(t *testing.T) {
	for _, in := range []string{RetentionFile, archive.HeadFile(RetentionFile), "index.html", aggregateChecks, archive.HeadFile(archive.ReviewsFile)} {
		a := reviewed(t)
		before := outcomes(t, a)
		folders := planFor(t, a, retainRules, "2040-01-01")
		// A folder where a file is to be written makes the write fail.
		block := a.Path(in)
		if err := os.RemoveAll(block); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(block, 0o755); err != nil {
			t.Fatal(err)
		}
		today := "2040-01-01" // straight to counts, the worst case to count twice
		r := retention(t, a, today)
		err := r.Apply(context.Background(), planFor(t, a, retainRules, today))
		if err == nil {
			t.Errorf("%s: nothing failed", in)
		}
		if err := os.RemoveAll(block); err != nil {
			t.Fatal(err)
		}
		if err := retention(t, a, today).Apply(context.Background(), planFor(t, a, retainRules, today)); err != nil {
			t.Fatalf("%s: again: %v", in, err)
		}
		counted(t, a, before)
		logged(t, in, a, len(folders))
	}
}

// logged demands that the log has a line for each flight that was counted, and
// one at its end that holds the counts as they lie there.
func logged(t *testing.T, name string, a *archive.Archive, flights int) {
	t.Helper()
	log, chain, err := ReadRetention(a)
	if err != nil || chain.Whole() != nil {
		t.Fatalf("%s: the log: %v, %v", name, err, chain.Whole())
	}
	n := map[string]int{}
	for _, g := range log {
		n[g.Action]++
	}
	if n[Aggregate] != flights || n[Counted] != 1 || log[len(log)-1].Action != Counted {
		t.Errorf("%s: %d flights went, the log has %v", name, flights, n)
	}
	if v, err := Verify(a, VerifyOptions{}); err != nil || len(v.Differences) > 0 {
		t.Errorf("%s: %v, %v", name, v.Differences, err)
	}
}
