package archive

import (
	"errors"
	"iter"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// viewed are recordings of two aircraft; the second was judged under two profiles.
func viewed(t *testing.T) (first, old, latest Summary) {
	t.Helper()
	first = Summarise(testAssessment(), versions)
	old = Summarise(testAssessment(), versions)
	old.Key, old.Recording.SHA256 = strings.Repeat("b", 64), strings.Repeat("22", 32)
	old.Flight.Folder = "flights/2031/03/07/b-old"
	latest = Summarise(testAssessment(), versions)
	latest.Key, latest.Recording.SHA256 = strings.Repeat("c", 64), strings.Repeat("22", 32)
	latest.Flight.Folder, latest.Profile.Version = "flights/2031/03/07/c-latest", "2031-2"
	for _, s := range []*Summary{&old, &latest} {
		s.Flight.Tail = "ZZ-Q18" // the same minute on another aircraft
		for i := range s.Attempts {
			s.Attempts[i].ID = AttemptID(s.Key, i+1)
		}
	}
	return first, old, latest
}

func each(summaries ...Summary) iter.Seq2[Summary, error] {
	return func(yield func(Summary, error) bool) {
		for _, s := range summaries {
			if !yield(s, nil) {
				return
			}
		}
	}
}

func writeRun(t *testing.T, a *Archive, id, started string, summaries ...Summary) {
	t.Helper()
	if _, err := a.WriteTables(id, each(summaries...)); err != nil {
		t.Fatal(err)
	}
	if started != "" {
		if err := a.WriteRun(Run{ID: id, Started: started}); err != nil {
			t.Fatal(err)
		}
	}
}

// rowsOf are the rows that the view must have for summaries.
func rowsOf(summaries ...Summary) (findings []FindingView, attempts []AttemptView) {
	for _, s := range summaries {
		f := flightColumns(&s)
		for i := range s.Attempts {
			attempts = append(attempts, attemptViewOf(attemptRow(f, &s.Attempts[i])))
			for j := range s.Attempts[i].Findings {
				findings = append(findings, findingViewOf(findingRow(f, &s.Attempts[i], &s.Attempts[i].Findings[j])))
			}
		}
	}
	return findings, attempts
}

func all[T any](t *testing.T, rows iter.Seq2[T, error]) []T {
	t.Helper()
	var out []T
	for r, err := range rows {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, r)
	}
	return out
}

func holdView(t *testing.T, v *View, summaries ...Summary) {
	t.Helper()
	findings, attempts := rowsOf(summaries...)
	if diff := cmp.Diff(findings, all(t, v.Findings()), cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("findings (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(attempts, all(t, v.Attempts()), cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("attempts (-want +got):\n%s", diff)
	}
}

func newView(t *testing.T, a *Archive) *View {
	t.Helper()
	v, err := a.View()
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestViewHasEachRecordingOnceUnderItsLatestResult(t *testing.T) {
	first, old, latest := viewed(t)
	a, err := Create(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	// The names of the runs are the other way round than their starts.
	writeRun(t, a, "zz-first", "2031-03-08T02:00:00Z", first, old)
	writeRun(t, a, "mm-again", "2031-03-09T02:00:00Z", first)
	writeRun(t, a, "aa-later", "2031-03-10T02:00:00Z", latest)
	v := newView(t, a)
	holdView(t, v, first, latest)
	if v.Recordings != 2 || v.Superseded != 1 || v.Repeated != 1 || len(v.Loose()) != 0 {
		t.Errorf("recordings %d, superseded %d, repeated %d, loose %q", v.Recordings, v.Superseded, v.Repeated, v.Loose())
	}
	// What was read once is read the same again, and reading may end early.
	for range v.Findings() {
		break
	}
	holdView(t, v, first, latest)
}

func TestViewReadsWhatNoTableKnows(t *testing.T) {
	a, err := Create(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	asm := testAssessment()
	s, err := a.Publish(asm, versions, nil)
	if err != nil {
		t.Fatal(err)
	}
	v := newView(t, a)
	if len(v.Loose()) != 1 || v.Loose()[0] != s.Flight.Folder {
		t.Fatalf("loose %q, want the folder of the flight", v.Loose())
	}
	holdView(t, v, s)
	writeRun(t, a, "now", "", s)
	if v = newView(t, a); len(v.Loose()) != 0 {
		t.Errorf("loose %q after the tables were written", v.Loose())
	}
	holdView(t, v, s)
}

func TestViewNamesTheTableThatCannotBeRead(t *testing.T) {
	first, _, _ := viewed(t)
	for _, table := range []string{RecordingsTable, FindingsTable} {
		a, err := Create(t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		writeRun(t, a, "r", "", first)
		file := a.Path(TablePath(table, "r"))
		if err := os.Truncate(file, 300); err != nil {
			t.Fatal(err)
		}
		v, err := a.View()
		if err == nil {
			for _, e := range v.Findings() {
				err = errors.Join(err, e)
			}
		}
		if err == nil || !strings.Contains(err.Error(), file) || !strings.Contains(err.Error(), "process") {
			t.Errorf("%s: error %v, want the file and what to do", table, err)
		}
	}
}

// TestDamagedFooterIsAnError: whatever the last bytes of a table became, and
// wherever it was cut off, there is an error with its name and no panic.
func TestDamagedFooterIsAnError(t *testing.T) {
	first, _, _ := viewed(t)
	a, err := Create(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	writeRun(t, a, "r", "", first)
	file := a.Path(TablePath(RecordingsTable, "r"))
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var damaged [][]byte
	for i := 1; i <= 8; i++ {
		text := append([]byte(nil), whole...)
		text[len(text)-i] ^= 0xff
		damaged = append(damaged, text)
	}
	for cut := 0; cut < len(whole); cut += 97 {
		damaged = append(damaged, whole[:cut])
	}
	for _, text := range damaged {
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := a.View(); err == nil || !strings.Contains(err.Error(), file) {
			t.Errorf("%d of %d bytes: error %v, want one with the name of the table", len(text), len(whole), err)
		}
	}
}

func TestEmptyArchiveHasAnEmptyView(t *testing.T) {
	a, err := Create(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	holdView(t, newView(t, a))
}
