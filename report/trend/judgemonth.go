package trend

import (
	"math"
	"time"
)

// months makes the month charts. A month is an alert when its count is above
// the prediction limit of the baseline for its own denominator.
func (j *judge) months() {
	tail := j.out.Budget.each(MonthRule, len(j.all)*j.out.Watched.Months())
	for i, s := range j.all {
		out, months := &j.out.Series[i], s.months()
		base := within(months, j.out.Baseline)
		for m := j.out.Span.From; j.out.Span.Months() > 0 && m <= j.out.Span.To; m++ {
			t := Tally{}
			if months[m] != nil {
				t = *months[m]
			}
			out.Months = append(out.Months, j.point(m, t, base, tail))
		}
		j.monthAlerts(out)
	}
}

func (j *judge) point(m Month, t, base Tally, tail float64) Point {
	p := Point{Month: m, Tally: t, Rate: j.rateOf(t), Alert: math.Inf(1)}
	told := float64(t.Told)
	none := Limits{math.NaN(), math.NaN(), math.NaN()}
	p.Sigma, p.Exact = none, none
	if t.Told == 0 || base.Told == 0 {
		return p // a month without exposure is no rate of zero
	}
	// The drawn lines stand about the baseline, so that a year of bad months
	// does not raise them; the baseline months themselves are drawn against
	// their own mean, but are never signals.
	common := float64(j.events(base)) / float64(base.Told)
	p.Sigma = rateLimits(common, told, 3).times(perThousand)
	p.Exact = PoissonLimits(common*told, ThreeSigma).times(perThousand / told)
	if j.out.Watched.Has(m) {
		limit := PredictionLimit(j.events(base), float64(base.Told), told, tail)
		p.Alert = limit / told * perThousand
		p.Signal = float64(j.events(t)) > limit
	}
	return p
}

func (l Limits) times(factor float64) Limits {
	return Limits{l.Low * factor, l.Center * factor, l.High * factor}
}

// monthAlerts raises one alert for each run of months above their limits.
func (j *judge) monthAlerts(s *Series) {
	if j.out.Watched.Months() == 0 {
		return
	}
	var run Tally
	var since time.Time
	any := false
	// A run is told by the figure of all its months together; one month of
	// three events invites the wrong story.
	flush := func() {
		if run.Attempts > 0 {
			rate := j.rateOf(run)
			p := RateRatio(rate.Events, float64(rate.Told), s.BaselineRate.Events, float64(s.BaselineRate.Told), j.opt.Level).PHigher
			j.alert(Alert{Rule: MonthRule, Series: s.Name, Since: since, Events: rate.Events, Told: rate.Told, Unreviewed: j.open(run), P: p},
				"%s: %s from %s on, above the month's probability limit; baseline %s.", s.Name, rate, MonthOf(since), s.BaselineRate)
		}
		run = Tally{}
	}
	for _, p := range s.Months {
		if !p.Signal {
			if p.Tally.Told > 0 { // an empty month ends no run
				flush()
			}
			continue
		}
		if run.Attempts == 0 {
			since = p.Month.Start()
		}
		run.plus(p.Tally)
		any = true
	}
	flush()
	if !any {
		j.quiet(MonthRule, s.Name, "", "No month since %s lies above its probability limit: %s, baseline %s.", j.out.Watched.From, s.WatchedRate, s.BaselineRate)
	}
}
