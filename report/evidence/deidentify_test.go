package evidence

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// secretNight is an archive of the sample night, made once for all tests that
// only read it.
var secretNight = sync.OnceValues(func() (*archive.Archive, error) {
	dir, err := os.MkdirTemp("", "secret-night")
	if err != nil {
		return nil, err
	}
	return buildNight(filepath.Join(dir, "archive"))
})

var nightVersions = archive.Versions{Detection: detect.Version, Program: "test"}

// buildNight assesses the sample night as the batch does.
func buildNight(dir string) (*archive.Archive, error) {
	const data = "../../sampledata/"
	profiles, err := profile.LoadDir(data + "fleet")
	if err != nil {
		return nil, err
	}
	list, err := ingest.ReadFlightList(data + "night/flights.csv")
	if err != nil {
		return nil, err
	}
	a, err := archive.Create(dir)
	if err != nil {
		return nil, err
	}
	files, err := filepath.Glob(data + "night/recordings/*")
	if err != nil {
		return nil, err
	}
	run := archive.Run{ID: "night", Started: "2031-03-08T02:00:00Z", Command: files}
	for _, file := range files {
		rec, prof, err := ingest.Open(file, profiles, ingest.Options{Flights: list})
		if err != nil {
			return nil, err
		}
		if err := a.KeepProfile(prof); err != nil {
			return nil, err
		}
		s, err := a.Publish(detect.Assess(rec, prof), nightVersions, nil)
		if err != nil {
			return nil, err
		}
		run.Recordings = append(run.Recordings, archive.RecordingLine{File: file, Status: "processed", Key: s.Key, Folder: s.Flight.Folder, Profile: prof.Name})
	}
	if _, err := a.WriteTables(run.ID, a.Summaries()); err != nil {
		return nil, err
	}
	return a, a.WriteRun(run)
}

func TestMain(m *testing.M) {
	code := m.Run()
	if a, err := secretNight(); err == nil {
		_ = os.RemoveAll(filepath.Dir(a.Dir())) // a folder of ours under the temporary one
	}
	os.Exit(code)
}

func night(t *testing.T) *archive.Archive {
	t.Helper()
	a, err := secretNight()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// all reads the whole archive, with the census of it.
func all(t *testing.T, a *archive.Archive) ([]Flight, *Census) {
	t.Helper()
	var out []Flight
	census := &Census{}
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		f, err := Load(a, s)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, f)
		census.Add(&s)
	}
	return out, census
}

// TestDeidentify: every flight of the night can be covered, keeps every
// finding, and neither its summary nor the metadata of its clip holds any
// identity of any flight.
func TestDeidentify(t *testing.T) {
	flights, census := all(t, night(t))
	words := &Words{}
	for _, f := range flights {
		words.Add(f.Summary)
	}
	c := Cover{Key: testKey(t, 1), Groups: census.Groups(5), Places: true}
	attempts := 0
	for _, f := range flights {
		copies, err := c.Deidentify(f, nightVersions, nil)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		for _, n := range copies {
			attempts += len(n.Summary.Attempts)
			text, err := json.Marshal(n.Summary)
			if err != nil {
				t.Fatal(err)
			}
			meta, err := n.Clip.ClipMeta().MarshalJSON()
			if err != nil {
				t.Fatal(err)
			}
			for _, b := range [][]byte{text, meta, n.Profile.Source} {
				if found := words.In(b); len(found) > 0 {
					t.Errorf("%s: the copy holds %q", f.Summary.Flight.Folder, found)
				}
			}
			for _, a := range n.Summary.Attempts[:min(1, len(n.Summary.Attempts))] {
				if a.Onset != nil && a.Onset.At != 0 {
					t.Errorf("%s: the onset is at %g s", f.Summary.Flight.Folder, a.Onset.At)
				}
			}
		}
	}
	if attempts != 48 {
		t.Errorf("%d attempts in the copies, the night has 48", attempts)
	}
}

// TestWordsAreFound: the search finds what is there, so that finding nothing
// means something.
func TestWordsAreFound(t *testing.T) {
	flights, _ := all(t, night(t))
	for _, f := range flights {
		words := &Words{}
		words.Add(f.Summary)
		text, err := json.Marshal(f.Summary)
		if err != nil {
			t.Fatal(err)
		}
		found := strings.Join(words.In(text), " ")
		for _, want := range []string{f.Summary.Flight.Tail, f.Summary.Flight.Flight, f.Summary.Flight.Date, f.Summary.Recording.SHA256, f.Summary.Key} {
			if !strings.Contains(found, want) {
				t.Errorf("%s: %q was not found in the plain summary", f.Summary.Flight.Folder, want)
			}
		}
		if !bytes.Contains(text, []byte(f.Summary.Flight.Tail)) {
			t.Fatal("the plain summary does not hold its tail")
		}
	}
}
