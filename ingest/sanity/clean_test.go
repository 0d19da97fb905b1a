package sanity_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
	"rollonset/sampledata/truth"
)

// fleet loads the three profiles that ship with the project.
func fleet(t testing.TB) []*profile.Profile {
	t.Helper()
	list, err := profile.LoadDir(filepath.Join("..", "..", "sampledata", "fleet"))
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// many is how many synthetic flights a test makes: n, or what ROLLONSET_MANY
// says for a longer run.
func many(t testing.TB, n int) int {
	t.Helper()
	text := os.Getenv("ROLLONSET_MANY")
	if text == "" {
		return n
	}
	v, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// flown is a synthetic flight on disk.
type flown struct {
	path     string
	scenario string
}

// broken says whether a sensor of the flight contradicts the others for real.
func (f flown) broken() bool {
	return strings.Contains(f.scenario, "frozen") || strings.Contains(f.scenario, "inverted") || strings.Contains(f.scenario, "unlocked")
}

// fly makes n synthetic flights and their flight list.
func fly(t testing.TB, opt synth.Options) ([]flown, *ingest.FlightList) {
	t.Helper()
	dir := t.TempDir()
	if err := synth.Flights(opt, fleet(t), dir); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, synth.TruthFile))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := truth.Read(bytes.NewReader(text), synth.TruthFile)
	if err != nil {
		t.Fatal(err)
	}
	list, err := ingest.ReadFlightList(filepath.Join(dir, synth.ListFile))
	if err != nil {
		t.Fatal(err)
	}
	var out []flown
	for _, r := range rows {
		if path := filepath.Join(dir, synth.RecordingsDir, r.File); len(out) == 0 || out[len(out)-1].path != path {
			out = append(out, flown{path, r.Scenario})
		}
	}
	return out, list
}

// TestCleanFlightsAreBelieved: a false doubt hides findings, so there must be
// none on any flight without a lying sensor, with and without the flight list.
func TestCleanFlightsAreBelieved(t *testing.T) {
	for _, d := range synth.Difficulties() {
		flights, list := fly(t, synth.Options{N: many(t, 30), Seed: 77, Difficulty: d, Formats: []synth.Format{synth.CSV}})
		clean := 0
		for i, f := range flights {
			if f.broken() {
				continue
			}
			clean++
			opt := ingest.Options{Flights: list}
			if i%2 == 1 {
				opt.Flights = nil
			}
			rec, _, err := ingest.Open(f.path, fleet(t), opt)
			if err != nil {
				t.Fatal(err)
			}
			believed(t, f.path+" ("+f.scenario+")", rec)
		}
		if clean == 0 {
			t.Errorf("%s: no clean flight was made", d)
		}
		t.Logf("%s: %d clean flights", d, clean)
	}
}

// believed demands that nothing of a recording is doubted.
func believed(t *testing.T, what string, rec *flightdata.Recording) {
	t.Helper()
	for p, why := range rec.Doubted {
		t.Errorf("%s: %s is doubted: %s", what, p, why)
	}
}

// otherOrigin are recordings that this project did not make; they lie beside
// the clone where they are present.
const otherOrigin = "../../../shared/recordings"

// TestRecordingsOfOtherOriginAreBelieved: the same on flights of a simulation
// that knows nothing of ours.
func TestRecordingsOfOtherOriginAreBelieved(t *testing.T) {
	paths, _ := filepath.Glob(filepath.Join(otherOrigin, "*.csv.gz"))
	if len(paths) == 0 {
		t.Skip("the recordings of other origin are not beside this clone: nothing is checked here")
	}
	profiles, err := profile.LoadDir("../../sampledata/simulator")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		rec, _, err := ingest.Open(path, profiles, ingest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		believed(t, filepath.Base(path), rec)
	}
}
