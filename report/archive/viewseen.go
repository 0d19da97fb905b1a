package archive

import (
	"fmt"
	"math"
)

var sightingColumns = []string{
	"key", "folder", "file", "recording_sha256", "tail", "start_utc", "attempt", "attempt_id", "outcome",
	"thrust_advance_s", "onset_s", "onset_earliest_s", "onset_latest_s", "roll_start_s", "rotation_s", "lift_off_s", "thrust_cut_s", "stop_s",
	"peak_ground_speed_kt", "checks_within", "checks_outside",
	"reject_class", "reject_severity", "ground_speed_at_cut_kt", "warning_reaction_s", "events",
}

func sightingAt(c columnSet, k int) Sighting {
	return Sighting{
		ID: c.text("attempt_id", k), Key: c.text("key", k), Folder: c.text("folder", k), File: c.text("file", k), Recording: c.text("recording_sha256", k),
		Number: whole(c.number("attempt", k)), Tail: c.text("tail", k), Outcome: c.text("outcome", k), Start: c.number("start_utc", k),
		Advance: c.number("thrust_advance_s", k), Onset: c.number("onset_s", k), Roll: c.number("roll_start_s", k), Rotation: c.number("rotation_s", k),
		LiftOff: c.number("lift_off_s", k), Cut: c.number("thrust_cut_s", k), Stop: c.number("stop_s", k),
		Bracket: c.number("onset_latest_s", k) - c.number("onset_earliest_s", k), Peak: c.number("peak_ground_speed_kt", k),
		Told:  whole(c.number("checks_within", k)) + whole(c.number("checks_outside", k)),
		Class: c.text("reject_class", k), RejectSeverity: c.text("reject_severity", k),
		CutSpeed: c.number("ground_speed_at_cut_kt", k), Reaction: c.number("warning_reaction_s", k), Events: whole(c.number("events", k)),
	}
}

// sightingOf is the same of a row as it is written.
func sightingOf(r AttemptRow) Sighting {
	return Sighting{
		ID: r.ID, Key: r.Key, Folder: r.Folder, File: r.File, Recording: r.RecordingSHA256,
		Number: int(r.Attempt), Tail: r.Tail, Outcome: r.Outcome, Start: microOrNaN(r.StartUTC),
		Advance: told(r.ThrustAdvance), Onset: told(r.Onset), Roll: told(r.RollStart), Rotation: told(r.Rotation),
		LiftOff: told(r.LiftOff), Cut: told(r.ThrustCut), Stop: told(r.Stop),
		Bracket: told(r.OnsetLatest) - told(r.OnsetEarliest), Peak: told(r.PeakSpeed),
		Told:  int(r.Within + r.Outside),
		Class: r.Class, RejectSeverity: r.RejectSeverity, CutSpeed: told(r.GroundAtCut), Reaction: told(r.Reaction), Events: int(r.Events),
	}
}

var recordingSpanColumns = []string{"key", "folder", "file", "recording_sha256", "tail", "start_utc", "duration_s"}

func recordingSpanAt(c columnSet, k int) RecordingSpan {
	return RecordingSpan{
		Next: Next{Folder: c.text("folder", k), File: c.text("file", k), Recording: c.text("recording_sha256", k)},
		Tail: c.text("tail", k), Start: c.number("start_utc", k), Duration: c.number("duration_s", k),
	}
}

func recordingSpanOf(s *Summary) RecordingSpan {
	f := flightColumns(s)
	return RecordingSpan{
		Next: Next{Folder: f.Folder, File: f.File, Recording: f.RecordingSHA256},
		Tail: f.Tail, Start: microOrNaN(f.StartUTC), Duration: s.Recording.Duration,
	}
}

// look finds the attempts of the view that more than one recording holds.
func (v *View) look() error {
	var spans []RecordingSpan
	duration := map[string]float64{} // by flight folder
	for r, err := range viewRows(v, RecordingsTable, recordingSpanColumns, recordingSpanAt, func(s *Summary, yield func(RecordingSpan) bool) bool {
		return yield(recordingSpanOf(s))
	}) {
		if err != nil {
			return fmt.Errorf("look for attempts in several recordings: %w", err)
		}
		spans, duration[r.Folder] = append(spans, r), r.Duration
	}
	var all []Sighting
	for s, err := range viewRows(v, AttemptsTable, sightingColumns, sightingAt, func(s *Summary, yield func(Sighting) bool) bool {
		flight := flightColumns(s)
		for i := range s.Attempts {
			if !yield(sightingOf(attemptRow(flight, &s.Attempts[i]))) {
				return false
			}
		}
		return true
	}) {
		if err != nil {
			return fmt.Errorf("look for attempts in several recordings: %w", err)
		}
		if d, ok := duration[s.Folder]; ok {
			s.Duration = d
		} else {
			s.Duration = math.NaN()
		}
		all = append(all, s)
	}
	v.seen = SeenTwice(all, spans)
	v.byID = make(map[string]*Seen, 2*len(v.seen))
	for i := range v.seen {
		for k := range v.seen[i].Sightings {
			v.byID[v.seen[i].Sightings[k].ID] = &v.seen[i]
		}
	}
	return nil
}

// Seen are the attempts of the view that more than one recording holds, or
// whose end another does, in the order of tail and time.
func (v *View) Seen() []Seen { return v.seen }

// SeenAs is the attempt that an attempt ID is a sighting of, nil for one that
// lies in one recording only.
func (v *View) SeenAs(id string) *Seen { return v.byID[id] }

// counts says whether the view has the attempt: of several sightings it has
// the one that counts.
func (v *View) counts(id string) bool {
	s := v.byID[id]
	return s == nil || s.Counts(id)
}

// ended gives an attempt the end that another recording holds of it.
func (v *View) ended(a AttemptView) AttemptView {
	s := v.byID[a.ID]
	if s == nil || !s.Split() {
		return a
	}
	end := &s.Sightings[s.End]
	a.Outcome, a.Class, a.RejectSeverity, a.CutSpeed, a.Reaction = end.Outcome, end.Class, end.RejectSeverity, end.CutSpeed, end.Reaction
	return a
}
