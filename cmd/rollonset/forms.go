package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
)

// json prints a line per recording.
func (a account) json(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for i := range a.results {
		s, err := a.summary(&a.results[i])
		if err != nil {
			return err
		}
		if err := enc.Encode(struct {
			archive.RecordingLine
			Summary *archive.Summary `json:"summary"`
		}{a.results[i].RecordingLine, s}); err != nil {
			return err
		}
	}
	return nil
}

// summary reads back the summary of a recording, nil for one without: that is
// unreadable or the same as another.
func (a account) summary(r *batch.Result) (*archive.Summary, error) {
	if !r.HasFlight() {
		return nil, nil
	}
	s, err := a.read(r.Folder)
	return &s, err
}

// csv prints a line per attempt, and one per recording without any.
func (a account) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	head := []string{"file", "status", "problem", "folder", "attempt", "outcome", "onset_s", "peak_ground_speed_kt", "events", "worst"}
	if err := out.Write(head); err != nil {
		return err
	}
	for i := range a.results {
		r := &a.results[i]
		s, err := a.summary(r)
		if err != nil {
			return err
		}
		row := []string{r.File, r.Status, r.Problem, r.Folder}
		if s == nil || len(s.Attempts) == 0 {
			_ = out.Write(append(row, "", "", "", "", "", ""))
			continue
		}
		for _, t := range s.Attempts {
			onset, peak, worst := "", "", ""
			if t.Onset != nil {
				onset = strconv.FormatFloat(t.Onset.At, 'f', -1, 64)
			}
			if t.PeakSpeed != nil {
				peak = strconv.FormatFloat(t.PeakSpeed.Value, 'f', -1, 64)
			}
			if len(t.Events) > 0 {
				worst = t.Events[0].Severity
			}
			_ = out.Write(append(row[:4:4], strconv.Itoa(t.Number), t.Outcome, onset, peak, strconv.Itoa(len(t.Events)), worst))
		}
	}
	out.Flush()
	return out.Error()
}

// writeMetrics writes the counts of a run in the Prometheus text format, for
// a collector that reads files.
func writeMetrics(path string, run archive.Run) error {
	c := run.Counts
	gauges := []struct {
		name, help string
		value      int
	}{
		{"recordings_received", "recordings that came in", c.Received},
		{"recordings_processed", "recordings processed in this run", c.Processed},
		{"recordings_skipped", "recordings done by an earlier run", c.Skipped},
		{"recordings_duplicate", "recordings with the same bytes as another", c.Duplicates},
		{"recordings_unreadable", "recordings that could not be read", c.Unreadable},
		{"recordings_done_again", "recordings done or tried again because something changed", c.Again},
		{"recordings_not_read_again", "unreadable recordings left unread because nothing changed", c.Unchanged},
		{"takeoff_attempts", "takeoff attempts found", c.Attempts},
		{"lift_offs", "attempts that ended in lift-off", c.Takeoffs},
		{"rejected_takeoffs", "attempts that were given up", c.Rejects},
		{"attempts_undetermined", "attempts whose end cannot be told", c.EndsUntold},
		{"warnings_untold", "attempts on which the warning cannot be told", c.WarningsUntold},
		{"checks_untold", "checks that could not be told", c.ChecksUntold},
		{"events_high", "events of high severity", c.High},
		{"events_medium", "events of medium severity", c.Medium},
		{"events_low", "events of low severity", c.Low},
		{"flights_missing", "listed flights for which no recording came", len(run.Missing)},
	}
	return archive.WriteFile(path, func(w io.Writer) error {
		for _, g := range gauges {
			if _, err := fmt.Fprintf(w, "# HELP rollonset_%s %s, last run\n# TYPE rollonset_%s gauge\nrollonset_%s %d\n", g.name, g.help, g.name, g.name, g.value); err != nil {
				return err
			}
		}
		for _, s := range run.Stages {
			if _, err := fmt.Fprintf(w, "rollonset_stage_seconds{stage=%q} %g\n", s.Stage, s.Seconds); err != nil {
				return err
			}
		}
		return nil
	})
}
