package detect_test

import (
	"path/filepath"
	"testing"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/detect/reject"
	"rollonset/detect/takeoff"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

// benched is a recording as it comes from reading, and its attempts.
type benched struct {
	rec      *flightdata.Recording
	prof     *profile.Profile
	attempts []takeoff.Attempt
}

// benchFlights are simulated flights, rejected takeoffs among them. The stage is
// measured over all of them, per byte of their samples: an instant and a value each.
func benchFlights(b *testing.B) []benched {
	profiles, err := profile.LoadDir("../sampledata/fleet")
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	if err := synth.Flights(synth.Options{N: 12, Seed: 7, Formats: []synth.Format{synth.CSV}}, profiles, dir); err != nil {
		b.Fatal(err)
	}
	paths, err := filepath.Glob(filepath.Join(dir, synth.RecordingsDir, "*"))
	if err != nil {
		b.Fatal(err)
	}
	var out []benched
	size := 0
	for _, path := range paths {
		rec, prof, err := ingest.Open(path, profiles, ingest.Options{})
		if err != nil {
			b.Fatal(err)
		}
		for _, s := range rec.Series {
			size += 16 * s.Len()
		}
		out = append(out, benched{rec, prof, takeoff.Find(rec, prof).Attempts})
	}
	b.SetBytes(int64(size))
	b.ReportAllocs()
	return out
}

// BenchmarkAssess: all of detection, from the recordings to the findings.
func BenchmarkAssess(b *testing.B) {
	flights := benchFlights(b)
	for b.Loop() {
		for _, f := range flights {
			if a := detect.Assess(f.rec, f.prof); len(a.Attempts) != len(f.attempts) {
				b.Fatalf("%s: %d attempts, found %d", f.rec.Source.Path, len(a.Attempts), len(f.attempts))
			}
		}
	}
}

// BenchmarkFind: the attempts alone.
func BenchmarkFind(b *testing.B) {
	flights := benchFlights(b)
	for b.Loop() {
		for _, f := range flights {
			takeoff.Find(f.rec, f.prof)
		}
	}
}

// BenchmarkJudge: the checks of all attempts and the comparison with the warning.
func BenchmarkJudge(b *testing.B) {
	flights := benchFlights(b)
	for b.Loop() {
		for _, f := range flights {
			for i := range f.attempts {
				a := &f.attempts[i]
				start := reject.PerhapsStart(f.rec, f.prof, a)
				findings := configuration.Judge(f.rec, f.prof, a, start)
				configuration.CrossCheck(f.rec, f.prof, a, findings, start)
			}
		}
	}
}

// BenchmarkMeasure: the measures of the rejected takeoffs among them.
func BenchmarkMeasure(b *testing.B) {
	flights := benchFlights(b)
	for b.Loop() {
		rejects := 0
		for _, f := range flights {
			for i := range f.attempts {
				if reject.Measure(f.rec, f.prof, &f.attempts[i]) != nil {
					rejects++
				}
			}
		}
		if rejects == 0 {
			b.Fatal("no attempt was rejected")
		}
	}
}
