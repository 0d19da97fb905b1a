package batch

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
	"rollonset/report/archive"
)

// again runs a job over copies of two recordings, one good and one damaged.
type again struct {
	t    *testing.T
	job  Job
	now  time.Time
	good string
	bad  string
}

func newAgain(t *testing.T) *again {
	t.Helper()
	root := filepath.Join("..", "..", "..", "sampledata")
	profiles, err := profile.LoadDir(filepath.Join(root, "fleet"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	const name = "20310307T052251_ZZ-J08_MRW107.csv"
	text, err := os.ReadFile(filepath.Join(root, "night", "recordings", name))
	if err != nil {
		t.Fatal(err)
	}
	a := &again{t: t, now: time.Date(2031, 3, 8, 2, 0, 0, 0, time.UTC), good: filepath.Join(dir, name), bad: filepath.Join(dir, "strange.csv")}
	a.write(a.good, string(text))
	a.write(a.bad, "alpha,beta\n1,2\n")
	store, err := archive.Create(filepath.Join(dir, "archive"))
	if err != nil {
		t.Fatal(err)
	}
	a.job = Job{
		Recordings: []string{a.good, a.bad}, Profiles: profiles, Archive: store, Workers: 2, Pages: EventPages,
		Versions: archive.Versions{Detection: "one", Program: "one"},
		Clock:    func() time.Time { a.now = a.now.Add(time.Second); return a.now },
	}
	return a
}

func (a *again) write(file, text string) {
	a.t.Helper()
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		a.t.Fatal(err)
	}
}

// run says of both recordings what became of them and why.
func (a *again) run() (run archive.Run, good, bad archive.RecordingLine) {
	a.t.Helper()
	run, results, err := Run(context.Background(), a.job, Observer{})
	if err != nil || len(results) != 2 {
		a.t.Fatalf("%d results, %v", len(results), err)
	}
	for _, r := range results {
		if r.File == a.good {
			good = r.RecordingLine
		} else {
			bad = r.RecordingLine
		}
	}
	return run, good, bad
}

func TestUnreadableIsNotReadAgain(t *testing.T) {
	a := newAgain(t)
	first, _, bad := a.run()
	if bad.Status != Unreadable || bad.Tried == "" || bad.Since != "" || bad.Again != "" || first.Counts.Unchanged != 0 {
		t.Fatalf("first: %+v", bad)
	}
	problem := bad.Problem

	// Nothing changed: the same answer, as often as one asks.
	for range 2 {
		run, good, bad := a.run()
		if good.Status != Skipped || bad.Status != Unreadable || bad.Problem != problem || bad.Since != first.ID || bad.Again != "" {
			t.Errorf("unchanged: %+v", bad)
		}
		if run.Counts.Unreadable != 1 || run.Counts.Unchanged != 1 || run.Counts.Again != 0 {
			t.Errorf("unchanged: %+v", run.Counts)
		}
	}

	changes := []struct {
		name string
		do   func()
	}{
		{"program", func() { a.job.Versions.Program = "two" }},
		{"profile", func() { a.job.Profiles = a.job.Profiles[:2] }},
		{"bytes", func() { a.write(a.bad, "alpha,beta\n1,3\n") }},
		{"flight list", func() {
			a.job.Flights = &ingest.FlightList{Entries: []ingest.FlightEntry{{File: "strange.csv", Tail: "ZZ-J08"}}}
		}},
		{"limits", func() { a.job.Limits = table.DefaultLimits() }},
	}
	for _, c := range changes {
		c.do()
		run, _, bad := a.run()
		if bad.Status != Unreadable || bad.Since != "" || bad.Again != AgainUnreadable || bad.Tried == "" || run.Counts.Again == 0 {
			t.Errorf("%s changed: %+v", c.name, bad)
		}
		if _, _, bad := a.run(); bad.Since == "" {
			t.Errorf("%s stays: %+v", c.name, bad)
		}
	}

	// Mended.
	text, err := os.ReadFile(a.good)
	if err != nil {
		t.Fatal(err)
	}
	a.write(a.bad, strings.TrimSuffix(string(text), "\n"))
	if _, _, bad := a.run(); bad.Status != Processed || bad.Again != AgainUnreadable {
		t.Errorf("mended: %+v", bad)
	}
}

// Errors that may pass by themselves are not remembered.
func TestPassingErrorsAreTriedAgain(t *testing.T) {
	a := newAgain(t)
	r, err := newRunner(a.job, Observer{})
	if err != nil {
		t.Fatal(err)
	}
	before, err := os.Stat(a.bad)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		why  error
		want bool
	}{
		"a fact of the file":         {&table.Error{File: a.bad, Cause: "it ends in a page"}, true},
		"a fact of the recording":    {&ingest.Error{File: a.bad, Cause: "no profile"}, true},
		"the disk":                   {&table.Error{File: a.bad, Cause: "it cannot be read", Err: &fs.PathError{Op: "read", Path: a.bad, Err: syscall.EIO}}, false},
		"the program":                {errors.New("the program failed"), false},
		"the system, without a path": {&table.Error{File: a.bad, Cause: "no memory", Err: syscall.ENOMEM}, false},
	} {
		var res Result
		r.remember(a.bad, before, c.why, &res)
		if (res.Tried != "") != c.want {
			t.Errorf("%s: remembered %v", name, !c.want)
		}
	}
	a.write(a.bad, "alpha,beta\n1,2\n3,4\n")
	var res Result
	if r.remember(a.bad, before, &table.Error{Cause: "it ends in a line"}, &res); res.Tried != "" {
		t.Error("a file that was being written is remembered")
	}
}

