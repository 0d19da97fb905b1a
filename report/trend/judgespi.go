package trend

import "math"

// spiMonths is on how many baseline months with exposure lines must rest.
const spiMonths = 6

// indicators draws the lines of each series and finds what crosses them.
// Lines of small counts are crossed often without any change, so a crossing
// is an alert only when the count of its months is beyond chance too.
func (j *judge) indicators() {
	if j.out.Watched.Months() == 0 {
		return
	}
	// Each month may complete each of the three rules.
	tail := j.out.Budget.each(SPIRule, 3*len(j.all)*j.out.Watched.Months())
	for i := range j.all {
		s := &j.out.Series[i]
		var base []float64
		var watched []Point
		for _, p := range s.Months {
			switch {
			case p.Tally.Told == 0: // no point: not a rate of zero
			case j.out.Baseline.Has(p.Month):
				base = append(base, p.Rate.PerThousand)
			case j.out.Watched.Has(p.Month):
				watched = append(watched, p)
			}
		}
		if len(base) < spiMonths {
			j.quiet(SPIRule, s.Name, "", "No lines: the baseline has %d months with takeoffs, and %d are needed.", len(base), spiMonths)
			continue
		}
		s.SPI.Watched, s.SPI.Lines = true, NewSPILines(base)
		j.cross(s, watched, tail)
	}
}

func (j *judge) cross(s *Series, watched []Point, tail float64) {
	values := make([]float64, len(watched))
	for i, p := range watched {
		values[i] = p.Rate.PerThousand
	}
	// The least probable crossing is the one to name when none is an alert:
	// whoever sees the picture will ask about it.
	worst := Crossing{P: math.Inf(1)}
	alerted := map[string]bool{}
	for _, x := range s.SPI.Lines.Crossings(values) {
		run := Tally{}
		for _, p := range watched[x.First : x.Last+1] {
			run.plus(p.Tally)
		}
		rate, base := j.rateOf(run), s.BaselineRate
		c := Crossing{Rule: x.Rule, First: watched[x.First].Month, Last: watched[x.Last].Month, Rate: rate}
		c.P = RateRatio(rate.Events, float64(rate.Told), base.Events, float64(base.Told), j.opt.Level).PHigher
		c.Alert = c.P <= tail
		s.SPI.Crossings = append(s.SPI.Crossings, c)
		if c.P < worst.P {
			worst = c
		}
		if c.Alert && !alerted[c.Rule] { // once for each rule, where it began
			alerted[c.Rule] = true
			j.alert(Alert{Rule: SPIRule, Series: s.Name, Since: c.First.Start(), Events: rate.Events, Told: rate.Told, Unreviewed: j.open(run), P: c.P},
				"%s: %s (%s to %s): %s; lines %s, %s, %s per 1,000.", s.Name, c.Rule, c.First, c.Last, rate,
				figure(s.SPI.Lines.One), figure(s.SPI.Lines.Two), figure(s.SPI.Lines.Three))
		}
	}
	n := len(s.SPI.Crossings)
	switch {
	case len(alerted) > 0:
	case n == 0:
		j.quiet(SPIRule, s.Name, "", "No alert line was crossed since %s.", j.out.Watched.From)
	default:
		j.quiet(SPIRule, s.Name, "", "Alert lines were crossed (%d times), but by no more than chance; the farthest, %s to %s: %s, p %s, one-sided; an alert needs at most %s.", n, worst.First, worst.Last, worst.Rate, Probability(worst.P), Probability(tail))
	}
}
