package archive

// SchemaVersion is the version of the layout of summary.json. A reader must
// refuse a number that it does not know. The published JSON Schema is
// summary.schema.json beside this file.
const SchemaVersion = 1

// Summary is summary.json: everything that is told about one recording's
// flight. It is the truth of the archive; tables and pages are made from it.
// Times are seconds from the first sample of the recording unless they say
// UTC. Pointers that are null could not be told.
type Summary struct {
	Schema    int              `json:"schema"`
	Caution   string           `json:"caution"`
	Key       string           `json:"key"` // hash of recording, profile and detection version, hex
	Flight    Flight           `json:"flight"`
	Recording RecordingInfo    `json:"recording"`
	Profile   ProfileInfo      `json:"profile"`
	Versions  Versions         `json:"versions"`
	Attempts  []AttemptSummary `json:"attempts"`
	LookAlike []LookAlike      `json:"look_alikes"`
	Coverage  []CheckCoverage  `json:"coverage"`
	Sensors   []Sensor         `json:"sensors"`
	Notes     []string         `json:"notes"`
	Clip      *FileHash        `json:"clip"` // null when there was nothing to clip
}

// Flight is the identity of the flight; empty strings are not known.
type Flight struct {
	Folder    string `json:"folder"` // relative to the archive, with slashes
	Tail      string `json:"tail"`
	Type      string `json:"type"`
	Flight    string `json:"flight"`
	Aerodrome string `json:"aerodrome"`
	Runway    string `json:"runway"`
	Date      string `json:"date"`
	StartUTC  string `json:"start_utc"` // RFC 3339 with nanoseconds, "" when unknown
	From      string `json:"from"`
	Plan      *Plan  `json:"plan"`
}

// Plan is the flight-list entry, null fields were not listed.
type Plan struct {
	List        string   `json:"list"`
	Entry       string   `json:"entry"` // SHA-256 of what the entry says, hex
	Line        int      `json:"line"`
	PlannedFlap *float64 `json:"planned_flap"`
	V1          *float64 `json:"v1_kt"`
	VR          *float64 `json:"vr_kt"`
	Weight      *float64 `json:"weight_kg"`
	CG          *float64 `json:"cg_percent"`
	Trim        *float64 `json:"trim"`
	Runway      *float64 `json:"runway_m"`
}

// RecordingInfo is the file that was read.
type RecordingInfo struct {
	File       string  `json:"file"` // base name
	SHA256     string  `json:"sha256"`
	Bytes      int64   `json:"bytes"`
	Format     string  `json:"format"`
	Rows       int64   `json:"rows"`
	Columns    int     `json:"columns"`
	Used       int     `json:"columns_used"`
	Clock      string  `json:"clock"`
	ClockStart float64 `json:"clock_start_s"` // the file's own clock at the first sample
	Duration   float64 `json:"duration_s"`
}

// ProfileInfo names the profile that was used.
type ProfileInfo struct {
	Name    string `json:"name"`
	Title   string `json:"title"`
	Version string `json:"version"`
	File    string `json:"file"`
	SHA256  string `json:"sha256"`
}

// Versions are the versions that the result depends on.
type Versions struct {
	Detection string `json:"detection"`
	Program   string `json:"program"`
}

// Moment is an instant with its bracket, seconds.
type Moment struct {
	At       float64 `json:"at_s"`
	Earliest float64 `json:"earliest_s"`
	Latest   float64 `json:"latest_s"`
	UTC      string  `json:"utc"` // "" when the recording has no date
}

