package main

import (
	"bytes"
	"context"
	"flag"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/sampledata/synth"
)

// flips is how many bytes TestFlips changes, one at a time; the full test is
// go test ./cmd/rollonset -run Flips -flips 1000
// which takes the sample night instead of eight flights.
var flips = flag.Int("flips", 60, "how many bytes TestFlips changes")

// command runs the program in this process and demands success.
func command(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(context.Background(), args, strings.NewReader(""), &out, &errs); code != exitDone {
		t.Fatalf("%s: exit code %d\n%s%s", strings.Join(args, " "), code, out.String(), errs.String())
	}
	return out.String()
}

// fullArchive is an archive with a file of every kind: pages of all flights,
// the night, trends, reviews.
func fullArchive(t *testing.T) string {
	t.Helper()
	recordings := "../../sampledata/night"
	if *flips <= 100 {
		recordings = t.TempDir()
		makeFlights(t, recordings, 8)
	}
	dir := filepath.Join(t.TempDir(), "a")
	process := []string{
		"process", filepath.Join(recordings, synth.RecordingsDir), "--profiles", "../../sampledata/fleet",
		"--flights", filepath.Join(recordings, synth.ListFile), "--archive", dir, "--pages", "all",
	}
	command(t, process...)
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	reviewed := 0
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Attempts {
			if len(s.Attempts[i].Events) > 0 && reviewed < 4 {
				command(t, "review", dir, s.Attempts[i].ID, "valid", "--reason", "seen")
				reviewed++
			}
		}
	}
	if reviewed == 0 {
		t.Fatal("no flight has an event to review")
	}
	command(t, "trends", dir)
	return dir
}

// agedArchive is an archive on which retention has reduced some flights and
// counted others, and in which somebody has asked for a name: it has the files
// that fullArchive has not.
func agedArchive(t *testing.T) string {
	t.Helper()
	here := t.TempDir()
	makeFlights(t, here, 6)
	dir, key := filepath.Join(here, "a"), filepath.Join(here, "key")
	command(t, "process", filepath.Join(here, synth.RecordingsDir), "--profiles", "../../sampledata/fleet", "--flights", filepath.Join(here, synth.ListFile), "--archive", dir)
	command(t, "share", "--make-key", key)
	code := run(context.Background(), []string{"share", dir, "--look-up", "tail-000000000000", "--reason", "a test", "--key-file", key}, strings.NewReader(""), io.Discard, io.Discard)
	if code != exitFailed {
		t.Fatalf("a look-up of nobody ended with %d", code)
	}
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	rules := "keep full 1 month\nkeep reduced 2 months\n"
	held := 0
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		if held < 2 && len(s.Attempts) > 0 {
			rules += "hold " + s.Attempts[0].ID + " case 12\n"
			held++
			command(t, "review", dir, s.Attempts[0].ID, "valid", "--reason", "seen")
		}
	}
	file := filepath.Join(here, "rules")
	if err := os.WriteFile(file, []byte(rules), 0o640); err != nil {
		t.Fatal(err)
	}
	command(t, "retain", dir, "--rules", file, "--today", "2099-01-01", "--apply", "--key-file", key)
	return dir
}

// TestFlips changes one byte anywhere in an archive, again and again, and
// demands that verify names the file. Every byte of every file can matter;
// what lies under .locks is no part of the archive.
func TestFlips(t *testing.T) {
	found := map[string]int{}
	manyFlips(t, fullArchive(t), *flips-*flips/4, found)
	manyFlips(t, agedArchive(t), *flips/4, found)
	t.Logf("%d changes, each found and named: %v", *flips, found)
}

func manyFlips(t *testing.T, dir string, n int, found map[string]int) {
	t.Helper()
	a, contents := sound(t, dir)
	var names []string
	total := 0
	for name, text := range contents {
		if len(text) > 0 {
			names = append(names, name)
			total += len(text)
		}
	}
	slices.Sort(names)
	rnd := rand.New(rand.NewPCG(20310307, 4))
	for i := range n {
		name := names[rnd.IntN(len(names))]
		if i%2 == 0 { // half of them by the byte, where the large files are
			at := rnd.IntN(total)
			for _, name = range names {
				if at -= len(contents[name]); at < 0 {
					break
				}
			}
		}
		flip(t, a, name, contents[name], rnd.IntN(len(contents[name])), byte(1+rnd.IntN(255)))
		found[kindOf(name)]++
	}
}

// sound opens an archive in which nothing differs, and reads its files.
func sound(t *testing.T, dir string) (*archive.Archive, map[string][]byte) {
	t.Helper()
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if v, err := evidence.Verify(a, evidence.VerifyOptions{}); err != nil || len(v.Differences) > 0 {
		t.Fatalf("before any change: %v %v", v, err)
	}
	return a, files(t, dir)
}

// TestFlipEveryKind changes the first, a middle and the last byte of one file
// of every kind.
func TestFlipEveryKind(t *testing.T) {
	for _, c := range []struct {
		dir   string
		kinds []string
	}{
		{fullArchive(t), []string{"README.txt", "index.html", "trends.html", "reviews.jsonl", "reviews.jsonl.head", "schema", "runs", "tables", "keys", "profiles", "summary.json", "summary.html", "clip.parquet"}},
		{agedArchive(t), []string{"reviews.jsonl", "reviews.jsonl.head", "retention.jsonl", "retention.jsonl.head", "lookups.jsonl", "lookups.jsonl.head", "aggregate.json", "flights.csv", "checks.csv", "runs", "tables"}},
	} {
		a, contents := sound(t, c.dir)
		kinds := map[string]string{}
		for name, text := range contents {
			if old := kinds[kindOf(name)]; len(text) > 0 && (old == "" || name < old) {
				kinds[kindOf(name)] = name
			}
		}
		for _, kind := range c.kinds {
			name := kinds[kind]
			if name == "" {
				t.Errorf("the archive has no file of the kind %s", kind)
				continue
			}
			for _, at := range []int{0, len(contents[name]) / 2, len(contents[name]) - 1} {
				flip(t, a, name, contents[name], at, 1)
			}
		}
	}
}

// kindOf is the room of a file of an archive, or its name in a flight folder.
func kindOf(name string) string {
	room, _, _ := strings.Cut(name, "/")
	if room == "flights" || filepath.Ext(name) == ".csv" {
		return filepath.Base(name)
	}
	return room
}

// flip changes one byte, demands that verify names the file, and puts it back.
func flip(t *testing.T, a *archive.Archive, name string, text []byte, at int, by byte) {
	t.Helper()
	changed := bytes.Clone(text)
	changed[at] ^= by
	if err := os.WriteFile(a.Path(name), changed, 0o640); err != nil {
		t.Fatal(err)
	}
	v, err := evidence.Verify(a, evidence.VerifyOptions{})
	if err != nil {
		t.Errorf("byte %d of %s changed by %#x: %v", at, name, by, err)
	} else if !slices.ContainsFunc(v.Differences, func(d evidence.Difference) bool { return d.Where == name }) {
		t.Errorf("byte %d of %s changed by %#x and not found; %v", at, name, by, v.Differences)
	}
	if err := os.WriteFile(a.Path(name), text, 0o640); err != nil {
		t.Fatal(err)
	}
}
