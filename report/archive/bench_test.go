package archive

import (
	"fmt"
	"io"
	"os"
	"path"
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

// Bytes of a clip are 16 for a sample in the windows: its instant and its value.
func BenchmarkClip(b *testing.B) {
	a := benchAssessment(b)
	var samples int64
	for _, s := range a.Recording.Clip(a.Windows).Series {
		samples += int64(s.Len())
	}
	b.SetBytes(16 * samples)
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

// BenchmarkTables is what a run does with the summaries of 200 flights when all
// are written: the tables, and what the view of all runs tells of them. Bytes
// are those of the summaries.
func BenchmarkTables(b *testing.B) {
	arch, err := Create(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	var folders []string
	var bytes int64
	asm := benchAssessment(b)
	for i := range 200 {
		asm.Recording.Source.SHA256 = fmt.Sprintf("%064x", i)
		s, err := arch.Publish(asm, versions, nil)
		if err != nil {
			b.Fatal(err)
		}
		info, err := os.Stat(arch.Path(path.Join(s.Flight.Folder, SummaryFile)))
		if err != nil {
			b.Fatal(err)
		}
		folders, bytes = append(folders, s.Flight.Folder), bytes+info.Size()
	}
	b.SetBytes(bytes)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := arch.WriteTables("run", arch.SummariesOf(folders)); err != nil {
			b.Fatal(err)
		}
		if _, err := arch.ViewWith("run"); err != nil {
			b.Fatal(err)
		}
	}
}
