package whatif

import (
	"math"

	"rollonset/detect/configuration"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// limits are the changed limits; NaN is one that stays as it is.
type limits struct{ Min, Max, Margin float64 }

// verdict is whether the attempt is an event under the changed limits.
type verdict int

const (
	no verdict = iota
	perhaps
	surely
)

// judge judges a finding that could be told. Limits that only widen make no
// new event, limits that only narrow lose none; beyond that it is what the
// onset and the least margin say.
func (l limits) judge(f *archive.FindingView, rule *profile.Check) verdict {
	event := f.State == string(configuration.Outside)
	wider, narrower := l.against(f)
	switch {
	case event && narrower:
		return surely
	case !event && wider:
		return no
	case math.IsNaN(f.Worst) && math.IsNaN(f.Margin):
		if event {
			return surely
		}
		return no
	}
	onset, touched, clear := l.out(f)
	switch {
	case onset && lasting(rule), touched && lasting(rule):
		return surely
	case onset, touched:
		return perhaps
	case clear:
		return no
	}
	return perhaps
}

// lasting says that one sample out of limits is an event: nothing must last,
// and the check matters at every speed.
func lasting(rule *profile.Check) bool {
	return rule != nil && rule.Persistence == 0 && rule.SpeedFrom <= 0 && math.IsInf(rule.SpeedTo, 1)
}

// against says whether the changed limits lie nowhere inside, or nowhere
// outside those that applied.
func (l limits) against(f *archive.FindingView) (wider, narrower bool) {
	if !math.IsNaN(l.Margin) {
		return l.Margin <= 0, l.Margin >= 0
	}
	low, high := open(f.LimitLow, -1), open(f.LimitHigh, 1)
	newLow, newHigh := instead(l.Min, low), instead(l.Max, high)
	return newLow <= low && newHigh >= high, newLow >= low && newHigh <= high
}

// open is a limit, infinite where there is none on that side.
func open(limit float64, side int) float64 {
	if math.IsNaN(limit) {
		return math.Inf(side)
	}
	return limit
}

func instead(changed, limit float64) float64 {
	if math.IsNaN(changed) {
		return limit
	}
	return changed
}

// out says whether the value at the onset is out of the changed limits,
// whether the worst value surely is, and whether surely none is.
func (l limits) out(f *archive.FindingView) (onset, touched, clear bool) {
	if !math.IsNaN(l.Margin) {
		return f.Margin < l.Margin, f.Worst < l.Margin, f.Worst >= l.Margin
	}
	low, high := open(f.LimitLow, -1), open(f.LimitHigh, 1)
	newLow, newHigh := instead(l.Min, low), instead(l.Max, high)
	onset = f.Value < newLow || f.Value > newHigh
	if math.IsNaN(f.Worst) {
		return onset, false, false
	}
	// Every value lay at least the least margin inside both limits, so these
	// bound them all; the worst value is one of the two bounds.
	least, most := low+f.Worst, high-f.Worst
	clear = least >= newLow && most <= newHigh
	touchedLow, touchedHigh := !math.IsInf(least, 0) && (least < newLow || least > newHigh), !math.IsInf(most, 0) && (most < newLow || most > newHigh)
	switch {
	case math.IsInf(least, 0):
		touched = touchedHigh
	case math.IsInf(most, 0):
		touched = touchedLow
	default:
		touched = touchedLow && touchedHigh
	}
	return onset, touched, clear
}
