package trend

import (
	"cmp"
	"fmt"
	"iter"
	"maps"
	"math"
	"slices"
	"strings"
)

// perThousand is the exposure that rates are given for.
const perThousand = 1000

// Build makes the trends of rows, which are read once and not kept. It ends
// with the first error of the rows, or of a row that has no name or kind, and
// refuses options that make no sense. No rows give trends without series.
func Build(rows iter.Seq2[Row, error], opt Options) (*Trends, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	c := newCollector()
	for row, err := range rows {
		if err != nil {
			return nil, fmt.Errorf("trend: after %d rows: %w", c.rows, err)
		}
		if err := c.add(&row); err != nil {
			return nil, err
		}
	}
	j := newJudge(c, opt)
	j.describe()
	j.months()
	j.sums()
	j.indicators()
	j.groups()
	j.drifts()
	j.coverage()
	j.begins()
	j.finish()
	return j.out, nil
}

// judge turns what was collected into trends.
type judge struct {
	opt   Options
	c     *collector
	out   *Trends
	all   []*series // of out.Series, index by index
	tuner *Tuner
}

func newJudge(c *collector, opt Options) *judge {
	j := &judge{opt: opt, c: c, tuner: NewTuner(opt.Factor), out: &Trends{ValidOnly: opt.ValidOnly, Level: opt.Level, Span: c.span, Rows: c.rows, Undated: c.undated}}
	j.all = append(c.inOrder(CheckKind), c.inOrder(RejectKind)...)
	j.periods()
	j.out.Budget = newBudget(opt.FalseAlerts, j.out.Watched.Months())
	return j
}

// periods sets the baseline and what is watched after it.
func (j *judge) periods() {
	out := j.out
	months := j.flown()
	out.Baseline, out.BaselineWhy = j.opt.Baseline, "as asked for"
	if out.Baseline.Months() == 0 {
		out.Baseline, out.BaselineWhy = defaultBaseline(months)
	}
	if out.Baseline.Months() > 0 && out.Span.To > out.Baseline.To {
		out.Watched = Period{out.Baseline.To + 1, out.Span.To}
	}
	switch {
	case out.Span.Months() == 0:
		j.note("The archive holds no dated takeoff attempt.")
	case out.Watched.Months() == 0:
		j.note("No month follows a baseline, so nothing was compared and no alert can be raised. Without --baseline it is %s; here %s with takeoffs. Give one that ends before %s, or wait.", BaselineRule, areMonths(len(months)), out.Span.To)
	}
	if out.Undated > 0 {
		j.note("%d of %d rows have no date and are in no figure.", out.Undated, out.Rows)
	}
}

func areMonths(n int) string {
	if n == 1 {
		return "is 1 month"
	}
	return fmt.Sprintf("are %d months", n)
}

// flown are the months with takeoff attempts.
func (j *judge) flown() []Month {
	flown := map[Month]bool{}
	for _, s := range j.all {
		for month, t := range s.months() {
			flown[month] = flown[month] || t.Attempts > 0
		}
	}
	return slices.Sorted(maps.Keys(flown))
}

// defaultBaseline is the one that BaselineRule describes, and why it is that.
func defaultBaseline(months []Month) (Period, string) {
	if len(months) < fewestMonths {
		return Period{}, ""
	}
	last := months[len(months)-1]
	for year := int(last) / 12; Month(12*year+11) >= months[0]; year-- {
		p := Period{Month(12 * year), Month(12*year + 11)}
		count := 0
		for _, month := range months {
			if p.Has(month) {
				count++
			}
		}
		if count >= baselineMonths && last >= p.To+baselineFollowed {
			return p, fmt.Sprintf("the latest calendar year that %d months or more follow", baselineFollowed)
		}
	}
	return Period{months[0], months[len(months)/2-1]}, fmt.Sprintf("the first half of the months with takeoffs, for no calendar year has %d months of them and %d more after it", baselineMonths, baselineFollowed)
}

func (j *judge) note(format string, args ...any) {
	j.out.Notes = append(j.out.Notes, fmt.Sprintf(format, args...))
}

func (j *judge) quiet(rule Rule, series string, by By, format string, args ...any) {
	j.out.Quiet = append(j.out.Quiet, Quiet{rule, series, by, fmt.Sprintf(format, args...)})
}

func (j *judge) alert(a Alert, format string, args ...any) {
	a.Text = fmt.Sprintf(format, args...)
	if bound, tests := j.out.Budget.bound(a.Rule); a.Tests == 0 {
		a.Bound, a.Tests = bound, tests
	}
	j.out.Alerts = append(j.out.Alerts, a)
}

// events are those that the rates and rules count.
func (j *judge) events(t Tally) int {
	if j.opt.ValidOnly {
		return t.Valid
	}
	return t.Valid + t.Unreviewed
}

// open are the events of a rate that nobody has reviewed.
func (j *judge) open(t Tally) int { return j.events(t) - t.Valid }

func (j *judge) rate(events, told int) Rate { return rateOver(events, told, j.opt.Level) }

