package configuration

import (
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// State is a verdict in three-valued logic.
type State string

// The three states. Unknown is never a milder Within: it says that the data
// cannot tell, and the finding's Reason says why.
const (
	Within  State = "within limits"
	Outside State = "out of limits"
	Unknown State = "cannot be told"
)

// HowEnded is how an out-of-limits stretch ended.
type HowEnded string

// The ends of an out-of-limits stretch.
const (
	Corrected HowEnded = "corrected"
	ByCut     HowEnded = "thrust cut"
	ByRotate  HowEnded = "rotation"
	ByLiftOff HowEnded = "lift-off"
	ByDataEnd HowEnded = "data end"
	BySpeed   HowEnded = "speed range left"
)

// Stretch is one stretch of a judged span in which a check was out of limits.
type Stretch struct {
	From, To           span.Moment
	SpeedFrom, SpeedTo flightdata.Reading // ground speed, kt
	Ended              HowEnded
	// Arose is when the condition and the thrust first were there together:
	// the samples around the change, or the thrust advance when it was out of
	// limits before it. The warning is counted from here.
	Arose span.Moment
	// Value is the value farthest outside, Margin its distance to the nearest
	// limit, negative; NaN for a discrete, of which Value is the first state.
	// Text is the value as pages print it, ValueAt the sample it is from.
	Value, Margin float64
	Text          string
	ValueAt       span.Instant
	// Limit is the limit in words as it applied there: a band moves with the
	// weight, the slats' limit with the flap lever.
	Limit string
}

// Finding is the result of one check on one attempt.
type Finding struct {
	Check string // name in the profile
	Title string
	State State // over the whole judged span: Outside if any stretch counts
	// AtOnset is the state at the onset; InRoll says that the check was
	// within limits at the onset and went out afterwards.
	AtOnset State
	InRoll  bool
	// Reason says why it cannot be told, or what limits the verdict.
	Reason string

	Judged span.Span
	// Value is what was read at the onset, NaN when nothing was; Text is the
	// same as pages print it, with unit, or the state of a discrete. Raw is
	// the recorded name and unit behind it.
	Value float64
	Text  string
	Raw   string
	Age   time.Duration // of the sample behind Value
	Limit string        // the limits in words, with units, as they applied
	// LimitLow and LimitHigh are the edges that applied at the onset: ∓Inf
	// when open, NaN when they cannot be told or do not exist.
	LimitLow, LimitHigh float64
	// Margin is the distance from Value to the nearest limit at the onset,
	// negative outside; Worst the smallest over the judged span. NaN for a
	// discrete. MarginShare is Margin as a share of the band's width.
	Margin, Worst, MarginShare float64

	Stretches []Stretch
	// Life says whether every state that the check depends on was seen in
	// this recording; LifeWhy says what was not.
	Life    bool
	LifeWhy string

	// Severity is "" unless State is Outside; Rule says which rule set it.
	Severity string
	Rule     string
	// ProfileLine is the line of the check in the profile.
	ProfileLine int
}

// Verdict is the cross-check of the recorded warning with the recomputed
// condition.
type Verdict string

// The five verdicts.
const (
	WarnBoth      Verdict = "both"
	WarnNeither   Verdict = "neither"
	WarnCondition Verdict = "condition only"
	WarnOnly      Verdict = "warning only"
	WarnUnknown   Verdict = "cannot be told"
)

// Warning is the cross-check of one attempt.
type Warning struct {
	Verdict Verdict
	Reason  string
	// Due names the checks that were out of limits and for which the
	// certification basis requires the warning; NotRequired those that were
	// out of limits and for which it requires none.
	Due, NotRequired []string
	// Untold names every check that could not be told, UntoldDue those of
	// them for which the basis requires the warning.
	Untold, UntoldDue []string
	// First is the first recorded warning of the attempt, Ended its end.
	First, Ended span.Moment
	// Delay is from the condition under thrust to the warning; nil unless
	// the verdict is both and the warning sounded while the condition held.
	Delay *Delay
	// Reaction is from the warning to the first action of a reject, nil when
	// there was none of either.
	Reaction *time.Duration
	Severity string
	Rule     string
}

// Delay is the time from a condition under thrust to its warning. Neither end
// is known better than the samples around it, so it is an interval; At is its
// best guess. It is negative when the warning came first.
type Delay struct {
	At, Earliest, Latest time.Duration
	Check                string // the check that it is counted from
}
