package trend

import (
	"maps"
	"slices"
)

// watchedCover is the coverage of one series on one tail, or on the fleet.
type watchedCover struct {
	series string
	tail   string // "" for the fleet
	months map[Month]*Tally
}

// coverage looks for checks that are told on fewer attempts than before, or
// that show life on fewer, on the fleet and on each tail: a rate that fell
// because a sensor died is not good news.
func (j *judge) coverage() {
	if j.out.Watched.Months() == 0 {
		return
	}
	var covers []watchedCover
	for _, s := range j.all {
		if s.kind != CheckKind { // of a reject the outcome is told or not; no sensor stands behind it
			continue
		}
		covers = append(covers, watchedCover{s.name, "", s.months()})
		for _, tail := range slices.Sorted(maps.Keys(s.groups[ByTail])) {
			covers = append(covers, watchedCover{s.name, tail, s.groups[ByTail][tail]})
		}
	}
	// Untold attempts come in clusters (a sensor fails for a week), which the
	// exact test does not know; the fall of CoverageFall that is asked for too
	// keeps short clusters from being alerts.
	tests := len(covers) * j.out.Watched.Months()
	told, life := j.out.Budget.each(CoverageRule, tests), j.out.Budget.each(LifeRule, tests)
	found := 0
	for _, c := range covers {
		if j.blind(c) {
			continue
		}
		found += j.fall(c, CoverageRule, told, "told", func(t Tally) (int, int) { return t.Told, t.Attempts })
		found += j.fall(c, LifeRule, life, "told with proof of life", func(t Tally) (int, int) { return t.Told - t.Lifeless, t.Told })
	}
	if found == 0 && len(covers) > 0 {
		j.quiet(CoverageRule, "", ByTail, "No check is told, or shows life, on fewer attempts than in the baseline by more than chance: %d checks on tails and on the fleet, %d months.", len(covers), j.out.Watched.Months())
	}
}

// blind notes a tail on which nothing is told in the watched period though it
// flew, unless it was told in the baseline: that is a fall.
func (j *judge) blind(c watchedCover) bool {
	base, watched := within(c.months, j.out.Baseline), within(c.months, j.out.Watched)
	if c.tail == "" || watched.Attempts == 0 || watched.Told > 0 || base.Told > 0 {
		return false
	}
	since := Month(0)
	for _, m := range slices.Sorted(maps.Keys(c.months)) {
		if c.months[m].Told > 0 {
			since = 0
		} else if since == 0 {
			since = m
		}
	}
	j.out.Blind = append(j.out.Blind, Blind{c.series, c.tail, watched.Attempts, since})
	return true
}

// fall raises an alert for each run of months in which the share fell by
// CoverageFall against the baseline and by more than chance (exact test of
// two shares given their total), and reports how many were raised.
func (j *judge) fall(c watchedCover, rule Rule, tail float64, what string, share func(Tally) (int, int)) int {
	good, all := share(within(c.months, j.out.Baseline))
	if good == 0 {
		return 0 // never told before: nothing to fall from
	}
	var run Tally
	var since Month
	found, least := 0, 1.0
	flush := func() {
		if since != 0 {
			j.fallen(c, rule, what, since, least, run, share, good, all)
			found++
		}
		run, since, least = Tally{}, 0, 1
	}
	for _, m := range slices.Sorted(maps.Keys(c.months)) {
		x, n := share(*c.months[m])
		if !j.out.Watched.Has(m) || n == 0 {
			continue // a month without flights says nothing
		}
		p := hypergeometricAtMost(x, n, good+x, all-good+n-x)
		if p > tail || float64(good)/float64(all)-float64(x)/float64(n) < j.opt.CoverageFall {
			flush()
			continue
		}
		if since == 0 {
			since = m
		}
		run.plus(*c.months[m])
		least = min(least, p)
	}
	flush()
	return found
}

func (j *judge) fallen(c watchedCover, rule Rule, what string, since Month, p float64, run Tally, share func(Tally) (int, int), good, all int) {
	x, n := share(run)
	by, place := ByTail, "tail "+c.tail
	if c.tail == "" {
		by, place = "", "the whole fleet"
	}
	j.alert(Alert{Rule: rule, Series: c.series, By: by, Where: c.tail, Since: since.Start(), Events: x, Told: n, P: p},
		"%s on %s: %s on %d of %d attempts (%.0f %%) from %s on, in the baseline on %d of %d (%.0f %%).",
		c.series, place, what, x, n, 100*float64(x)/float64(n), since, good, all, 100*float64(good)/float64(all))
}
