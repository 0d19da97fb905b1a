package quality_test

import (
	"path/filepath"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

// TestFlightsStayGood makes flights of every type of the sample fleet and
// reads them as any recording is read. No sample of a sound sensor may be
// masked, but for airspeed below its floor, which a floor is for. A third of
// the flights have a fault of some sensor; what that can be is allowed for.
func TestFlightsStayGood(t *testing.T) {
	// Masked samples of one parameter that a fault explains: four lone spikes
	// of a speed or an attitude; a surface that is found elsewhere from one
	// sample to the next, until its new place is believed; a frozen sensor.
	allowed := map[flightdata.Parameter]int{
		flightdata.GroundSpeed: 4, flightdata.Airspeed: 4, flightdata.Pitch: 4, flightdata.FlapPosition: 2,
	}
	profiles, err := profile.LoadDir("../../sampledata/fleet")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	opt := synth.Options{N: 60, Seed: 5, Difficulty: synth.Plain, Formats: []synth.Format{synth.CSV}}
	if err := synth.Flights(opt, profiles, dir); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, synth.RecordingsDir, "*"))
	if err != nil || len(files) != opt.N {
		t.Fatalf("%d flights: %v", len(files), err)
	}
	samples, masked := 0, 0
	for _, file := range files {
		r, _, err := ingest.Open(file, profiles, ingest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.Parameters() {
			s := r.Get(p)
			n := s.MaskCounts()
			bad := s.Len() - n[flightdata.Good] - n[flightdata.BelowFloor] - n[flightdata.Stuck]
			if bad > allowed[p.Base()] {
				t.Errorf("%s: %d of %d samples of %s are masked: %v", filepath.Base(file), bad, s.Len(), p, n)
			}
			samples, masked = samples+s.Len(), masked+bad
		}
	}
	if masked*10_000 > samples {
		t.Errorf("%d of %d samples are masked, more than one in ten thousand", masked, samples)
	}
}