func TestDoneAgainSaysWhy(t *testing.T) {
	a := newAgain(t)
	plan := func(v string) *ingest.FlightList {
		return &ingest.FlightList{Entries: []ingest.FlightEntry{{File: filepath.Base(a.good), Tail: "ZZ-J08", Runway: v}}}
	}
	changed := commented(t, "# changed\n")
	steps := []struct {
		name, want string
		do         func()
	}{
		{"first", "", func() {}},
		{"same", "", func() {}},
		{"list given", AgainEntryNew, func() { a.job.Flights = plan("09") }},
		{"other entry", AgainEntryChanged, func() { a.job.Flights = plan("27") }},
		{"without list", AgainEntryGone, func() { a.job.Flights = nil }},
		{"detection", AgainDetection, func() { a.job.Versions.Detection = "two" }},
		{"profile", AgainProfile, func() { a.job.Profiles = changed }},
		{"both", AgainBoth, func() { a.job.Profiles, a.job.Versions.Detection = commented(t, "# changed twice\n"), "three" }},
		{"page", AgainPage, func() { a.dropPages() }},
	}
	for _, s := range steps {
		s.do()
		run, good, _ := a.run()
		if good.Again != s.want || (good.Status == Processed) != (s.want != "" || s.name == "first") {
			t.Errorf("%s: %s, %q, want %q", s.name, good.Status, good.Again, s.want)
		}
		n := 0
		for _, l := range run.Recordings {
			if l.Again != "" {
				n++
			}
		}
		if run.Counts.Again != n {
			t.Errorf("%s: counts %d done again, %d are", s.name, run.Counts.Again, n)
		}
	}
}

// commented are the profiles of the fleet with a comment more, which changes
// their hash and nothing else.
func commented(t *testing.T, comment string) []*profile.Profile {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "..", "sampledata", "fleet", "*.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	dir := t.TempDir()
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(f)), append(text, comment...), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	profiles, err := profile.LoadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	return profiles
}

// dropPages removes the pages of all flights.
func (a *again) dropPages() {
	a.t.Helper()
	for folder, err := range a.job.Archive.Folders() {
		if err != nil {
			a.t.Fatal(err)
		}
		if err := os.Remove(a.job.Archive.Path(folder + "/" + archive.PageFile)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			a.t.Fatal(err)
		}
	}
}
