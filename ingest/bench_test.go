package ingest_test

import (
	"os"
	"path/filepath"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

// BenchmarkOpen reads one simulated flight, the same in every container: all
// that is done before detection, per byte of the file as it lies on disk.
func BenchmarkOpen(b *testing.B) {
	profiles, err := profile.LoadDir(filepath.Join("..", "sampledata", "fleet"))
	if err != nil {
		b.Fatal(err)
	}
	for _, format := range []synth.Format{synth.CSV, synth.CSVGzip, synth.CSVZstd, synth.Parquet, synth.Arrow} {
		b.Run(string(format), func(b *testing.B) {
			dir := b.TempDir()
			if err := synth.Flights(synth.Options{N: 1, Seed: 7, Formats: []synth.Format{format}}, profiles, dir); err != nil {
				b.Fatal(err)
			}
			paths, err := filepath.Glob(filepath.Join(dir, synth.RecordingsDir, "*"))
			if err != nil || len(paths) != 1 {
				b.Fatalf("%d recordings, %v", len(paths), err)
			}
			info, err := os.Stat(paths[0])
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(info.Size())
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := ingest.Open(paths[0], profiles, ingest.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
