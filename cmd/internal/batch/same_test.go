package batch

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
)

// Without a tail in its name the folder of this flight is named after its file.
// Of the same bytes under two names the first base name is kept, which here
// comes last in path order: the flight moves while the run goes on, and the
// record and the tables must tell of it where it then lies.
func TestSameBytesUnderTwoNames(t *testing.T) {
	a := newAgain(t)
	text, err := os.ReadFile(a.good)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	a.job.Recordings = []string{filepath.Join(dir, "z.csv"), filepath.Join(dir, "zz", "b.csv")}
	if err := os.Mkdir(filepath.Join(dir, "zz"), 0o700); err != nil {
		t.Fatal(err)
	}
	for _, file := range a.job.Recordings {
		a.write(file, string(text))
	}
	var first []archive.RecordingLine
	for _, workers := range []int{1, 2} {
		if a.job.Archive, err = archive.Create(filepath.Join(t.TempDir(), "archive")); err != nil {
			t.Fatal(err)
		}
		a.job.Workers = workers
		run, results, err := Run(context.Background(), a.job, Observer{})
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range []string{Processed, Duplicate} {
			line := results[i].RecordingLine
			if line.Status != want || line.Folder != "flights/2031/03/07/b-0522-"+line.Key[:8] {
				t.Errorf("%d workers: %s is %s in %s, want %s in the folder of b.csv", workers, line.File, line.Status, line.Folder, want)
			}
			if hash, err := a.job.Archive.HashFile(line.Folder + "/" + archive.SummaryFile); err != nil || hash != line.Summary {
				t.Errorf("%d workers: the line of %s has the hash %s of the summary, which has %s (%v)", workers, line.File, line.Summary, hash, err)
			}
		}
		if found, err := a.job.Archive.CheckTables(run.ID, a.job.Archive.Summaries(), nil); err != nil || len(found) > 0 {
			t.Errorf("%d workers: the tables differ from the flights: %v, %v", workers, found, err)
		}
		if first == nil {
			first = run.Recordings
		} else if d := cmp.Diff(first, run.Recordings); d != "" {
			t.Errorf("two workers recorded something else than one:\n%s", d)
		}
	}
}
