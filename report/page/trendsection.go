package page

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"time"

	"rollonset/report/chart"
	"rollonset/report/trend"
)

// seriesSection is the section of one check or class of rejects.
func seriesSection(t *trend.Trends, i int, o TrendOptions) trendSection {
	s := &t.Series[i]
	id := sectionID("s", i)
	spreads := spreadTable(s.Margins, id, true)
	out := trendSection{
		ID: id, Title: upper(s.Name), Verdict: verdict(t, s), Caution: s.Caution, Figures: keyFigures(t, s),
		Pictures: []trendPicture{monthPicture(t, s, id)},
	}
	mine := map[trend.By]bool{}
	kinds := map[news]bool{}
	for _, c := range claims(t) {
		if c.series == s.Name {
			mine[c.by], kinds[c.kind] = true, true
		}
	}
	out.Moved = len(kinds) > 0
	if s.Kind == trend.RejectKind {
		out.Words = o.Basis.boundaryWords()
	}
	if s.Sum.Watched {
		out.Pictures = append(out.Pictures, sumPicture(t, s, id))
	}
	if p, ok := marginPart(t, s.Name, s.Margins, id, true, kinds[nearer]); ok {
		out.Parts = append(out.Parts, p)
	}
	for w, g := range s.Groups {
		if slices.Contains(o.By, g.By) && len(g.Members) > 1 {
			part := groupPart(t, s, &s.Groups[w], id)
			part.Open = mine[g.By] && g.By != trend.ByType || mine[g.By] && (kinds[rising] || kinds[higher])
			out.Parts = append(out.Parts, part)
		}
	}
	if s.SPI.Watched {
		out.Parts = append(out.Parts, indicatorPart(t, s, id))
	}
	if len(s.Between.Gaps) > 0 {
		out.Parts = append(out.Parts, betweenPart(s, id))
	}
	months := trendPart{Title: "The months in figures", Tables: []table{monthTable(s, id)}}
	if len(spreads.Rows) > 0 {
		months.Tables = append(months.Tables, spreads)
	}
	out.Parts = append(out.Parts, months)
	return out
}

// keyFigures are the counts of a series, each denominator named.
func keyFigures(t *trend.Trends, s *trend.Series) table {
	row := func(name string, tally trend.Tally, r trend.Rate, cover float64) []cell {
		if r.Told == 0 && tally.Attempts == 0 {
			return []cell{rowHead(name), num("0"), num("0"), num("0"), num(None), num(None)}
		}
		return []cell{rowHead(name), num(strconv.Itoa(r.Events)), num(strconv.Itoa(r.Told)), num(strconv.Itoa(tally.Attempts)), rateCell(r), num(percent(cover))}
	}
	out := table{Kind: "figures", Narrow: flows, Caption: "Figures of " + s.Name, Head: []head{
		{Text: "Months"},
		{Text: "Events", Num: true},
		{Text: "Takeoffs told", Num: true},
		{Text: "Attempts", Num: true},
		{Text: "Rate, 95 % interval", Unit: "per 1,000", Num: true},
		{Text: "Coverage", Num: true},
	}}
	base, watched := tallyOf(s, t.Baseline), tallyOf(s, t.Watched)
	out.Rows = [][]cell{
		row("baseline", base, s.BaselineRate, s.CoverBase), row("since", watched, s.WatchedRate, s.CoverWatch), row("all", s.Total, s.Rate, s.Total.Coverage()),
	}
	no := s.Total.Nuisance + s.Total.DataFault
	if s.Total.Valid+no == 0 { // a rate of none would look like a finding
		return out
	}
	out.Rows = append(out.Rows, row("all, reviewed as valid only", s.Total, s.ValidRate, s.Total.Coverage()), []cell{
		{Text: "not counted as events", Head: true, Sub: fmt.Sprintf("nuisance %d, data fault %d", s.Total.Nuisance, s.Total.DataFault)},
		num(strconv.Itoa(no)), num(""), num(""), num(""), num(""),
	})
	return out
}

func tallyOf(s *trend.Series, p trend.Period) trend.Tally {
	var out trend.Tally
	for _, m := range s.Months {
		if p.Has(m.Month) {
			out.Attempts += m.Tally.Attempts
			out.Told += m.Tally.Told
		}
	}
	return out
}

