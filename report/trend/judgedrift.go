package trend

import (
	"maps"
	"math"
	"slices"
)

// DriftMonths is how many months with enough takeoffs the rank test wants,
// for its normal law to be fair.
const DriftMonths = 8

// drifting is one test: a series or measure on one type.
type drifting struct {
	name    string
	margins *Margins
	measure bool
}

// drifts makes the percentiles of margins and measures, and tests the monthly
// medians of each type from the first month of the baseline on. Types are
// tested one by one, for the fleet's median moves with its mix.
func (j *judge) drifts() {
	var tests []drifting
	collect := func(name string, measure bool, margins []Margins) {
		for i := range margins {
			if margins[i].Type != "" && margins[i].Drift.N >= DriftMonths {
				tests = append(tests, drifting{name, &margins[i], measure})
			}
		}
	}
	for i, s := range j.all {
		j.out.Series[i].Margins = j.margins(s)
		collect(s.name, false, j.out.Series[i].Margins)
	}
	for i, s := range j.c.inOrder(MeasureKind) {
		j.out.Measures[i].Margins = j.margins(s)
		collect(s.name, true, j.out.Measures[i].Margins)
	}
	if j.out.Watched.Months() == 0 {
		return
	}
	tail := j.out.Budget.each(DriftRule, len(tests))
	for _, t := range tests {
		j.drift(t, tail)
	}
}

func (j *judge) drift(t drifting, tail float64) {
	m, d := t.margins, t.margins.Drift
	// A margin that grows is drift too, but no bad news; a measure has no
	// good side, so half of the chance is for each.
	p, sided := d.P/2, "one-sided, towards the limit"
	if t.measure {
		p, sided = d.P, "two-sided"
	} else if d.S > 0 {
		p = 1 - p
	}
	first, last := endMonths(m.Months, j.opt.MinMonth, j.driftPeriod())
	m.P, m.Alert = p, p <= tail
	if !m.Alert {
		j.quiet(DriftRule, t.name, ByType, "%s: the medians of %d months show no drift beyond chance (%s per month; p %s, %s; an alert needs at most %s).", m.Type, d.N, figure(d.Slope), Probability(p), sided, Probability(tail))
		return
	}
	j.alert(Alert{Rule: DriftRule, Series: t.name, By: ByType, Where: m.Type, Since: first.Month.Start(), P: p, TwoSided: t.measure},
		"%s on type %s: the median went from %s (%s, %d takeoffs) to %s (%s, %d takeoffs), %s per month over the %d months tested, without regard to events; p %s, %s.",
		t.name, m.Type, figure(first.P50), first.Month, first.N, figure(last.P50), last.Month, last.N, figure(d.Slope), d.N, Probability(p), sided)
}

// driftPeriod is what is tested for drift.
func (j *judge) driftPeriod() Period {
	if j.out.Watched.Months() == 0 {
		return j.out.Span
	}
	return Period{j.out.Baseline.From, j.out.Span.To}
}

// endMonths are the first and last month of a period with enough takeoffs.
func endMonths(months []MonthSpread, least int, p Period) (first, last MonthSpread) {
	for _, m := range months {
		if m.N < least || !p.Has(m.Month) {
			continue
		}
		if first.Month == 0 {
			first = m
		}
		last = m
	}
	return first, last
}

// margins are the percentiles of a series: all types together first.
func (j *judge) margins(s *series) []Margins {
	if len(s.values) == 0 {
		return nil
	}
	fleet := map[Month]digest{}
	for _, months := range s.values {
		for month, d := range months {
			sum := entry(fleet, month, func() digest { return digest{} })
			for cell, count := range d {
				sum[cell] += count
			}
		}
	}
	out := []Margins{j.spreads("", fleet)}
	out[0].Unit = s.unit
	for _, unit := range s.units {
		if unit != s.unit {
			out[0].Unit = ""
		}
	}
	for _, name := range slices.Sorted(maps.Keys(s.values)) {
		if name != "" { // of no known type: in the whole only
			m := j.spreads(name, s.values[name])
			m.Unit = s.units[name]
			out = append(out, m)
		}
	}
	return out
}

func (j *judge) spreads(name string, months map[Month]digest) Margins {
	out := Margins{Type: name, P: math.NaN()}
	var times, medians []float64
	for _, month := range slices.Sorted(maps.Keys(months)) {
		m := MonthSpread{month, months[month].spread()}
		out.Months = append(out.Months, m)
		if m.N >= j.opt.MinMonth && j.driftPeriod().Has(month) {
			times, medians = append(times, float64(month)), append(medians, m.P50)
		}
	}
	out.Drift = MannKendall(times, medians)
	return out
}
