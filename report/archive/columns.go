package archive

// The rows of the tables. A column is named as in summary.json, with its unit
// at the end of the name; one that could not be told is null, and so is a
// text that is not known. Times in seconds count from the first sample of the
// recording; UTC is in microseconds, the finest that all engines read. Columns are only ever added, never renamed, so that queries over
// years of runs go on working.
//
// The types describe what is written. To read a table, use a query engine, or
// the rows of the Parquet library: its reader into structs gives 0 for a null
// in an embedded struct.

// FlightColumns open every row of every table: which flight it is about.
type FlightColumns struct {
	// Key is the identity of the result. Rows of one recording under an older
	// profile or version have another key and the same recording_sha256.
	Key             string `parquet:"key"`
	Folder          string `parquet:"folder"` // flight folder, relative to the archive
	Tail            string `parquet:"tail,optional,dict"`
	Type            string `parquet:"type,optional,dict"`
	Flight          string `parquet:"flight,optional"`
	Aerodrome       string `parquet:"aerodrome,optional,dict"`
	Runway          string `parquet:"runway,optional,dict"`
	Date            *int32 `parquet:"date,date"`                        // day of the start in UTC; first of the month of a de-identified flight
	StartUTC        *int64 `parquet:"start_utc,timestamp(microsecond)"` // of the first sample
	File            string `parquet:"file"`                             // base name of the recording
	RecordingSHA256 string `parquet:"recording_sha256"`
	Profile         string `parquet:"profile,dict"` // name
	ProfileVersion  string `parquet:"profile_version,optional,dict"`
	ProfileSHA256   string `parquet:"profile_sha256,dict"`
	Detection       string `parquet:"detection,dict"` // version of the detection logic
}

// AttemptRow is a row of tables/attempts: one takeoff attempt.
type AttemptRow struct {
	FlightColumns
	Attempt int32  `parquet:"attempt"`    // number, from 1 in each recording
	ID      string `parquet:"attempt_id"` // name of the attempt in commands
	Outcome string `parquet:"outcome,dict"`
	Why     string `parquet:"why,optional"` // what decided the outcome
	Rolling bool   `parquet:"rolling"`      // rolling takeoff

	// The instants, null when they did not happen.
	ThrustAdvance *float64 `parquet:"thrust_advance_s"`
	Onset         *float64 `parquet:"onset_s"`
	OnsetEarliest *float64 `parquet:"onset_earliest_s"` // bracket of the onset
	OnsetLatest   *float64 `parquet:"onset_latest_s"`
	OnsetUTC      *int64   `parquet:"onset_utc,timestamp(microsecond)"`
	RollStart     *float64 `parquet:"roll_start_s"`
	Rotation      *float64 `parquet:"rotation_s"`
	LiftOff       *float64 `parquet:"lift_off_s"`
	ThrustCut     *float64 `parquet:"thrust_cut_s"`
	Peak          *float64 `parquet:"peak_s"` // highest ground speed of a reject
	Stop          *float64 `parquet:"stop_s"`
	Next          *float64 `parquet:"next_attempt_min"` // to the next thrust advance

	PeakSpeed  *float64 `parquet:"peak_ground_speed_kt"`
	OnsetSpeed *float64 `parquet:"onset_ground_speed_kt"`
	GroundBy   string   `parquet:"ground_by,optional,dict"` // what told ground from air
	ThrustBy   string   `parquet:"thrust_by,optional,dict"` // parameter thrust was judged on

	// How many checks came out in each of the three states.
	Within  int32 `parquet:"checks_within"`
	Outside int32 `parquet:"checks_outside"`
	Untold  int32 `parquet:"checks_untold"`

	// The cross-check with the recorded warning, null when none was made.
	Verdict       string   `parquet:"warning_verdict,optional,dict"`
	WarningReason string   `parquet:"warning_reason,optional"`
	WarningFirst  *float64 `parquet:"warning_first_s"`
	WarningEnded  *float64 `parquet:"warning_ended_s"`
	WarningDelay  *float64 `parquet:"warning_delay_s"`
	Reaction      *float64 `parquet:"warning_reaction_s"`

	RejectColumns

	// Events are those that a person must see; Severity is that of the worst,
	// "low", "medium" or "high", null without events.
	Events   int32  `parquet:"events"`
	Severity string `parquet:"severity,optional,dict"`
	Rule     string `parquet:"severity_rule,optional"`
}

