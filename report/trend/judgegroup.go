package trend

import (
	"maps"
	"slices"
)

// minExpected is how many events a group must be due in the watched period to
// be worth a sum of its own. It is decided by takeoffs and baseline only, so
// it cannot be swayed by what is to be found.
const minExpected = 3

// groups compares types, bases, runways and tails with each other, and runs a
// sum by month on each.
func (j *judge) groups() {
	period := j.out.Watched
	if period.Months() == 0 {
		period = j.out.Span
	}
	for i, s := range j.all {
		for _, by := range Ways() {
			j.out.Series[i].Groups = append(j.out.Series[i].Groups, j.grouping(s, by, period))
		}
	}
	if j.out.Watched.Months() == 0 {
		return
	}
	j.levels()
	j.groupSums()
}

// grouping counts the groups of one kind and shrinks their rates.
func (j *judge) grouping(s *series, by By, period Period) Grouping {
	out := Grouping{By: by}
	total := within(s.months(), period)
	out.Unplaced = total.Told
	var counts []GroupCount
	var sum GroupCount
	for _, name := range slices.Sorted(maps.Keys(s.groups[by])) {
		t := within(s.groups[by][name], period)
		out.Unplaced -= t.Told
		g := GroupCount{j.events(t), float64(t.Told)}
		counts = append(counts, g)
		sum.Events += g.Events
		sum.Exposure += g.Exposure
		out.Members = append(out.Members, Group{Name: name, Tally: t, Rate: j.rateOf(t), Baseline: j.rateOf(within(s.groups[by][name], j.out.Baseline)), P: 1, Q: 1})
	}
	if sum.Events == 0 {
		return out // nothing to compare
	}
	out.Prior = EstimatePrior(counts)
	for i := range out.Members {
		m, g := &out.Members[i], counts[i]
		m.Shrunken = out.Prior.Shrink(g)
		m.Shrunken.Rate *= perThousand
		m.Shrunken.Interval = m.Shrunken.Interval.Times(perThousand)
		// Given all events, those of the group are binomial by its share of
		// the takeoffs: exact, however few they are.
		rest := GroupCount{sum.Events - g.Events, sum.Exposure - g.Exposure}
		if g.Exposure > 0 && rest.Exposure > 0 {
			m.P = binomialAtLeast(g.Events, sum.Events, g.Exposure/sum.Exposure)
		}
	}
	return out
}

// levels marks the groups whose rate is above that of the others, under
// false-discovery control over all groups of a kind and all series: when all
// groups are alike, the share of pages with an alert is at most the bound.
func (j *judge) levels() {
	// Each way of grouping is its own family of tests with a quarter of the
	// rule's share: forty tails must not blunt the view on three types.
	tests := 0
	for w, by := range Ways() {
		var members []*Group
		var of []*Series
		var p []float64
		for i := range j.out.Series {
			g := &j.out.Series[i].Groups[w]
			for k := range g.Members {
				if len(g.Members) > 1 && g.Members[k].Rate.Told > 0 {
					members, of, p = append(members, &g.Members[k]), append(of, &j.out.Series[i]), append(p, g.Members[k].P)
				}
			}
		}
		tests += len(p)
		bound := j.out.Budget.each(GroupRule, tests) * float64(tests) / float64(len(Ways()))
		best := -1
		for k, q := range FalseDiscovery(p) {
			m := members[k]
			m.Q, m.Alert = q, q <= bound
			if best < 0 || m.P < members[best].P {
				best = k
			}
			if m.Alert {
				j.alert(Alert{Rule: GroupRule, Series: of[k].Name, By: by, Where: m.Name, Since: j.out.Watched.From.Start(), Events: m.Rate.Events, Told: m.Rate.Told, Unreviewed: j.open(m.Tally), P: m.P, Tests: len(p), Bound: bound},
					"%s at %s %s: %s, all %s; shrunken %s per 1,000 (%s to %s), q %s.", of[k].Name, by, m.Name, m.Rate, of[k].WatchedRate,
					figure(m.Shrunken.Rate), figure(m.Shrunken.Interval.Low), figure(m.Shrunken.Interval.High), Probability(q))
			}
		}
		if best >= 0 && !members[best].Alert {
			m := members[best]
			j.quiet(GroupRule, "", by, "No %s is above the others by more than chance, in %d comparisons; the farthest is %s in %s: %s, q %s; an alert needs at most %s.", by, len(p), m.Name, of[best].Name, m.Rate, Probability(m.Q), Probability(bound))
		}
	}
}

// groupSums runs the sums. The reference of a group is its own baseline,
// shrunken, so that a base that always had more events is no news.
func (j *judge) groupSums() {
	type watch struct {
		series *Series
		group  *Group
		by     By
		ref    reference
		months []stretch
	}
	// All groups fit to be watched are found first: the share of each depends
	// on how many there are.
	var watches []watch
	for i, s := range j.all {
		for w, by := range Ways() {
			g := &j.out.Series[i].Groups[w]
			refs := j.references(s, by)
			for k := range g.Members {
				m := &g.Members[k]
				ref := refs[m.Name]
				if len(g.Members) < 2 || !(ref.rate*float64(m.Rate.Told) >= minExpected) {
					m.Sum.Why = "too few events are due to be watched by a sum of its own"
					continue
				}
				watches = append(watches, watch{&j.out.Series[i], m, by, ref, j.watchedMonths(s.groups[by][m.Name])})
			}
		}
	}
	chance := j.out.Budget.each(GroupSumRule, len(watches))
	signals, counts := map[By]int{}, map[By]int{}
	for _, w := range watches {
		var since Tally
		w.group.Sum, since = j.sum(w.ref, chance, w.months)
		if w.group.Sum.Watched {
			counts[w.by]++
		}
		if w.group.Sum.Alarm {
			signals[w.by]++
		}
		j.sumAlert(Alert{Rule: GroupSumRule, Series: w.series.Name, By: w.by, Where: w.group.Name}, &w.group.Sum, since, w.group.Baseline, w.series.Name+" at "+string(w.by)+" "+w.group.Name)
	}
	for _, by := range Ways() {
		if signals[by] == 0 {
			j.quiet(GroupSumRule, "", by, "No sum of a single %s signals; %d of them were watched, at the others too few events are expected for a sum of their own (fewer than %d).", by, counts[by], minExpected)
		}
	}
}

// references are the shrunken baseline rates of the groups of one kind.
func (j *judge) references(s *series, by By) map[string]reference {
	out := map[string]reference{}
	names := slices.Sorted(maps.Keys(s.groups[by]))
	var counts []GroupCount
	exposure := 0.0
	for _, name := range names {
		t := within(s.groups[by][name], j.out.Baseline)
		counts = append(counts, GroupCount{j.events(t), float64(t.Told)})
		exposure += float64(t.Told)
	}
	if exposure == 0 {
		return out
	}
	prior := EstimatePrior(counts)
	for i, name := range names {
		post := prior.Shrink(counts[i])
		out[name] = reference{post.Rate, post.shape}
	}
	return out
}

func (j *judge) watchedMonths(months map[Month]*Tally) []stretch {
	var out []stretch
	for _, m := range slices.Sorted(maps.Keys(months)) {
		if j.out.Watched.Has(m) {
			out = append(out, stretch{m.Start(), *months[m]})
		}
	}
	return out
}
