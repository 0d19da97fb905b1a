package archive

import (
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/detect"
)

// three publishes three flights, out of order, and a folder that was being
// written when the program was killed.
func three(t *testing.T) (*Archive, []Summary) {
	t.Helper()
	a := create(t)
	undated := other("MA12", "", "cd")
	undated.Recording.Start = undated.Recording.Start.AddDate(-9999, 0, 0)
	for _, asm := range []*detect.Assessment{undated, other("MA30", "2031-03-08", "ef"), other("MA12", "2031-03-07", "ab")} {
		publish(t, a, asm)
	}
	if err := os.MkdirAll(a.Path("flights/2031/03/07/half-00000000"), 0o750); err != nil {
		t.Fatal(err)
	}
	var out []Summary
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return a, out
}

func TestSummariesInOrder(t *testing.T) {
	_, got := three(t)
	var folders []string
	for _, s := range got {
		folders = append(folders, s.Flight.Folder[:strings.LastIndexByte(s.Flight.Folder, '-')])
	}
	want := []string{"flights/2031/03/07/ZZ-Q17-MA12-0411", "flights/2031/03/08/ZZ-Q17-MA30-0411", "flights/undated/MA12"}
	if diff := cmp.Diff(want, folders); diff != "" {
		t.Error(diff)
	}
}

func TestReadRefuses(t *testing.T) {
	a := create(t)
	s := publish(t, a, testAssessment())
	file := a.Path(path.Join(s.Flight.Folder, SummaryFile))
	good := content(t, file)
	for name, c := range map[string]struct{ from, to, want string }{
		"a newer layout":  {`"schema": 1`, `"schema": 7`, "layout 7 is not known to this program, which knows 1"},
		"no layout":       {`"schema": 1,`, ``, "layout 0 is not known"},
		"a field unknown": {`"caution"`, `"cautoin"`, "unknown field"},
		"another folder":  {s.Flight.Folder, "flights/undated/x", "must not be renamed"},
		"half a file":     {"\n}\n", "", "not readable"},
	} {
		t.Run(name, func(t *testing.T) {
			if err := os.WriteFile(file, []byte(strings.Replace(good, c.from, c.to, 1)), 0o640); err != nil {
				t.Fatal(err)
			}
			if _, err := a.Read(s.Flight.Folder); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), file) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
	for _, folder := range []string{"../x", "flights", "flights/2031/03/07/..", "/etc", "flights/2031/03/07/.x"} {
		if _, err := a.Read(folder); err == nil || !strings.Contains(err.Error(), "no flight folder") {
			t.Errorf("%s: error %v", folder, err)
		}
	}
}

func TestFind(t *testing.T) {
	a, all := three(t)
	s := all[0]
	outside, err := filepath.Rel(must(os.Getwd()), a.Path(s.Flight.Folder))
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		text    string
		attempt int
	}{
		"folder":               {s.Flight.Folder, 0},
		"below flights":        {strings.TrimPrefix(s.Flight.Folder, "flights/"), 0},
		"path":                 {a.Path(s.Flight.Folder), 0},
		"path from here":       {outside, 0},
		"path of the page":     {filepath.Join(a.Path(s.Flight.Folder), PageFile), 0},
		"key":                  {s.Key, 0},
		"start of the key":     {s.Key[:6], 0},
		"attempt ID":           {s.Attempts[1].ID, 2},
		"key and attempt":      {s.Key + "-1", 1},
		"short key and number": {s.Key[:8] + "-2", 2},
		"name of the folder":   {path.Base(s.Flight.Folder), 0},
		"part of the name":     {"Q17-MA12", 0},
		"file name":            {"MA12.csv", -1},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := a.Find(c.text)
			if c.attempt < 0 { // the undated flight has a file of the same name
				if err == nil || !strings.Contains(err.Error(), "fits 2 flights: "+s.Flight.Folder+", "+all[2].Flight.Folder) {
					t.Errorf("error %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			number := 0
			if got.Attempt != nil {
				number = got.Attempt.Number
			}
			if got.Summary.Key != s.Key || number != c.attempt {
				t.Errorf("found %s attempt %d", got.Summary.Flight.Folder, number)
			}
		})
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func TestFindRefuses(t *testing.T) {
	a, all := three(t)
	for text, want := range map[string]string{
		"ZZ-Q17":              "fits 2 flights",
		all[0].Key[:8] + "-9": "has no attempt 9; it has " + all[0].Attempts[0].ID + ", " + all[0].Attempts[1].ID,
		"ZZ-Q17-MA13-0411":    "nearest: " + path.Base(all[0].Flight.Folder) + ", ",
		"":                    "nothing in",
		"../../etc/passwd":    "nothing in",
		"[a-z]*":              "nothing in",
	} {
		if _, err := a.Find(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want %q", text, err, want)
		}
	}
	if _, err := create(t).Find("x"); err == nil || !strings.Contains(err.Error(), "there is none at all") {
		t.Errorf("error %v", err)
	}
}

// Without the lookup a key is found by the names of the folders.
func TestFindWithoutLookup(t *testing.T) {
	a, all := three(t)
	if err := os.RemoveAll(a.Path(keysDir)); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{all[1].Key, all[1].Key[:7], all[1].Attempts[0].ID} {
		if got, err := a.Find(text); err != nil || got.Summary.Key != all[1].Key {
			t.Errorf("%s: found %s, %v", text, got.Summary.Flight.Folder, err)
		}
	}
}

func TestEdits(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"", "abc", 3}, {"kitten", "sitting", 3}, {"MA12", "MA21", 2}, {"a", strings.Repeat("b", 1000), longest}} {
		if got := edits(c.a, c.b); got != c.want {
			t.Errorf("edits(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestRuns(t *testing.T) {
	a := create(t)
	want := Run{
		Schema: 1, ID: "20310308T020000Z", Started: "2031-03-08T02:00:00Z", Command: []string{"process"},
		Recordings: []RecordingLine{{File: "<x>.csv", Status: "unreadable", Problem: "empty"}},
	}
	if err := a.WriteRun(want); err != nil {
		t.Fatal(err)
	}
	got, err := a.ReadRun(want.ID)
	if err != nil {
		t.Fatal(err)
	}
	want.SHA256 = got.SHA256
	if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
		t.Error(diff)
	}
	file := a.Path(runPath(want.ID))
	if err := CheckRun([]byte(content(t, file))); err != nil {
		t.Errorf("%s %v", file, err)
	}
	if strings.Contains(content(t, file), "null") {
		t.Errorf("%s has a null list", file)
	}
	if ids, err := a.Runs(); err != nil || !slices.Equal(ids, []string{want.ID}) {
		t.Errorf("runs %v, %v", ids, err)
	}
	if _, err := a.ReadRun("20310308"); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "nearest: "+want.ID) {
		t.Errorf("error %v", err)
	}
	for _, id := range []string{"../x", "", "con"} {
		if err := a.WriteRun(Run{ID: id}); err == nil {
			t.Errorf("run %q was written", id)
		}
	}
	later := strings.Replace(content(t, file), `"schema": 1`, `"schema": 9`, 1)
	if err := os.WriteFile(a.Path(runPath("later")), []byte(later), 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ReadRun("later"); err == nil || !strings.Contains(err.Error(), "layout 9 is not known") {
		t.Errorf("error %v", err)
	}
}
