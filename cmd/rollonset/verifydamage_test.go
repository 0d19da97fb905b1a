package main

import (
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/report/archive"
	"rollonset/report/evidence"
)

// TestVerifyTellsDamage does to an archive what disks and hands do, one thing
// at a time, and reads what verify says. What is no damage is a note.
func TestVerifyTellsDamage(t *testing.T) {
	dir := fullArchive(t)
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	var folders []string
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		if s.Clip != nil {
			folders = append(folders, s.Flight.Folder)
		}
	}
	first, second := folders[0], folders[1]
	s, err := a.Read(first)
	if err != nil {
		t.Fatal(err)
	}
	runs, err := a.Runs()
	if err != nil || len(runs) != 1 {
		t.Fatalf("runs %v, %v", runs, err)
	}
	key := path.Join("keys", s.Key[:2], s.Key)
	in := func(folder, file string) string { return path.Join(folder, file) }
	for name, c := range map[string]struct {
		file   string // that is changed
		become string // content of another file of the archive, or text; "" to remove it
		where  string // of the difference, "" for a note alone
		what   string
	}{
		"a summary gone":                {in(first, "summary.json"), "", in(first, "summary.json"), "is missing; a run recorded it"},
		"a clip gone":                   {in(first, "clip.parquet"), "", in(first, "clip.parquet"), "cannot be read"},
		"a page gone":                   {in(first, "summary.html"), "", in(first, "summary.html"), "is missing; a run recorded that it was written"},
		"the clip of another":           {in(first, "clip.parquet"), in(second, "clip.parquet"), in(first, "clip.parquet"), "its summary says " + s.Clip.SHA256},
		"the summary of another":        {in(first, "summary.json"), in(second, "summary.json"), in(first, "summary.json"), "the run record says"},
		"a summary cut off":             {in(first, "summary.json"), "{", in(first, "summary.json"), "the run record says"},
		"a profile gone":                {"profiles/" + s.Profile.SHA256 + ".yaml", "", "profiles/" + s.Profile.SHA256 + ".yaml", "was judged with it"},
		"a table gone":                  {archive.TablePath(archive.FindingsTable, runs[0]), "", archive.TablePath(archive.FindingsTable, runs[0]), "cannot be read"},
		"one table for another":         {archive.TablePath(archive.FindingsTable, runs[0]), archive.TablePath(archive.AttemptsTable, runs[0]), archive.TablePath(archive.FindingsTable, runs[0]), "has the hash"},
		"a run record cut off":          {"runs/" + runs[0] + ".json", "{}\n", "runs/" + runs[0] + ".json", "ends without its hash"},
		"a key that leads astray":       {key, in(second, ""), key, "the flight of that key lies in " + first},
		"a key of nothing":              {"keys/00/" + strings.Repeat("0", 64), "flights/undated/x\n", "keys/00/" + strings.Repeat("0", 64), "holds no result of that key"},
		"a key left empty":              {key, "\x00", "", "counts for nothing"},
		"reviews that no run saw, gone": {archive.ReviewsFile, "", archive.ReviewsFile, "lines are missing or were exchanged"},
		"the head of reviews gone":      {archive.HeadFile(archive.ReviewsFile), "", archive.HeadFile(archive.ReviewsFile), "is missing"},
		"a head of nothing":             {archive.HeadFile(archive.ReviewsFile), "0 " + archive.HashOf([]byte("x")) + "\n", archive.HeadFile(archive.ReviewsFile), "does not hold"},
		"a head of another chain":       {archive.HeadFile(evidence.RetentionFile), archive.HeadFile(archive.ReviewsFile), evidence.RetentionFile, "lines are missing or were exchanged"},
		"reviews of a line":             {archive.ReviewsFile, "{}\n", archive.ReviewsFile, "line 1 ends without its hash"},
		"a review cut off":              {archive.ReviewsFile, "{\"schema\":1", archive.ReviewsFile, "line 1 has no end"},
		"a file of nobody":              {in(first, "notes.txt"), "x", "", "the program writes no such file"},
		"a writer stopped":              {in(first, ".summary.html.123.tmp"), "x", "", "a writer that was stopped left it"},
		"README.txt gone":               {"README.txt", "", "README.txt", "is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			old, had := os.ReadFile(a.Path(c.file))
			change(t, a, c.file, c.become)
			v, err := evidence.Verify(a, evidence.VerifyOptions{})
			if err != nil {
				t.Fatal(err)
			}
			switch {
			case c.where != "":
				if !slices.ContainsFunc(v.Differences, func(d evidence.Difference) bool { return d.Where == c.where && strings.Contains(d.What, c.what) }) {
					t.Errorf("not told: %s %s; told: %v", c.where, c.what, v.Differences)
				}
			case len(v.Differences) > 0:
				t.Errorf("told as a difference: %v", v.Differences)
			case c.what != "" && !slices.ContainsFunc(v.Notes, func(n string) bool { return strings.Contains(n, c.what) }):
				t.Errorf("no note %q: %v", c.what, v.Notes)
			}
			if had != nil {
				if err := os.Remove(a.Path(c.file)); err != nil {
					t.Fatal(err)
				}
			} else if err := os.WriteFile(a.Path(c.file), old, 0o640); err != nil {
				t.Fatal(err)
			}
		})
	}
	// The text of another version of the program, recorded by its run, is none.
	change(t, a, "README.txt", "An archive of another version.\n")
	run, err := a.ReadRun(runs[0])
	if err != nil {
		t.Fatal(err)
	}
	if run.Fixed, err = a.FixedHashes(); err != nil {
		t.Fatal(err)
	}
	if err := a.WriteRun(run); err != nil {
		t.Fatal(err)
	}
	if v, err := evidence.Verify(a, evidence.VerifyOptions{}); err != nil || len(v.Differences) > 0 {
		t.Errorf("after all was put back: %v, %v", v, err)
	}
}

// change puts the content of another file, or a text, in place of a file. A
// zero byte stands for no content at all.
func change(t *testing.T, a *archive.Archive, file, become string) {
	t.Helper()
	if become == "" {
		if err := os.Remove(a.Path(file)); err != nil {
			t.Fatal(err)
		}
		return
	}
	text, err := os.ReadFile(a.Path(become))
	switch {
	case become == "\x00":
		text = nil
	case err != nil:
		text = []byte(become)
	}
	if err := os.MkdirAll(filepath.Dir(a.Path(file)), 0o750); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(a.Path(file), text, 0o640); err != nil {
		t.Fatal(err)
	}
}
