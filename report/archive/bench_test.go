package archive

import (
	"io"
	"testing"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/profile"
)

// benchAssessment is a flight of the simulator's other origin where present,
// else the hand-made one: what is measured is the writing.
func benchAssessment(b *testing.B) *detect.Assessment {
	profiles, err := profile.LoadDir("../../sampledata/simulator")
	if err != nil {
		b.Fatal(err)
	}
	rec, prof, err := ingest.Open("../../../shared/recordings/twin-03.csv.gz", profiles, ingest.Options{})
	if err != nil {
		return testAssessment()
	}
	return detect.Assess(rec, prof)
}

func BenchmarkClip(b *testing.B) {
	a := benchAssessment(b)
	b.ReportAllocs()
	for b.Loop() {
		if err := WriteAssessedClip(io.Discard, a, Versions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPublish(b *testing.B) {
	a := benchAssessment(b)
	arch, err := Create(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := arch.Publish(a, Versions{}, nil); err != nil {
			b.Fatal(err)
		}
	}
}
