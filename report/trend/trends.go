package trend

import "time"

// Trends is all that is told about an archive's rates, margins and coverage.
// It is a function of the rows, in whatever order they come, and the options.
// A float that cannot be told is NaN, an upper end without bound +Inf; a
// writer of JSON must turn both into null.
type Trends struct {
	Span              Period // from the first to the last month with a row
	Baseline, Watched Period // Watched is what follows the baseline
	BaselineWhy       string // how the baseline was chosen, in words; "" without one
	// ValidOnly is whether only events reviewed as valid count; Level is that of
	// the intervals.
	ValidOnly     bool
	Level         float64
	Rows, Undated int // rows read, and those without a date, left out
	Series        []Series
	Measures      []Measure // values without verdict
	Alerts        []Alert   // in order of Since, rule, series and place
	Quiet         []Quiet   // what was looked at and is not significant
	Blind         []Blind   // tails on which a check is not told at all
	Budget        Budget
	Notes         []string // what limits the above, for footnotes
}

// Series is one check, or one class of rejects.
type Series struct {
	Kind Kind
	Name string // of the check; RejectsAll, RejectsLow or RejectsHigh
	Unit string // of the margins

	Total                 Tally
	Rate                  Rate // of all months; judged events
	ValidRate             Rate // events reviewed as valid only
	BaselineRate          Rate
	WatchedRate           Rate
	Change                Ratio   // watched over baseline
	CoverBase, CoverWatch float64 // share of attempts told
	Caution               string  // "" or why a fall of the rate is no good news
	Months                []Point // every month of the span
	Between               Between
	Sum                   SumState
	SPI                   SPI
	Groups                []Grouping // by type, base, runway, tail
	Margins               []Margins  // for each type, and "" for all together
	Markers               []Effect
}

// The series of rejects: all, and the three classes that together are all. The
// boundary between low and high speed is that of the profile.
const (
	RejectsAll    = "rejects, all"
	RejectsBefore = "rejects, before the roll"
	RejectsLow    = "rejects, low-speed"
	RejectsHigh   = "rejects, high-speed"
)

// Tally counts attempts and what became of them.
type Tally struct {
	Attempts int
	Told     int // attempts on which the check could be told
	Lifeless int // of those, within limits by a parameter without proof of life
	// Events by review. Nuisance and DataFault are in no rate.
	Valid, Unreviewed, Nuisance, DataFault int
	// High are those of Valid and Unreviewed with high severity.
	High int
}

// Coverage is the share of attempts told, NaN without attempts.
func (t Tally) Coverage() float64 { return float64(t.Told) / float64(t.Attempts) }

// Rate is events per 1,000 takeoffs on which the check could be told.
type Rate struct {
	Events, Told int
	PerThousand  float64  // NaN when nothing was told
	Interval     Interval // exact, per 1,000
}

// Point is one month. Limits are per 1,000 and drawn about the baseline rate
// for the month's own denominator: Sigma normal at 3 standard deviations,
// Exact by Poisson probability; Alert is the rate above which, strictly, the
// month is an alert (+Inf when it is not watched).
type Point struct {
	Month        Month
	Tally        Tally
	Rate         Rate
	Sigma, Exact Limits
	Alert        float64
	Signal       bool
}

// Between is takeoffs between events, to the day: events of one day are taken
// as evenly spread over its takeoffs. It raises no alert of its own.
type Between struct {
	Gaps  []float64 // the last 200, in order of time
	Chart Geometric // from all gaps; zero without any
	// Since is takeoffs since the last event, and Chance the probability of
	// none in so many at the rate of all months.
	Since, Chance float64
	Times         EventTimes // whether events come closer; zero below 2 events
}

// SumState is the cumulative sum over the watched period.
type SumState struct {
	Watched bool // false when the baseline has too few events; see Why
	Why     string
	// Reference is per 1,000: the baseline rate with half an event added, for
	// a group its baseline drawn to that of all. Signal is in events. RunLength is takeoffs to a
	// false signal on the average, were the reference the true rate; Detect
	// those to a signal at Factor times that rate.
	Reference, Signal, RunLength, Detect, Factor float64
	Now                                          float64
	Months                                       []float64 // highest value in each watched month
	Alarm                                        bool
	Since                                        time.Time // when the sum that signals left 0
	Signalled                                    time.Time // when it first came to the signal
}

// SPI is the safety performance indicator over the watched months.
type SPI struct {
	Watched   bool // false with less than six baseline months with exposure
	Lines     SPILines
	Crossings []Crossing
}

