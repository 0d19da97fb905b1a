package sanity_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/report/archive"
	"rollonset/sampledata/synth"
)

// TestClipCarriesTheDoubt: a clip is too short to find a misreading again, so it
// must carry it: what could not be told from the recording cannot be told from
// the clip, for the same reason.
func TestClipCarriesTheDoubt(t *testing.T) {
	flights, list := fly(t, synth.Options{N: 6, Seed: 79, Formats: []synth.Format{synth.CSV}})
	dir := t.TempDir()
	doubted := 0
	for _, f := range flights {
		for _, m := range []misreading{inverted(flightdata.ParkingBrake), inverted(flightdata.AirGround), factor(flightdata.GroundSpeed, 1852./3600, "m/s read as kt")} {
			s := readSheet(t, f.path)
			_, prof, err := ingest.Open(f.path, fleet(t), ingest.Options{Flights: list})
			if err != nil {
				t.Fatal(err)
			}
			m.apply(s, prof)
			rec, prof, err := ingest.Open(s.write(t, dir), fleet(t), ingest.Options{Flights: list})
			if err != nil {
				t.Fatal(err)
			}
			want := detect.Assess(rec, prof)
			var b bytes.Buffer
			if err := archive.WriteAssessedClip(&b, want, archive.Versions{Detection: detect.Version}); err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(dir, "clip.parquet")
			if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			if rec, prof, err = ingest.Open(path, fleet(t), ingest.Options{}); err != nil {
				t.Fatal(err)
			}
			got := detect.Assess(rec, prof)
			if diff := cmp.Diff(want.Recording.Doubted, got.Recording.Doubted); diff != "" {
				t.Errorf("%s, %s: doubted (-recording +clip):\n%s", filepath.Base(f.path), m.name, diff)
			}
			if diff := cmp.Diff(verdicts(want), verdicts(got)); diff != "" {
				t.Errorf("%s, %s: findings (-recording +clip):\n%s", filepath.Base(f.path), m.name, diff)
			}
			doubted += len(want.Recording.Doubted)
		}
	}
	if doubted == 0 {
		t.Error("nothing was doubted, so nothing was shown")
	}
}

// verdicts are the findings of all attempts with their reasons.
func verdicts(a *detect.Assessment) [][]string {
	var out [][]string
	for _, x := range a.Attempts {
		row := []string{string(x.Outcome)}
		for _, f := range x.Findings {
			text := f.Check + ": " + string(f.State)
			if f.State == configuration.Unknown {
				text += ", " + f.Reason
			}
			row = append(row, text)
		}
		out = append(out, row)
	}
	return out
}