// Over counts a series over some months and gives their rate, by the same rule
// as every other rate of the trends.
func (t *Trends) Over(s *Series, p Period) (Tally, Rate) {
	var sum Tally
	for _, m := range s.Months {
		if p.Has(m.Month) {
			sum.plus(m.Tally)
		}
	}
	events := sum.Valid + sum.Unreviewed
	if t.ValidOnly {
		events = sum.Valid
	}
	return sum, rateOver(events, sum.Told, t.Level)
}

// rateOver is events over told, per 1,000, with its exact interval.
func rateOver(events, told int, level float64) Rate {
	interval := RateInterval(events, float64(told), level)
	// A takeoff has at most one event of a check. Where the Poisson law would
	// reach beyond one for each, the exact interval of a share stands.
	if told > 0 && interval.High > 1 {
		interval = ClopperPearson(events, told, level)
	}
	return Rate{
		Events: events, Told: told, PerThousand: float64(events) / float64(told) * perThousand,
		Interval: interval.Times(perThousand),
	}
}

func (j *judge) rateOf(t Tally) Rate { return j.rate(j.events(t), t.Told) }

// String is the rate as a sentence holds it.
func (r Rate) String() string {
	if r.Told == 0 {
		return "not told on any takeoff"
	}
	return fmt.Sprintf("%d in %d takeoffs, %s per 1,000 (%s to %s)",
		r.Events, r.Told, figure(r.PerThousand), figure(r.Interval.Low), figure(r.Interval.High))
}

// figure prints three significant digits, without an exponent.
func figure(v float64) string {
	if math.IsNaN(v) {
		return "not told"
	}
	return fmt.Sprintf("%.*f", Digits(v), v)
}

// describe fills in what needs no rule.
func (j *judge) describe() {
	// The change from the baseline is shown for every series, as an estimate
	// with its interval; it is no rule, or the rules would be one more.
	for _, s := range j.all {
		months := s.months()
		baseline, watched := within(months, j.out.Baseline), within(months, j.out.Watched)
		out := Series{Kind: s.kind, Name: s.name, Unit: s.unit, Total: within(months, j.out.Span)}
		out.Rate, out.ValidRate = j.rateOf(out.Total), j.rate(out.Total.Valid, out.Total.Told)
		out.BaselineRate, out.WatchedRate = j.rateOf(baseline), j.rateOf(watched)
		out.Change = RateRatio(j.events(watched), float64(watched.Told), j.events(baseline), float64(baseline.Told), j.opt.Level)
		out.CoverBase, out.CoverWatch = baseline.Coverage(), watched.Coverage()
		out.Caution = j.caution(&out, baseline, watched)
		j.reviewNote(s.name, baseline, watched)
		out.Between = j.between(s)
		out.Markers = j.effects(s)
		j.out.Series = append(j.out.Series, out)
	}
	for _, s := range j.c.inOrder(MeasureKind) {
		j.out.Measures = append(j.out.Measures, Measure{Name: s.name, Unit: s.unit})
	}
}

// caution says why a rate that fell may be no good news: fewer attempts were
// told, or more of them by a parameter that shows no life.
func (j *judge) caution(s *Series, baseline, watched Tally) string {
	if !(s.Change.Ratio < 1) {
		return ""
	}
	var why []string
	if fall := s.CoverBase - s.CoverWatch; fall > 0.05 {
		why = append(why, fmt.Sprintf("the check was told on %.0f %% of attempts, before on %.0f %%", 100*s.CoverWatch, 100*s.CoverBase))
	}
	before, after := float64(baseline.Lifeless)/float64(baseline.Told), float64(watched.Lifeless)/float64(watched.Told)
	if after-before > 0.05 {
		why = append(why, fmt.Sprintf("%.0f %% of it rests on parameters that show no life, before %.0f %%", 100*after, 100*before))
	}
	if len(why) == 0 {
		return ""
	}
	return "The rate is lower than in the baseline, but " + strings.Join(why, " and ") + "; do not read it as an improvement."
}

// reviewNote warns of a comparison between reviewed and unreviewed events: a
// part of those that nobody has looked at will turn out to be none.
func (j *judge) reviewNote(name string, baseline, watched Tally) {
	no := baseline.Nuisance + baseline.DataFault
	reviewed := no + baseline.Valid
	if j.opt.ValidOnly || no == 0 || watched.Unreviewed == 0 {
		return
	}
	j.note("%s: %d of %d reviewed events of the baseline were nuisance or data fault; %d events since then have no review and count as events, so a part of a rise may be theirs.",
		name, no, reviewed, watched.Unreviewed)
}

// finish puts the alerts in order.
func (j *judge) finish() {
	slices.SortStableFunc(j.out.Alerts, func(a, b Alert) int {
		return cmp.Or(a.Since.Compare(b.Since), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Series, b.Series), cmp.Compare(a.By, b.By), cmp.Compare(a.Where, b.Where))
	})
	for i := range j.out.Series {
		if s := &j.out.Series[i]; s.Caution != "" {
			j.note("%s: %s", s.Name, s.Caution)
		}
	}
}
