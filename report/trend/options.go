package trend

import (
	"fmt"
	"math"
	"time"
)

// Options say how trends are made. The zero value takes the defaults.
type Options struct {
	// Baseline are the months with which the later ones are compared. They
	// are frozen: more data do not move them. BaselineRule says the default;
	// where it gives none, nothing is compared and there is no alert.
	Baseline Period
	// ValidOnly judges by events reviewed as valid only. Otherwise those that
	// nobody has reviewed count too: not looked at is not cleared.
	ValidOnly bool
	// Level of the confidence intervals, 0.95 by default.
	Level float64
	// FalseAlerts is how many alerts a year all rules together may raise, on
	// the average, when nothing has changed; 1 by default.
	FalseAlerts float64
	// Factor is the growth of a rate to which the cumulative sums are tuned,
	// 2 by default.
	Factor float64
	// CoverageFall is by how much the share of attempts on which a check is
	// told must fall, beside being no chance, to be an alert; 0.2 by default.
	CoverageFall float64
	// MinMonth is on how many takeoffs a month's percentiles must rest to be
	// tested for drift; 10 by default.
	MinMonth int
	// Markers are dated actions; MarkerMonths is how many months before and
	// after one are compared, 12 by default.
	Markers      []Marker
	MarkerMonths int
}

// The figures of the default baseline.
const (
	baselineMonths   = 6 // with takeoffs, of a calendar year
	baselineFollowed = 6 // months after the year
	fewestMonths     = 4 // with takeoffs, of an archive that is halved
)

// BaselineRule is how the baseline is chosen when none is given, in the one
// wording that help, notes and pages use.
var BaselineRule = fmt.Sprintf("the latest calendar year with takeoffs in at least %d of its months and at least %d months after it; failing that, the first half of the months with takeoffs, when there are at least %d",
	baselineMonths, baselineFollowed, fewestMonths)

// Marker is a dated action: a new procedure, a bulletin, a modification.
type Marker struct {
	Date  time.Time // the first day on which it is in force
	Label string
	Check string // the series that it concerns, "" for all
	Line  int    `json:"-"` // in the file that it was read from, 0 without; not in an Effect
}

func (o Options) withDefaults() (Options, error) {
	set := func(value *float64, standard float64) {
		if *value == 0 {
			*value = standard
		}
	}
	set(&o.Level, 0.95)
	set(&o.FalseAlerts, 1)
	set(&o.Factor, 2)
	set(&o.CoverageFall, 0.2)
	if o.MinMonth == 0 {
		o.MinMonth = 10
	}
	if o.MarkerMonths == 0 {
		o.MarkerMonths = 12
	}
	bad := func(what string, value float64, want string) error {
		return fmt.Errorf("trend options: %s is %v; give %s", what, value, want)
	}
	switch {
	case !(o.Level > 0 && o.Level < 1):
		return o, bad("the level of intervals", o.Level, "a number between 0 and 1, such as 0.95")
	case !(o.FalseAlerts > 0 && o.FalseAlerts <= 100):
		return o, bad("the number of false alerts a year", o.FalseAlerts, "a number above 0 and up to 100, such as 1")
	case !(o.Factor > 1 && o.Factor <= 10):
		return o, bad("the growth that sums are tuned to", o.Factor, "a number above 1 and up to 10, such as 2")
	case !(o.CoverageFall > 0 && o.CoverageFall <= 1):
		return o, bad("the fall of coverage", o.CoverageFall, "a share above 0 and up to 1, such as 0.2")
	case o.MinMonth < 1 || o.MarkerMonths < 1:
		return o, bad("a number of takeoffs or months", math.Min(float64(o.MinMonth), float64(o.MarkerMonths)), "1 or more")
	case o.Baseline != Period{} && o.Baseline.Months() == 0:
		return o, fmt.Errorf("trend options: the baseline ends (%s) before it begins (%s); give its first and last month", o.Baseline.To, o.Baseline.From)
	}
	return o, nil
}