// Reading is a value with its bracket.
type Reading struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// AttemptSummary is one takeoff attempt. Moments that did not happen are null.
type AttemptSummary struct {
	Number        int              `json:"number"`
	ID            string           `json:"id"` // event id for commands: <first 12 of key>-<number>
	Outcome       string           `json:"outcome"`
	Why           string           `json:"why"`
	Rolling       bool             `json:"rolling"`
	ThrustAdvance *Moment          `json:"thrust_advance"`
	Onset         *Moment          `json:"onset"`
	RollStart     *Moment          `json:"roll_start"`
	Rotation      *Moment          `json:"rotation"`
	LiftOff       *Moment          `json:"lift_off"`
	ThrustCut     *Moment          `json:"thrust_cut"`
	Peak          *Moment          `json:"peak"`
	Stop          *Moment          `json:"stop"`
	PeakSpeed     *Reading         `json:"peak_ground_speed_kt"`
	OnsetSpeed    *Reading         `json:"onset_ground_speed_kt"`
	GroundBy      string           `json:"ground_by"`
	ThrustBy      string           `json:"thrust_by"`
	Engines       []int            `json:"engines"`
	NextMinutes   *float64         `json:"next_attempt_min"`
	Findings      []FindingSummary `json:"findings"`
	Warning       *WarningSummary  `json:"warning"` // null for a touch-and-go
	Reject        *RejectSummary   `json:"reject"`
	Events        []EventSummary   `json:"events"`
}

// FindingSummary is the result of one check.
type FindingSummary struct {
	Check       string        `json:"check"`
	Title       string        `json:"title"`
	State       string        `json:"state"`
	AtOnset     string        `json:"at_onset"`
	InRoll      bool          `json:"in_roll"`
	Reason      string        `json:"reason"`
	JudgedFrom  float64       `json:"judged_from_s"`
	JudgedTo    float64       `json:"judged_to_s"`
	Parameter   string        `json:"parameter"`
	Unit        string        `json:"unit"`
	Value       *float64      `json:"value"`
	Text        string        `json:"text"`
	Raw         string        `json:"raw"`
	Age         *float64      `json:"age_s"`
	Limit       string        `json:"limit"`
	LimitLow    *float64      `json:"limit_low"`  // null when open or not told
	LimitHigh   *float64      `json:"limit_high"` // null when open or not told
	Margin      *float64      `json:"margin"`
	WorstMargin *float64      `json:"worst_margin"`
	MarginShare *float64      `json:"margin_share"`
	Stretches   []OutOfLimits `json:"out_of_limits"`
	Life        bool          `json:"life"`
	LifeWhy     string        `json:"life_why"`
	Severity    string        `json:"severity"`
	Rule        string        `json:"severity_rule"`
	ProfileLine int           `json:"profile_line"`
}

// OutOfLimits is one stretch out of limits.
type OutOfLimits struct {
	From      Moment   `json:"from"`
	To        Moment   `json:"to"`
	SpeedFrom *Reading `json:"ground_speed_from_kt"`
	SpeedTo   *Reading `json:"ground_speed_to_kt"`
	Ended     string   `json:"ended"`
	Value     *float64 `json:"value"`
	Text      string   `json:"text"`       // the value farthest outside as pages print it
	ValueAt   float64  `json:"value_at_s"` // of the sample that it is from
	Margin    *float64 `json:"margin"`
	Limit     string   `json:"limit"` // as it applied there
}

// WarningSummary is the cross-check with the recorded warning.
type WarningSummary struct {
	Verdict     string   `json:"verdict"`
	Reason      string   `json:"reason"`
	Due         []string `json:"due"`
	NotRequired []string `json:"not_required"` // out of limits, and the basis requires no warning
	Untold      []string `json:"untold"`
	UntoldDue   []string `json:"untold_due"` // those for which the basis requires a warning
	First       *Moment  `json:"first"`
	Ended       *Moment  `json:"ended"`
	// Delay is from the condition of DelayOf under thrust to the warning; the
	// samples put it between DelayEarliest and DelayLatest.
	Delay         *float64 `json:"delay_s"`
	DelayEarliest *float64 `json:"delay_earliest_s"`
	DelayLatest   *float64 `json:"delay_latest_s"`
	DelayOf       string   `json:"delay_of"`
	Reaction      *float64 `json:"reaction_s"`
	Severity      string   `json:"severity"`
	Rule          string   `json:"severity_rule"`
}

