package batch

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// BenchmarkPlan is the sample night once more, when the archive holds all of
// it: the recordings are found, hashed and looked up, nothing is assessed, and
// the tables of the run are made of the summaries. Bytes are those of the
// recordings.
func BenchmarkPlan(b *testing.B) {
	root := filepath.Join("..", "..", "..", "sampledata")
	profiles, err := profile.LoadDir(filepath.Join(root, "fleet"))
	if err != nil {
		b.Fatal(err)
	}
	store, err := archive.Create(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	night := func(want string) (bytes int64, recordings int) {
		found := Discover([]string{filepath.Join(root, "night", "recordings")})
		job := Job{
			Recordings: found.Recordings, Profiles: profiles, Archive: store, Workers: 1, Pages: NoPages,
			Versions: archive.Versions{Detection: "one", Program: "one"}, Clock: time.Now,
		}
		_, results, err := Run(context.Background(), job, Observer{})
		if err != nil {
			b.Fatal(err)
		}
		for _, r := range results {
			info, err := os.Stat(r.File)
			if err != nil {
				b.Fatal(err)
			}
			bytes += info.Size()
			if r.Status == want {
				recordings++
			}
		}
		return bytes, recordings
	}
	bytes, processed := night(Processed)
	if processed == 0 {
		b.Fatal("nothing was processed")
	}
	b.SetBytes(bytes)
	b.ReportAllocs()
	for b.Loop() {
		if _, n := night(Skipped); n < processed {
			b.Fatalf("%d of %d recordings were done before", n, processed)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*processed), "µs/recording")
}