// Crossing is a run of months above a line, with the exact probability of so
// many events in these months given those of the baseline. Alert says that it
// is beyond chance too; small counts cross the lines often without.
type Crossing struct {
	Rule        string
	First, Last Month
	Rate        Rate
	P           float64
	Alert       bool
}

// Grouping is the series split one way, over the watched period (all months
// when there is none).
type Grouping struct {
	By       By
	Unplaced int // told, but the group is not known
	Prior    Prior
	Members  []Group // in order of name
}

// Group is one type, base, runway or tail.
type Group struct {
	Name     string
	Tally    Tally
	Rate     Rate
	Baseline Rate     // of the group itself; nothing told without a baseline
	Shrunken Shrunken // per 1,000; zero when no group has an event
	// P is the exact one-sided probability of so many events at the rate of
	// all others, Q the same under false-discovery control over all groups of
	// this kind and all series.
	P, Q  float64
	Alert bool
	Sum   SumState // by month
}

// Margins are the percentiles of margins by month, and their drift.
type Margins struct {
	Type   string // "" for all types together, which is not tested
	Unit   string // of this type; of all together "" unless they measure alike
	Months []MonthSpread
	Drift  Drift // of the medians, slope per month; its P is two-sided
	// P is that of the rule, and the one that pages give: one-sided, towards
	// the limit, for margins; two-sided for measures. NaN when not tested.
	P     float64
	Alert bool
}

// MonthSpread is the spread of one month.
type MonthSpread struct {
	Month Month
	Spread
}

// Measure is a measured value without verdict, such as a reaction time.
type Measure struct {
	Name, Unit string
	Margins    []Margins
}

// Effect compares the months before a marker with those after.
type Effect struct {
	Marker        Marker
	Before, After Rate
	Ratio         Ratio // after over before
	// From is the first day compared and To the last: Months before the
	// marker and as many from it on, or as far as the archive reaches. They
	// are on the wrong side of the marker where the archive has none there.
	From, To time.Time
	Months   int
	// CoverBefore and CoverAfter are the shares of attempts told.
	CoverBefore, CoverAfter float64
}

// Rule is the name of a rule that raises alerts.
type Rule string

// The rules.
const (
	MonthRule    Rule = "month above its probability limit"
	SumRule      Rule = "cumulative sum at its signal"
	SPIRule      Rule = "safety performance indicator above its line"
	GroupRule    Rule = "group above the others"
	GroupSumRule Rule = "cumulative sum of a group at its signal"
	DriftRule    Rule = "margins drift"
	CoverageRule Rule = "check no longer told"
	LifeRule     Rule = "check no longer shows life"
)

// Alert is something beyond chance that a person must look at.
type Alert struct {
	Rule   Rule
	Series string
	By     By     // "" for the whole fleet
	Where  string // the group, "" for the whole fleet
	Since  time.Time
	Begin  Begin // of a rate: when it most likely began to be higher; the same for every rule at a place
	// Events and Told are those of the figure: since Since, or in the months
	// of the rule. For coverage Events is how many were told and Told how
	// many attempts there were; both are 0 for a drift.
	Events, Told int
	Unreviewed   int // of Events, those that nobody has reviewed
	// P is the probability of a figure so far out if nothing had changed, by
	// the test of the rule: one-sided, two-sided for the drift of a measure
	// (TwoSided). Of a sum, whose start the data chose, it describes the
	// events since and is no test.
	P        float64
	TwoSided bool
	// Tests is how many tests the rule makes on this page. Bound is what P
	// must not exceed for an alert (Q, for groups against the others); of a
	// sum, the most that the chance of its false signal may be.
	Tests int
	Bound float64
	Text  string // the figure with its denominator, one sentence
}

// Quiet is a rule that was applied and found nothing, or could not be applied.
type Quiet struct {
	Rule   Rule
	Series string
	By     By
	Text   string
}

// Blind is a tail on which a check was told on no attempt of the watched
// period: no change, so no alert, but nobody is watched there.
type Blind struct {
	Series, Tail string
	Attempts     int
	Since        Month // first month of the span from which on nothing is told
}

// Budget says how many false alerts the rules give when nothing has changed.
type Budget struct {
	PerYear float64 // as asked for
	// Expected is the most that this page holds on the average: PerYear for
	// the years watched.
	Expected float64
	Years    float64
	Rules    []RuleBudget
}

// RuleBudget is the share of one rule: Expected false alerts of this page,
// spread over so many Tests.
type RuleBudget struct {
	Rule     Rule
	Tests    int
	Expected float64
}
