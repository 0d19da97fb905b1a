package synth_test

import (
	"bytes"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
	"rollonset/sampledata/truth"
)

// fleet loads the three profiles that ship with the project.
func fleet(t testing.TB) []*profile.Profile {
	t.Helper()
	var out []*profile.Profile
	for _, name := range []string{"qx40", "tj22", "tp08"} {
		p, err := profile.Load(filepath.Join("..", "fleet", name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	return out
}

func flights(t *testing.T, opt synth.Options) (dir string, rows []truth.Attempt) {
	t.Helper()
	dir = t.TempDir()
	if err := synth.Flights(opt, fleet(t), dir); err != nil {
		t.Fatal(err)
	}
	rows, err := truth.Read(bytes.NewReader(read(t, dir, synth.TruthFile)), synth.TruthFile)
	if err != nil {
		t.Fatal(err)
	}
	return dir, rows
}

// The same seed gives the same bytes, another seed others; a flight does not
// depend on how many are made with it.
func TestFlightsDependOnSeedAlone(t *testing.T) {
	a, _ := flights(t, synth.Options{N: 8, Seed: 3})
	b, _ := flights(t, synth.Options{N: 6, Seed: 3})
	c, _ := flights(t, synth.Options{N: 6, Seed: 4})
	same := 0
	for _, name := range names(t, b) {
		if name == synth.TruthFile || name == synth.ListFile {
			continue
		}
		if !bytes.Equal(read(t, a, name), read(t, b, name)) {
			t.Errorf("%s differs between two runs with one seed", name)
		}
		if slices.Contains(names(t, c), name) {
			same++
		}
	}
	if same == 6 {
		t.Error("another seed gives the same flights")
	}
}

// The choice of types and formats is kept; a type that nobody gave is an
// error that names it.
func TestTypesAndFormats(t *testing.T) {
	dir, rows := flights(t, synth.Options{N: 3, Seed: 1, Types: []string{"tp08"}, Formats: []synth.Format{synth.Parquet}})
	for _, r := range rows {
		if !strings.Contains(r.File, "ZZ-P") || !strings.HasSuffix(r.File, ".parquet") {
			t.Errorf("%s is not a TP08 Parquet file", r.File)
		}
	}
	err := synth.Flights(synth.Options{N: 1, Types: []string{"XX99"}}, fleet(t), dir)
	if err == nil || !strings.Contains(err.Error(), `"XX99"`) {
		t.Errorf("got %v", err)
	}
}

// What the truth says of any flight hangs together: instants in the order in
// which they can happen, speeds and distances that belong to each other.
func TestTruthHangsTogether(t *testing.T) {
	for _, d := range synth.Difficulties() {
		_, rows := flights(t, synth.Options{N: 90, Seed: 5, Difficulty: d, Formats: []synth.Format{synth.CSVGzip}})
		for i := range rows {
			if rows[i].Number > 0 {
				hangsTogether(t, &rows[i])
			}
		}
	}
}

func hangsTogether(t *testing.T, a *truth.Attempt) {
	t.Helper()
	order := func(what string, times ...float64) {
		last := math.Inf(-1)
		for _, x := range times {
			if math.IsNaN(x) {
				continue
			}
			if x < last {
				t.Errorf("%s attempt %d (%s): %s out of order: %v", a.File, a.Number, a.Scenario, what, times)
			}
			last = x
		}
	}
	order("takeoff", a.ThrustAdvance, a.Onset, a.Rotation, a.LiftOff)
	order("reject", a.RollStart, a.FirstAction, a.ThrustCut, a.Stop)
	order("peak", a.RollStart, a.Peak, a.Stop)
	order("distances", a.DistanceToCut, a.DistanceToStop)
	order("speeds", a.GroundSpeedAtCut, a.PeakGroundSpeed)
	if math.IsNaN(a.ThrustAdvance) {
		t.Errorf("%s attempt %d has no thrust advance", a.File, a.Number)
	}
	if lifted := !math.IsNaN(a.LiftOff); lifted != (a.Outcome == truth.Airborne || a.Outcome == truth.TouchAndGo) {
		t.Errorf("%s attempt %d: outcome %s, lift-off %v", a.File, a.Number, a.Outcome, a.LiftOff)
	}
	for _, c := range a.OutAtOnset {
		if !slices.Contains(a.Out, c) {
			t.Errorf("%s attempt %d: %s out at the onset and not out", a.File, a.Number, c)
		}
	}
	// A stop from the peak is slower than 0.45 g and faster than 0.02 g.
	if d := a.Stop - a.Peak; !math.IsNaN(d) && d > 0 {
		g := a.PeakGroundSpeed * 1852 / 3600 / d / 9.80665
		if g < 0.02 || g > 0.45 {
			t.Errorf("%s attempt %d: mean deceleration %.3f g", a.File, a.Number, g)
		}
	}
}