// RejectSummary is the measurement of a reject.
type RejectSummary struct {
	Class            string   `json:"class"`
	FirstAction      *Action  `json:"first_action"`
	Actions          []Action `json:"actions"`
	Order            string   `json:"order"`
	GroundAtAction   *Reading `json:"ground_speed_at_action_kt"`
	AirAtAction      *Reading `json:"airspeed_at_action_kt"`
	GroundAtCut      *Reading `json:"ground_speed_at_cut_kt"`
	AirAtCut         *Reading `json:"airspeed_at_cut_kt"`
	PeakGround       *Reading `json:"peak_ground_speed_kt"`
	PeakAir          *Reading `json:"peak_airspeed_kt"`
	AgainstV1        string   `json:"against_v1"`
	V1               *float64 `json:"v1_kt"`
	V1From           string   `json:"v1_from"`
	Cues             []Action `json:"cues"`
	MeanDeceleration *float64 `json:"mean_deceleration_g"`
	PeakDeceleration *float64 `json:"peak_deceleration_g"`
	ToCut            *float64 `json:"distance_to_cut_m"`
	ToCutLow         *float64 `json:"distance_to_cut_low_m"`
	ToCutHigh        *float64 `json:"distance_to_cut_high_m"`
	ToPeak           *float64 `json:"distance_to_peak_m"`
	ToStop           *float64 `json:"distance_to_stop_m"`
	ToStopLow        *float64 `json:"distance_to_stop_low_m"`
	ToStopHigh       *float64 `json:"distance_to_stop_high_m"`
	CutToStop        *float64 `json:"distance_cut_to_stop_m"`
	CutToStopTime    *float64 `json:"time_cut_to_stop_s"`
	PositionToStop   *float64 `json:"position_distance_to_stop_m"`
	Energy           *float64 `json:"energy_mj"`
	EnergyPerWheel   *float64 `json:"energy_per_wheel_mj"`
	EnergyWhy        string   `json:"energy_why"`
	HeadingDeviation *float64 `json:"heading_deviation_deg"`
	LateralDeviation *float64 `json:"lateral_deviation_m"`
	RunwayLeft       *float64 `json:"runway_left_m"`
	RunwayLeftIf     string   `json:"runway_left_if"`
	Severity         string   `json:"severity"`
	Rule             string   `json:"severity_rule"`
}

// Action is a thing done or a cue seen, with its moment.
type Action struct {
	What string `json:"what"`
	At   Moment `json:"at"`
}

// EventSummary is an event that a person must see.
type EventSummary struct {
	Kind     string `json:"kind"`
	Check    string `json:"check"`
	Severity string `json:"severity"`
	Rule     string `json:"rule"`
}

// LookAlike is advanced thrust on the ground that is no takeoff attempt.
type LookAlike struct {
	Kind string  `json:"kind"`
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
	Why  string  `json:"why"`
}

// CheckCoverage counts on how many attempts a check could be told.
type CheckCoverage struct {
	Check    string `json:"check"`
	Told     int    `json:"told"`
	Attempts int    `json:"attempts"`
	Life     bool   `json:"life"`
	LifeWhy  string `json:"life_why"`
}

// Sensor is what one parameter delivered over the whole recording.
type Sensor struct {
	Parameter string         `json:"parameter"`
	Names     []string       `json:"recorded_names"`
	Unit      string         `json:"unit"`
	Samples   int            `json:"samples"`
	Period    float64        `json:"period_s"`
	Expected  *float64       `json:"expected_period_s"`
	Masked    map[string]int `json:"masked"`
	States    []string       `json:"states_seen"`
	Low       *float64       `json:"lowest"`
	High      *float64       `json:"highest"`
}

// FileHash names a file of the archive and the hash of its bytes.
type FileHash struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}
