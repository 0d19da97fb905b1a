package trend

import "math"

// Begin is when a rate most likely began to be higher, and the first and last
// month that the counts do not exclude. It is zero when no split of the months
// has the higher rate after it. Events and Told are those from Likely on.
type Begin struct {
	Likely, From, To Month
	Events, Told     int
}

// Known says whether there is one.
func (b Begin) Known() bool { return b.Likely != 0 }

// notExcluded is how far below the largest log likelihood a month may lie: one
// that is a twentieth as likely or less is excluded. Half of the 95 % point of
// chi-squared, 1.92, held the true month in 89 to 92 % of simulated rises; this
// holds it in 95 % and more (TestBeginHoldsTheTrueMonth).
const notExcluded = 2.9957 // the natural logarithm of 20

// BeginOf splits months at every place into two Poisson rates and takes the
// likeliest. events and told are those of each month from first on; the split
// must have the higher rate after it. Unlike the start of a cumulative sum it
// does not hang on where a baseline ends. Source: likelihood of a change in a
// sequence of Poisson counts; the formula is the product of the two.
func BeginOf(first Month, events, told []int) Begin {
	allEvents, allTold := 0, 0
	for i := range events {
		allEvents, allTold = allEvents+events[i], allTold+told[i]
	}
	fit := make([]float64, len(events))
	best, x, n := -1, 0, 0
	for i := range fit {
		fit[i] = math.Inf(-1)
		if higher := float64(allEvents-x) * float64(n); n > 0 && allTold > n && higher > float64(x)*float64(allTold-n) {
			fit[i] = logLikelihood(x, n) + logLikelihood(allEvents-x, allTold-n)
			if best < 0 || fit[i] > fit[best] {
				best = i
			}
		}
		x, n = x+events[i], n+told[i]
	}
	if best < 0 {
		return Begin{}
	}
	out := Begin{Likely: first + Month(best), From: first + Month(best), To: first + Month(best)}
	for i := best; i < len(events); i++ {
		out.Events, out.Told = out.Events+events[i], out.Told+told[i]
	}
	for i, f := range fit {
		if f >= fit[best]-notExcluded {
			out.From, out.To = min(out.From, first+Month(i)), max(out.To, first+Month(i))
		}
	}
	return out
}

// logLikelihood is that of events at their own rate, without the terms that do
// not depend on the split.
func logLikelihood(events, told int) float64 {
	if events == 0 {
		return 0
	}
	return float64(events) * math.Log(float64(events)/float64(told))
}

// begins says of every alert on a rate when the rate began to be higher: the
// same for all rules at a place, and over all months, whatever the baseline.
func (j *judge) begins() {
	for i := range j.out.Alerts {
		a := &j.out.Alerts[i]
		switch a.Rule {
		case MonthRule, SumRule, SPIRule, GroupRule, GroupSumRule:
			a.Begin = j.begin(a.Series, a.By, a.Where)
		}
	}
}

func (j *judge) begin(name string, by By, where string) Begin {
	for i, s := range j.all {
		if s.name != name {
			continue
		}
		months, sum := s.months(), j.out.Series[i].Sum
		if by != "" {
			months, sum = s.groups[by][where], j.out.Series[i].groupSum(by, where)
		}
		span := Period{j.out.Span.From, j.risenTo(&sum)}
		events, told := make([]int, span.Months()), make([]int, span.Months())
		for month, t := range months {
			if span.Has(month) {
				events[month-span.From], told[month-span.From] = j.events(*t), t.Told
			}
		}
		return BeginOf(span.From, events, told)
	}
	return Begin{}
}

// risenTo is the last month to look at: of a rise that is over, the month in
// which its sum stood highest, for what follows is no part of it.
func (j *judge) risenTo(s *SumState) Month {
	if !s.FellBack() {
		return j.out.Span.To
	}
	highest := 0
	for i, v := range s.Months {
		if v > s.Months[highest] {
			highest = i
		}
	}
	return j.out.Watched.From + Month(highest)
}

// FellBack says whether a rise is over, as far as the sum tells: it came to its
// signal and has lost half of that or more since.
func (s *SumState) FellBack() bool { return s.Alarm && s.Now < s.Signal/2 }

// groupSum is the sum of one group, zero when there is no such group.
func (s *Series) groupSum(by By, where string) SumState {
	for _, g := range s.Groups {
		for _, m := range g.Members {
			if g.By == by && m.Name == where {
				return m.Sum
			}
		}
	}
	return SumState{}
}
