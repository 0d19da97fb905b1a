package profile

import (
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// LanguageVersion is the version of the profile language that this program
// reads; a profile names it in its key "rollonset".
const LanguageVersion = 1

// Profile is everything the program knows of one aircraft type or subfleet.
// Values are in the unit stated with each field; a threshold or limit on a
// parameter is in the canonical unit of that parameter (ParameterRule.Canonical).
type Profile struct {
	Name    string // short, used in file names and tables: letters, digits, - and _
	Title   string // in words
	Version string // the operator's own version of this profile
	Reason  string // why this version was made
	Types   []string
	Tails   []string // exact tails, or patterns with * and ?
	Engines int

	Path   string // file it was read from
	SHA256 string // of the bytes of that file, hex
	Source []byte // the bytes themselves, for the archive

	File       FileRule
	Time       TimeRule
	CSV        CSVRule
	Long       *LongRule // nil: a column per parameter
	Identity   IdentityRule
	NoSample   []string        // cell texts that stand for "no sample", beside blank and NaN
	Parameters []ParameterRule // in the order of the file
	Thrust     ThrustRule
	Attempt    AttemptRule
	Checks     []Check
	Warning    *WarningRule // nil: the profile names no recorded warning
	Reject     RejectRule
	Severity   SeverityRule
}

// FileRule reads the identity of a recording off its file name.
type FileRule struct {
	// Pattern is the file name without its extensions, with the placeholders
	// {tail} {type} {flight} {date} {time} {aerodrome} {runway} {any}; date is
	// YYYYMMDD, time HHMM or HHMMSS. "" reads nothing.
	Pattern string
}

// ParameterRule maps recorded names to one canonical parameter.
type ParameterRule struct {
	Parameter flightdata.Parameter
	Columns   []string // recorded names, in order of preference
	// InRow says that Columns are no alternatives but hold the samples of one
	// row, in the order of time and evenly spaced in it.
	InRow bool
	// Filled says that the exporter repeated each sample in the rows after it;
	// then Rate is set, and repetitions within 1/Rate are no samples.
	Filled bool
	// Bits is the part of a word that a discrete is.
	Bits Bits
	// AgreeWithin is how far two sources may be apart before a note says so,
	// canonical unit; NaN when they are not compared.
	AgreeWithin float64
	Unit        unit.Unit // as recorded
	Canonical   unit.Unit // as the program works with it
	// Rate is how many samples per second the recorder is expected to
	// deliver; zero when the profile does not say.
	Rate float64
	// States of a discrete: for each canonical state, in the order of the
	// parameter's definition, the recorded cell texts that mean it.
	States []StateRule
	// Names of the states of a discrete that the profile itself defines.
	Kind flightdata.Kind
	// Lo and Hi bound what is physically possible, canonical unit; NaN when
	// the definition of the parameter decides.
	Lo, Hi float64
	// Floor is the value at or below which an airspeed is not valid,
	// canonical unit; NaN when there is none.
	Floor float64
	Line  int
}

// StateRule names the recorded texts of one canonical state.
type StateRule struct {
	State string
	Cells []string
}

// Engines says how many engines must meet a condition.
type Engines string

// The engine counts of an arming rule: any one, at least half, or all.
const (
	AnyEngine   Engines = "any"
	HalfEngines Engines = "half"
	AllEngines  Engines = "all"
)

// Need is how many of n engines that is.
func (e Engines) Need(n int) int {
	switch e {
	case AnyEngine:
		return min(1, n)
	case AllEngines:
		return n
	}
	return (n + 1) / 2
}

// ThrustRule is the arming rule: when thrust counts as advanced for takeoff.
type ThrustRule struct {
	Measure     flightdata.Parameter // n1, epr, torque or thrust_lever, without the engine
	Threshold   float64              // canonical unit of the measure
	Hysteresis  float64              // thrust counts as reduced below Threshold - Hysteresis
	Engines     Engines
	Persistence time.Duration // how long it must stay to count
	Line        int
}

// AttemptRule holds the bounds by which a takeoff attempt is told from its
// look-alikes. Speeds in kt. The defaults are common practice, no published
// source.
type AttemptRule struct {
	StartBelow    float64       // ground speed below which an attempt may start (60)
	OnsetAfter    time.Duration // onset is thrust advance + this (1 s)
	AirborneFor   time.Duration // an air state shorter than this is no lift-off (2 s)
	NoAdvance     time.Duration // a new advance within this undoes a cut (5 s)
	SpeedFall     float64       // a reject loses at least this, or stops (10)
	RolledFrom    float64       // below this peak speed the aircraft did not roll (5)
	TaxiBelow     float64       // thrust burst with a turn and a peak below this is taxi (30)
	TaxiTurn      float64       // heading change, deg, that makes a burst taxi (20)
	RunUpFrom     time.Duration // standing thrust longer than this is a run-up (15 s)
	RetryWithin   time.Duration // a later takeoff within this tells a reject from a run-up (15 min)
	AirborneSince time.Duration // airborne within this before: landing or touch-and-go (60 s)
	Line          int
}

// Check is one configuration rule. Exactly one of OneOf, Range, Band and
// State is set.
type Check struct {
	Name  string // unique in the profile: lower-case words, e.g. "flap lever"
	Title string // as a sentence part for pages, e.g. "flaps in a takeoff setting"

	OneOf *OneOf
	Range *Range
	Band  *Band
	State *State

	Judged      Judged
	Persistence time.Duration // out of limits for less than this does not count
	SpeedFrom   float64       // kt; the check matters from this ground speed …
	SpeedTo     float64       // … to this; +Inf when it always matters
	FarOutside  float64       // a margin worse than this (positive) raises severity; 0 never
	Severity    string        // "by speed", or a fixed "low", "medium", "high"
	// WarningDue says that out of limits on this check the aircraft's takeoff
	// configuration warning must sound; Basis names the certification rule.
	WarningDue bool
	Basis      string
	Line       int
}

// Judged is the span over which a check is judged.
type Judged struct {
	From string // "onset" or "roll start"
	To   string // "rotation" or "lift-off"; a reject always ends it
}

// PlannedSetting as the only OneOf setting stands for the planned value of
// the flight list; AsAtOnset for the value that held at the onset.
type SettingRule string

// The ways to say which settings a OneOf check takes.
const (
	ListedSettings SettingRule = ""            // the Settings
	PlannedSetting SettingRule = "planned"     // the value that the flight list plans
	AsAtOnset      SettingRule = "as at onset" // the value at the onset: nothing may move afterwards
)

// OneOf is a check that a value sits at one of several settings.
type OneOf struct {
	Parameter flightdata.Parameter
	Settings  []float64 // canonical unit, rising
	Rule      SettingRule
	Tolerance float64 // canonical unit; Settings ± Tolerance is within
}

// Range is a check that a value, or the difference of two, lies in [Min, Max].
type Range struct {
	Parameter flightdata.Parameter
	Minus     flightdata.Parameter // "" or the parameter that is subtracted
	Min, Max  float64              // canonical unit; ∓Inf when open
}

// Band is a check that a value lies between two edges that depend on one or
// two other parameters, bilinear between the nodes; outside the table the
// edges are those of the nearest node, and the finding says so.
type Band struct {
	Parameter flightdata.Parameter
	Over      []flightdata.Parameter // one or two; rows then columns of each table
	Tables    []Table
	// Select is the parameter whose setting chooses the table, "" when there
	// is one table for all.
	Select    flightdata.Parameter
	Tolerance float64 // a Select value within this of Table.Setting chooses it
}

// Table is one band table. Low and High have a row for each X node and in it
// a value for each Y node; a band over one parameter has one Y node, unused.
type Table struct {
	Setting float64   // of Band.Select; NaN when there is no Select
	X, Y    []float64 // nodes, strictly rising, canonical units of Over
	Low     [][]float64
	High    [][]float64
	Line    int
}

// State is a check that a discrete is in a given state.
type State struct {
	Parameter flightdata.Parameter
	Is        string
}

// WarningRule describes the recorded takeoff configuration warning.
type WarningRule struct {
	Parameter flightdata.Parameter
	// Within is how soon after the onset, or after the condition arose, the
	// warning must be seen to count as given.
	Within time.Duration
	Line   int
}

// RejectRule holds the bounds of the measures of a reject.
type RejectRule struct {
	Boundary     float64       // kt: below is low-speed, at or above high-speed
	HighFrom     float64       // kt: severity high at or above (120)
	CueWithin    time.Duration // cues are looked for this long before the first action (6 s); a warning still on then counts from its beginning
	BrakedWheels int           // zero when the profile does not say
	// BrakesOn and LeverOut are the levels at which brakes count as applied
	// and the speedbrake lever as out, canonical units; NaN: never told.
	BrakesOn, LeverOut float64
	Line               int
}

// SeverityRule grades configuration events by the highest ground speed, kt,
// at which the condition still held.
type SeverityRule struct {
	MediumFrom float64 // below is low (40)
	HighFrom   float64 // at or above is high (80)
	Line       int
}

// Find is the rule of a canonical parameter, nil when the profile maps none.
func (p *Profile) Find(name flightdata.Parameter) *ParameterRule {
	for i := range p.Parameters {
		if p.Parameters[i].Parameter == name {
			return &p.Parameters[i]
		}
	}
	return nil
}

// Reads lists the parameters that the check looks at, without repetition.
func (c *Check) Reads() []flightdata.Parameter {
	switch {
	case c.OneOf != nil:
		return []flightdata.Parameter{c.OneOf.Parameter}
	case c.Range != nil && c.Range.Minus != "":
		return []flightdata.Parameter{c.Range.Parameter, c.Range.Minus}
	case c.Range != nil:
		return []flightdata.Parameter{c.Range.Parameter}
	case c.State != nil:
		return []flightdata.Parameter{c.State.Parameter}
	}
	out := append([]flightdata.Parameter{c.Band.Parameter}, c.Band.Over...)
	if c.Band.Select != "" {
		out = append(out, c.Band.Select)
	}
	return out
}

// Watched is the parameter whose value the check judges.
func (c *Check) Watched() flightdata.Parameter { return c.Reads()[0] }
