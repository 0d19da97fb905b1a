package trend

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"
)

// stretch is a day or a month for a cumulative sum.
type stretch struct {
	start time.Time
	tally Tally
}

// reference is the rate that a sum compares with: per takeoff, and about how
// many events it rests on.
type reference struct {
	rate, shape float64
}

// sums runs the cumulative sum of each series, day by day.
func (j *judge) sums() {
	if j.out.Watched.Months() == 0 {
		return
	}
	chance := j.out.Budget.each(SumRule, len(j.all))
	for i, s := range j.all {
		out := &j.out.Series[i]
		base := out.BaselineRate
		// Half an event is added, as Jeffreys' prior of a Poisson rate has it:
		// a baseline without event is no proof of a rate of 0.
		ref := reference{(float64(base.Events) + 0.5) / float64(base.Told), float64(base.Events) + 0.5}
		var since Tally
		out.Sum, since = j.sum(ref, chance, j.watchedDays(s))
		j.sumAlert(Alert{Rule: SumRule, Series: s.name}, &out.Sum, since, base, s.name)
	}
}

func (j *judge) watchedDays(s *series) []stretch {
	var out []stretch
	for _, day := range slices.Sorted(maps.Keys(s.days)) {
		if j.out.Watched.Has(monthOfDay(day)) {
			out = append(out, stretch{dayStart(day), *s.days[day]})
		}
	}
	return out
}

// sum tunes the sum and runs it over stretches in order of time. The tally is
// that of the run that led to the signal and of all after it.
func (j *judge) sum(ref reference, chance float64, stretches []stretch) (SumState, Tally) {
	state := SumState{Reference: ref.rate * perThousand, Factor: j.opt.Factor}
	told := 0
	for _, s := range stretches {
		told += s.tally.Told
	}
	if told == 0 || !(ref.rate > 0) || math.IsInf(ref.rate, 1) {
		state.Why = "the check was not told in both periods"
		return state, Tally{}
	}
	c, ok := j.tuner.Tune(float64(told)*ref.rate, chance, ref.shape)
	if !ok {
		state.Why = fmt.Sprintf("the baseline has too few events (about %.0f) to watch %d takeoffs without a false signal", ref.shape, told)
		return state, Tally{}
	}
	state.Watched, state.Signal = true, c.Signal()
	state.RunLength, state.Detect = c.RunLength(1)/ref.rate, c.RunLength(j.opt.Factor)/ref.rate
	return state, j.run(&state, c, ref.rate, stretches)
}

// run takes the sum through the stretches and notes when a run began that came to the signal.
func (j *judge) run(state *SumState, c EventSum, rate float64, stretches []stretch) Tally {
	// When the sum last left 0 is the best guess of when the change began.
	// After the signal the run goes on, so that the figure is up to date.
	var run Tally
	var began time.Time
	state.Months = make([]float64, j.out.Watched.Months())
	for _, s := range stretches {
		before := state.Now
		state.Now = c.Next(before, j.events(s.tally), rate*float64(s.tally.Told))
		if before == 0 && state.Now > 0 && !state.Alarm {
			run, began = Tally{}, s.start
		}
		run.plus(s.tally)
		month := MonthOf(s.start) - j.out.Watched.From
		state.Months[month] = math.Max(state.Months[month], state.Now)
		if state.Now >= c.Signal() && !state.Alarm {
			state.Alarm, state.Since, state.Signalled = true, began, s.start
		}
	}
	return run
}

// sumAlert raises the alert of a sum, or says that there is none.
// base is the baseline rate of the same place, which is what a reader compares
// with; the sum itself runs about its reference (see SumState).
func (j *judge) sumAlert(a Alert, s *SumState, since Tally, base Rate, place string) {
	switch {
	case s.Alarm:
		rate := j.rateOf(since)
		a.Since, a.Events, a.Told, a.Unreviewed = s.Since, rate.Events, rate.Told, j.open(since)
		a.P = RateRatio(rate.Events, float64(rate.Told), base.Events, float64(base.Told), j.opt.Level).PHigher
		drawn := ""
		if a.By != "" {
			drawn = ", drawn to that of all " + figure(s.Reference) + " per 1,000"
		}
		j.alert(a, "%s: %s since %s, baseline %s%s; the sum tuned to %g times that rate signalled on %s and stands at %.1f, signal %.1f (were the baseline exact, a false signal %s).",
			place, rate, s.Since.Format(time.DateOnly), base, drawn, s.Factor, s.Signalled.Format(time.DateOnly), s.Now, s.Signal, Once(s.RunLength))
	case a.By != "": // groups are summed up in one line by the caller
	case s.Watched:
		j.quiet(a.Rule, a.Series, "", "The sum for %g times the rate stands at %.1f, signal %.1f; such a growth would take %s to show.", s.Factor, s.Now, s.Signal, Takeoffs(s.Detect))
	default:
		j.quiet(a.Rule, a.Series, "", "Not watched by a sum: %s.", s.Why)
	}
}
