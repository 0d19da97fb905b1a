package main

import (
	"flag"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rollonset/sampledata/synth"
)

// replays is how many flights of each difficulty TestReplays derives again; a
// longer one is go test ./cmd/rollonset -run Replays -replays 2000
var replays = flag.Int("replays", 24, "how many flights of each difficulty TestReplays makes")

// TestReplays derives every finding of simulated flights again from the clip
// alone, plain ones and those with all that recorders do to data, and demands
// the whole summary back.
func TestReplays(t *testing.T) {
	for _, d := range synth.Difficulties() {
		t.Run(d.String(), func(t *testing.T) {
			dir, to := t.TempDir(), filepath.Join(t.TempDir(), "a")
			command(t, "synth", "--flights", strconv.Itoa(*replays), "--seed", "31", "--difficulty", d.String(), "--profiles", "../../sampledata/fleet", "--to", dir)
			command(t, "process", filepath.Join(dir, synth.RecordingsDir), "--profiles", "../../sampledata/fleet", "--flights", filepath.Join(dir, synth.ListFile), "--archive", to, "--pages", "none")
			out := command(t, "replay", to, "--all")
			if !strings.Contains(out, ", 0 different") || strings.Contains(out, ": 0 equal") {
				t.Error(out)
			}
			t.Log(out)
		})
	}
}
