package main

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
	"rollonset/report/page"
	"rollonset/report/trend"
)

var long = flag.Bool("long", false, "also the tests that take more than ten seconds")

// drawTrends reads, judges and draws the trends of an archive as the command
// does.
func drawTrends(t testing.TB, a *archive.Archive) *trend.Trends {
	t.Helper()
	tr, source, basis, err := trendsOf(a, trend.Period{}, trend.Options{})
	if err != nil {
		t.Fatal(err)
	}
	flags := trendFlags{}
	if err := flags.writePage(a, tr, page.TrendOptions{Source: source, Basis: basis}); err != nil {
		t.Fatal(err)
	}
	return tr
}

// BenchmarkTrends draws the trends of three years of 100,000 takeoffs.
func BenchmarkTrends(b *testing.B) {
	a := planted(100_000, 1).write(b, filepath.Join(b.TempDir(), "archive"))
	for b.Loop() {
		drawTrends(b, a)
	}
}

// TestPlantedChangesAreFound: an archive of three years with three planted
// changes among 100,000 takeoffs; each is found and named, nothing else is
// raised, and the page does not grow beyond what was promised. How long it takes
// is BenchmarkTrends's to say.
func TestPlantedChangesAreFound(t *testing.T) {
	const takeoffs = 100_000
	a := planted(takeoffs, 1).write(t, filepath.Join(t.TempDir(), "archive"))
	tr := drawTrends(t, a)
	info, err := os.Stat(a.Path(batch.TrendsFile))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d takeoffs: page of %d KB, %d alerts", takeoffs, info.Size()>>10, len(tr.Alerts))
	if info.Size() > 2<<20 {
		t.Errorf("%d KB, want at most 2048 KB", info.Size()>>10)
	}
	found := map[string]bool{}
	for _, alert := range tr.Alerts {
		switch {
		case alert.Series == "flap lever" && alert.By == trend.ByBase && alert.Where == "ZZC":
			found["doubled rate at ZZC"] = true
		case alert.Series == "trim" && alert.Rule == trend.DriftRule && alert.Where == "QX60":
			found["drift of trim on QX60"] = true
		case alert.Series == "speedbrake lever" && alert.Rule == trend.CoverageRule && alert.Where == "ZZ-Q07":
			if !alert.Since.Equal(time.Date(2033, 4, 1, 0, 0, 0, 0, time.UTC)) {
				t.Errorf("the sensor is said to be dead since %s", alert.Since)
			}
			found["dead sensor on ZZ-Q07"] = true
		case alert.Series == "flap lever": // the same events, seen on the fleet, a runway, a type, a tail
		default:
			t.Errorf("an alert on what did not change: %s", alert.Text)
		}
	}
	for _, want := range []string{"doubled rate at ZZC", "drift of trim on QX60", "dead sensor on ZZ-Q07"} {
		if !found[want] {
			t.Errorf("not found: %s", want)
		}
	}
	text, err := os.ReadFile(a.Path(batch.TrendsFile))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"flap lever", "QX60", "ZZ-Q07", "ZZC"} {
		if !strings.Contains(string(text), name) {
			t.Errorf("the page does not name %s", name)
		}
	}
}

// TestArchivesWithoutChange: over several three-year archives in which
// nothing changes, no more alerts are raised than stated.
func TestArchivesWithoutChange(t *testing.T) {
	archives := 3
	if *long {
		archives = 12
	}
	alerts, stated := 0, 0.0
	for seed := range archives {
		a := fleet{takeoffs: 30_000, seed: uint64(100 + seed)}.write(t, filepath.Join(t.TempDir(), "archive"))
		tr, _, _, err := trendsOf(a, trend.Period{}, trend.Options{})
		if err != nil {
			t.Fatal(err)
		}
		alerts += len(tr.Alerts)
		stated += tr.Budget.Expected
		for _, alert := range tr.Alerts {
			t.Logf("seed %d: %s", seed, alert.Text)
		}
	}
	t.Logf("%d alerts in %d archives without change, stated at most %.1f", alerts, archives, stated)
	if float64(alerts) > stated {
		t.Errorf("%d alerts without change, stated at most %.1f", alerts, stated)
	}
}
