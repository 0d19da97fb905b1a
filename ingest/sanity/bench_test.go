package sanity_test

import (
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/quality"
	"rollonset/ingest/sanity"
	"rollonset/sampledata/synth"
)

// benchFlight is a simulated flight as it is before the stage that is measured,
// and the bytes of its samples: an instant and a value each.
func benchFlight(b *testing.B) (rec *flightdata.Recording, prof *profile.Profile, size int64) {
	flights, list := fly(b, synth.Options{N: 1, Seed: 7, Formats: []synth.Format{synth.CSV}})
	rec, prof, err := ingest.Open(flights[0].path, fleet(b), ingest.Options{Flights: list})
	if err != nil {
		b.Fatal(err)
	}
	for _, s := range rec.Series {
		size += int64(16 * s.Len())
	}
	return rec, prof, size
}

// BenchmarkMask: the masking of single samples, all parameters of a flight.
func BenchmarkMask(b *testing.B) {
	rec, prof, size := benchFlight(b)
	b.SetBytes(size)
	b.ReportAllocs()
	for b.Loop() {
		for p, s := range rec.Series {
			s.Masks = nil
			quality.Mask(s, prof.Find(p))
		}
	}
}

// BenchmarkCheck: the contradictions of a flight that has none, as most have.
func BenchmarkCheck(b *testing.B) {
	rec, prof, size := benchFlight(b)
	b.SetBytes(size)
	b.ReportAllocs()
	for b.Loop() {
		sanity.Check(rec, prof)
	}
	if len(rec.Doubted) > 0 {
		b.Fatalf("doubted: %v", rec.Doubted)
	}
}

// BenchmarkObserve: the proof of life of all parameters of a flight.
func BenchmarkObserve(b *testing.B) {
	rec, _, size := benchFlight(b)
	b.SetBytes(size)
	b.ReportAllocs()
	for b.Loop() {
		for _, s := range rec.Series {
			flightdata.Observe(s)
		}
	}
}