// monthPicture is the month chart with the coverage below it.
func monthPicture(t *trend.Trends, s *trend.Series, id string) trendPicture {
	n := len(s.Months)
	rate, low, high, alert, cover := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	rings, signals := make([]bool, n), 0
	for i, p := range s.Months {
		rate[i], low[i], high[i], alert[i], cover[i] = p.Rate.PerThousand, p.Exact.Low, p.Exact.High, p.Alert, 100*p.Tally.Coverage()
		rings[i] = p.Signal
		if p.Signal {
			signals++
		}
	}
	spec := monthFrame(t, s.Name, id+"-months", s.Name+" by month")
	center := math.NaN()
	if t.Baseline.Months() > 0 {
		center = s.BaselineRate.PerThousand
	}
	spec.Panels = []chart.MonthPanel{
		{Title: "Events per 1,000 takeoffs told", Low: 0, High: math.NaN(), Empty: "told on no takeoff", Lines: []chart.MonthLine{
			{Label: "exact limit", Role: chart.LimitLine, Values: high},
			{Role: chart.LimitLine, Values: low},
			{Label: "alert limit", Role: chart.AlertLine, Values: alert},
			{Label: "baseline rate", Role: chart.CenterLine, Values: constant(center, n)},
			{Label: "month", Role: chart.MainLine, Values: rate, Rings: rings},
		}},
		{Title: "Coverage: told, % of attempts", Low: 0, High: 100, Height: 44, Empty: "no attempt", Lines: []chart.MonthLine{{Role: chart.MainLine, Values: cover}}},
	}
	spec.Description = fmt.Sprintf("%s in %s: %s; coverage %s.", upper(eventsOf(s.Name)), count(n, "month"), s.Rate, percent(s.Total.Coverage()))
	if t.Watched.Months() > 0 {
		spec.Description = fmt.Sprintf("%s in %s, against the baseline rate of %s per 1,000; %s above the alert limit. All months: %s. Coverage %s in the baseline, %s since.",
			upper(eventsOf(s.Name)), count(n, "month"), three(s.BaselineRate.PerThousand), lies(signals), s.Rate, percent(s.CoverBase), percent(s.CoverWatch))
	}
	return trendPicture{Caption: "By month, with probability limits and coverage", Words: spec.Description, SVG: template.HTML(chart.Months(spec))}
}

func lies(n int) string {
	if n == 1 {
		return "1 month lies"
	}
	return strconv.Itoa(n) + " months lie"
}

// sumPicture is the cumulative sum over the watched months.
func sumPicture(t *trend.Trends, s *trend.Series, id string) trendPicture {
	n := t.Span.Months()
	values := constant(math.NaN(), n)
	offset := int(t.Watched.From - t.Span.From)
	for i, v := range s.Sum.Months {
		if offset+i < n {
			values[offset+i] = v
		}
	}
	spec := monthFrame(t, s.Name, id+"-sum", "Cumulative sum of "+s.Name)
	spec.Panels = []chart.MonthPanel{{
		Title: "Events more than the baseline would bring, highest in the month", Low: 0, High: s.Sum.Signal * 1.1, Height: 110,
		Levels: []chart.Level{{V: s.Sum.Signal, Label: "signal"}},
		Lines:  []chart.MonthLine{{Role: chart.MainLine, Values: values}}, Empty: "no takeoff was told",
	}}
	words := fmt.Sprintf("Tuned to %s times the baseline rate, %s. It stands at %s; its signal is %s. Were the baseline exact, a false signal would come %s; a rate grown so would show after %s.",
		Number(s.Sum.Factor, 0), baseOfSum(s), three(s.Sum.Now), three(s.Sum.Signal), trend.Once(s.Sum.RunLength), trend.Takeoffs(s.Sum.Detect))
	if s.Sum.Alarm {
		words = fmt.Sprintf("It signalled on %s, from a run that began on %s. ", s.Sum.Signalled.Format(time.DateOnly), s.Sum.Since.Format(time.DateOnly)) + words
	}
	if s.Sum.Alarm && s.Sum.Now < s.Sum.Signal {
		words += " It has fallen below the signal since."
	}
	spec.Description = words
	return trendPicture{Caption: "Cumulative sum, with its run length", Words: words, SVG: template.HTML(chart.Months(spec))}
}

// baseOfSum is the rate that the sum of the fleet compares with: that of the
// baseline, said as everywhere else. The half event that the sum adds to it
// shows only where there was none.
func baseOfSum(s *trend.Series) string {
	if s.BaselineRate.Events == 0 {
		return "of which there was no event, taken as " + three(s.Sum.Reference) + " per 1,000"
	}
	return three(s.BaselineRate.PerThousand) + " per 1,000"
}
