package archive

import (
	"math"
	"time"
)

// TypeOrProfile is the type of the aircraft, or the name of the profile where
// the recording does not tell the type: a profile is that of one type.
func (p *Place) TypeOrProfile() string {
	if p.Type == "" {
		return p.Profile
	}
	return p.Type
}

// Place is where and when a row of the view happened; a text that is not
// known is "", a date that is not known the zero time.
type Place struct {
	Key, Folder                   string
	Tail, Type, Aerodrome, Runway string
	Flight                        string
	Date                          time.Time // day in UTC
	Profile, ProfileSHA256        string    // name and hash
}

// FindingView is what trends and what-if read of a row of tables/findings; a
// figure that could not be told is NaN.
type FindingView struct {
	Place
	ID, Outcome          string // of the attempt
	Check, State, Reason string
	Unit, Limit          string
	Severity             string
	Life                 bool
	Value                float64 // at the onset
	LimitLow, LimitHigh  float64 // NaN when open or not told
	Margin, Worst        float64 // at the onset, and the least over the judged time
}

// AttemptView is what trends and reports read of a row of tables/attempts.
type AttemptView struct {
	Place
	ID, Outcome     string
	Where           EventPlace // by which its reviews are found
	Class           string     // of a reject, "" otherwise
	RejectSeverity  string
	Verdict         string  // of the warning cross-check
	CutSpeed        float64 // ground speed at the thrust cut, kt
	Reaction        float64 // s from the warning to the first action
	Events          int
	Severity, Rule  string // of the worst event
	Within, Outside int
	Untold          int
}

var placeColumns = []string{"key", "folder", "tail", "type", "flight", "aerodrome", "runway", "date", "profile", "profile_sha256"}

var findingViewColumns = append(placeColumns[:len(placeColumns):len(placeColumns)],
	"attempt_id", "outcome", "check", "state", "reason", "unit", "limit", "severity", "life", "value", "limit_low", "limit_high", "margin", "worst_margin")

var attemptViewColumns = append(placeColumns[:len(placeColumns):len(placeColumns)],
	"recording_sha256", "start_utc", "onset_s", "thrust_advance_s",
	"attempt_id", "outcome", "reject_class", "reject_severity", "warning_verdict", "ground_speed_at_cut_kt", "warning_reaction_s",
	"events", "severity", "severity_rule", "checks_within", "checks_outside", "checks_untold")

func placeAt(c columnSet, k int) Place {
	return Place{
		Key: c.text("key", k), Folder: c.text("folder", k), Tail: c.text("tail", k), Type: c.text("type", k), Flight: c.text("flight", k),
		Aerodrome: c.text("aerodrome", k), Runway: c.text("runway", k), Date: dateOf(c.number("date", k)),
		Profile: c.text("profile", k), ProfileSHA256: c.text("profile_sha256", k),
	}
}

// dateOf is a day counted from 1970-01-01; the zero time for NaN.
func dateOf(days float64) time.Time {
	if math.IsNaN(days) {
		return time.Time{}
	}
	return time.Unix(int64(days)*86400, 0).UTC()
}

func findingView(c columnSet, k int) FindingView {
	return FindingView{
		Place: placeAt(c, k), ID: c.text("attempt_id", k), Outcome: c.text("outcome", k),
		Check: c.text("check", k), State: c.text("state", k), Reason: c.text("reason", k), Unit: c.text("unit", k), Limit: c.text("limit", k),
		Severity: c.text("severity", k), Life: c.number("life", k) == 1, Value: c.number("value", k),
		LimitLow: c.number("limit_low", k), LimitHigh: c.number("limit_high", k), Margin: c.number("margin", k), Worst: c.number("worst_margin", k),
	}
}

func attemptView(c columnSet, k int) AttemptView {
	return AttemptView{
		Place: placeAt(c, k), ID: c.text("attempt_id", k), Outcome: c.text("outcome", k),
		Where: where(c.text("tail", k), c.text("recording_sha256", k), c.number("start_utc", k), c.number("onset_s", k), c.number("thrust_advance_s", k)),
		Class: c.text("reject_class", k), RejectSeverity: c.text("reject_severity", k), Verdict: c.text("warning_verdict", k),
		CutSpeed: c.number("ground_speed_at_cut_kt", k), Reaction: c.number("warning_reaction_s", k),
		Events: whole(c.number("events", k)), Severity: c.text("severity", k), Rule: c.text("severity_rule", k),
		Within: whole(c.number("checks_within", k)), Outside: whole(c.number("checks_outside", k)), Untold: whole(c.number("checks_untold", k)),
	}
}

// where is the place of an attempt from its row: start in microseconds of UTC,
// NaN when it is not known, and the onset or else the thrust advance.
func where(tail, recording string, start, onset, advance float64) EventPlace {
	p := EventPlace{Tail: tail, Recording: recording, At: onset}
	if math.IsNaN(onset) {
		p.At = advance
	}
	if math.IsNaN(p.At) {
		p.At = 0 // as PlaceOf
	} else if !math.IsNaN(start) {
		p.UTC = time.UnixMicro(int64(start + p.At*1e6)).UTC().Format(time.RFC3339Nano)
	}
	return p
}

// microOrNaN is a UTC of a row as the view reads it.
func microOrNaN(v *int64) float64 {
	if v == nil {
		return math.NaN()
	}
	return float64(*v)
}

// whole is a count; a column that an old table lacks counts nothing.
func whole(v float64) int {
	if math.IsNaN(v) {
		return 0
	}
	return int(v)
}

// told is a figure of a row as it is written, NaN for null.
func told(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

func placeOf(f *FlightColumns) Place {
	out := Place{
		Key: f.Key, Folder: f.Folder, Tail: f.Tail, Type: f.Type, Flight: f.Flight,
		Aerodrome: f.Aerodrome, Runway: f.Runway, Profile: f.Profile, ProfileSHA256: f.ProfileSHA256,
	}
	if f.Date != nil {
		out.Date = dateOf(float64(*f.Date))
	}
	return out
}

// findingViewOf and attemptViewOf are the views of rows as they are written,
// for folders that lie in no table yet.
func findingViewOf(r FindingRow) FindingView {
	return FindingView{
		Place: placeOf(&r.FlightColumns), ID: r.ID, Outcome: r.Outcome, Check: r.Check, State: r.State, Reason: r.Reason, Unit: r.Unit, Limit: r.Limit,
		Severity: r.Severity, Life: r.Life, Value: told(r.Value), LimitLow: told(r.LimitLow), LimitHigh: told(r.LimitHigh), Margin: told(r.Margin), Worst: told(r.Worst),
	}
}

func attemptViewOf(r AttemptRow) AttemptView {
	return AttemptView{
		Place: placeOf(&r.FlightColumns), ID: r.ID, Outcome: r.Outcome, Class: r.Class,
		Where:          where(r.Tail, r.RecordingSHA256, microOrNaN(r.StartUTC), told(r.Onset), told(r.ThrustAdvance)),
		RejectSeverity: r.RejectSeverity, Verdict: r.Verdict,
		CutSpeed: told(r.GroundAtCut), Reaction: told(r.Reaction), Events: int(r.Events), Severity: r.Severity, Rule: r.Rule,
		Within: int(r.Within), Outside: int(r.Outside), Untold: int(r.Untold),
	}
}