// RejectColumns are the measures of a reject in AttemptRow, all null for an
// attempt that was not given up.
type RejectColumns struct {
	Class            string   `parquet:"reject_class,optional,dict"`
	FirstAction      string   `parquet:"first_action,optional,dict"` // what was done first
	FirstActionAt    *float64 `parquet:"first_action_s"`
	Order            string   `parquet:"action_order,optional"` // which order is not resolvable
	GroundAtAction   *float64 `parquet:"ground_speed_at_action_kt"`
	AirAtAction      *float64 `parquet:"airspeed_at_action_kt"`
	GroundAtCut      *float64 `parquet:"ground_speed_at_cut_kt"`
	AirAtCut         *float64 `parquet:"airspeed_at_cut_kt"`
	PeakGround       *float64 `parquet:"reject_peak_ground_speed_kt"`
	PeakAir          *float64 `parquet:"reject_peak_airspeed_kt"`
	AgainstV1        string   `parquet:"against_v1,optional,dict"`
	V1               *float64 `parquet:"v1_kt"`
	Cue              string   `parquet:"first_cue,optional,dict"` // precedes the first action; no cause is claimed
	MeanDeceleration *float64 `parquet:"mean_deceleration_g"`
	PeakDeceleration *float64 `parquet:"peak_deceleration_g"`
	ToCut            *float64 `parquet:"distance_to_cut_m"`
	ToPeak           *float64 `parquet:"distance_to_peak_m"`
	ToStop           *float64 `parquet:"distance_to_stop_m"`
	PositionToStop   *float64 `parquet:"position_distance_to_stop_m"`
	Energy           *float64 `parquet:"energy_mj"` // upper bound
	EnergyPerWheel   *float64 `parquet:"energy_per_wheel_mj"`
	HeadingDeviation *float64 `parquet:"heading_deviation_deg"`
	LateralDeviation *float64 `parquet:"lateral_deviation_m"`
	RunwayLeft       *float64 `parquet:"runway_left_m"`
	RejectSeverity   string   `parquet:"reject_severity,optional,dict"`
}

// FindingRow is a row of tables/findings: one check on one attempt.
type FindingRow struct {
	FlightColumns
	Attempt  int32  `parquet:"attempt"`
	ID       string `parquet:"attempt_id"`
	Outcome  string `parquet:"outcome,dict"` // of the attempt
	OnsetUTC *int64 `parquet:"onset_utc,timestamp(microsecond)"`

	Check   string `parquet:"check,dict"` // name in the profile
	State   string `parquet:"state,dict"` // "within limits", "out of limits", "cannot be told"
	AtOnset string `parquet:"at_onset,optional,dict"`
	InRoll  bool   `parquet:"in_roll"` // went out of limits after the onset
	Reason  string `parquet:"reason,optional"`

	JudgedFrom float64  `parquet:"judged_from_s"`
	JudgedTo   float64  `parquet:"judged_to_s"`
	Parameter  string   `parquet:"parameter,optional,dict"`
	Unit       string   `parquet:"unit,optional,dict"` // of the value, the limits and the margins
	Value      *float64 `parquet:"value"`              // at the onset; index of the state of a discrete
	Text       string   `parquet:"text,optional"`
	Age        *float64 `parquet:"age_s"`
	Limit      string   `parquet:"limit,optional"`
	LimitLow   *float64 `parquet:"limit_low"` // null when open or not told
	LimitHigh  *float64 `parquet:"limit_high"`
	Margin     *float64 `parquet:"margin"` // at the onset, negative outside
	Worst      *float64 `parquet:"worst_margin"`
	Share      *float64 `parquet:"margin_share"` // margin over the width of the band

	// The stretches out of limits: how many, start of the first, end of the
	// last and how that ended; null when there are none.
	Stretches  int32    `parquet:"out_of_limits"`
	OutFrom    *float64 `parquet:"out_of_limits_from_s"`
	OutTo      *float64 `parquet:"out_of_limits_to_s"`
	OutSpeed   *float64 `parquet:"out_of_limits_ground_speed_from_kt"` // at the start of the first
	OutSpeedTo *float64 `parquet:"out_of_limits_ground_speed_to_kt"`   // at the end of the last
	Ended      string   `parquet:"out_of_limits_ended,optional,dict"`

	Life        bool   `parquet:"life"` // every state it depends on was seen
	LifeWhy     string `parquet:"life_why,optional"`
	Severity    string `parquet:"severity,optional,dict"`
	Rule        string `parquet:"severity_rule,optional"`
	ProfileLine int32  `parquet:"profile_line"`
}

// RecordingRow is a row of tables/recordings: one recording that was read.
// What could not be read stands in the run record, which has its reason.
type RecordingRow struct {
	FlightColumns
	Bytes       int64   `parquet:"bytes"`
	Format      string  `parquet:"format,dict"`
	Rows        int64   `parquet:"rows"`
	Columns     int32   `parquet:"columns"`
	ColumnsUsed int32   `parquet:"columns_used"`
	Duration    float64 `parquet:"duration_s"`
	Attempts    int32   `parquet:"attempts"`
	Airborne    int32   `parquet:"attempts_airborne"`
	Rejected    int32   `parquet:"attempts_rejected"` // before the roll or in it
	LookAlikes  int32   `parquet:"look_alikes"`
	Events      int32   `parquet:"events"`
	// Told over Due is the coverage of all checks together; Coverage is the
	// JSON list "coverage" of the summary, a member for each check.
	Told     int32  `parquet:"checks_told"`
	Due      int32  `parquet:"checks_due"`
	Coverage string `parquet:"coverage,json"`
	// Samples counts the good samples of all parameters, Masked the others;
	// Masks is JSON: parameter, reason, count of masked samples.
	Samples    int64  `parquet:"samples"`
	Masked     int64  `parquet:"samples_masked"`
	Masks      string `parquet:"masks,json"`
	Notes      int32  `parquet:"notes"`
	ClipSHA256 string `parquet:"clip_sha256,optional"`
}
