package synth_test

import (
	"bytes"
	"runtime"
	"strings"
	"testing"

	"rollonset/sampledata/synth"
)

// The bytes do not depend on how many flights are made at a time.
func TestWorkersDoNotShow(t *testing.T) {
	opt := synth.Options{N: 12, Seed: 9, Difficulty: synth.Nasty}
	many, _ := flights(t, opt)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, _ := flights(t, opt)
	for _, name := range names(t, many) {
		if !bytes.Equal(read(t, many, name), read(t, one, name)) {
			t.Errorf("%s differs between one worker and many", name)
		}
	}
}

// Every kind of fault of a nasty flight is drawn, and two at once are the rule.
func TestNastyFlightsHaveTwoFaults(t *testing.T) {
	_, rows := flights(t, synth.Options{N: 120, Seed: 2, Difficulty: synth.Nasty, Formats: []synth.Format{synth.CSVGzip}})
	kinds := []string{"blind at onset", "frozen late", "unlocked", "spikes", "flicker", "inverted", "data end in the reject"}
	seen, double := map[string]bool{}, 0
	for _, r := range rows {
		n := 0
		for _, k := range kinds {
			if strings.Contains(r.Scenario, k) {
				seen[k] = true
				n++
			}
		}
		if n >= 2 {
			double++
		}
	}
	for _, k := range kinds {
		if !seen[k] {
			t.Errorf("no flight with %q among %d", k, len(rows))
		}
	}
	if double < len(rows)/4 {
		t.Errorf("%d of %d rows have two faults at once", double, len(rows))
	}
}
