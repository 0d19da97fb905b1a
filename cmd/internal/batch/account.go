package batch

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	"rollonset/ingest"
	"rollonset/report/archive"
)

// timeOfDay is RFC 3339 with milliseconds, always three digits, so that run
// records sort by it as text: two runs may start in one second.
const timeOfDay = "2006-01-02T15:04:05.000Z"

// record makes the run record, apart from its times of day. Its ID is a
// function of what came in: the same recordings read the same way have the
// same ID, whether they were done in one run or in several.
func record(job Job, results []Result) archive.Run {
	run := archive.Run{
		Schema: archive.RunSchemaVersion, Program: job.Versions.Program, Detection: job.Versions.Detection,
		Command: job.Command, Recordings: []archive.RecordingLine{}, Missing: []string{}, Profiles: []archive.ProfileInfo{},
	}
	for _, p := range job.Profiles {
		run.Profiles = append(run.Profiles, archive.ProfileInfoOf(p))
	}
	entries := map[string]bool{}
	for _, r := range results {
		run.Recordings = append(run.Recordings, r.RecordingLine)
		entries[r.Entry] = true
		count(&run.Counts, &r)
	}
	run.ID = runID(run.Recordings)
	run.Stages = stages(results)
	if job.Flights != nil {
		run.FlightList = job.Flights.Path
		run.Missing = append(run.Missing, missing(job.Flights.Entries, entries)...)
	}
	return run
}

// missing are the entries for which no recording came. Lines that say the same
// are one flight.
func missing(entries []ingest.FlightEntry, came map[string]bool) []string {
	var out []string
	first := map[string]int{}
	for _, e := range entries {
		hash := e.Hash()
		if came[hash] {
			continue
		}
		if i, again := first[hash]; again {
			out[i] += fmt.Sprintf(", again in line %d", e.Line)
			continue
		}
		first[hash] = len(out)
		out = append(out, e.String())
	}
	return out
}

// runID is the hash of the recordings and their keys.
func runID(lines []archive.RecordingLine) string {
	h := sha256.New()
	for _, l := range lines {
		fmt.Fprintf(h, "%q %s\n", l.File, l.Key)
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

func stages(results []Result) []archive.StageTime {
	var read, det, write time.Duration
	for _, r := range results {
		read, det, write = read+r.Read, det+r.Detect, write+r.Write
	}
	return []archive.StageTime{{Stage: "read", Seconds: read.Seconds()}, {Stage: "detect", Seconds: det.Seconds()}, {Stage: "write", Seconds: write.Seconds()}}
}

func count(c *archive.RunCounts, r *Result) {
	c.Received++
	if r.Again != "" && r.Status != Duplicate {
		c.Again++
	}
	if r.Since != "" {
		c.Unchanged++
	}
	switch r.Status {
	case Unreadable:
		c.Unreadable++
	case Skipped:
		c.Skipped++
	case Duplicate:
		c.Duplicates++
	case Processed:
		c.Processed++
	}
	c.AddAttempts(r.Tally.Counts)
}
