package page

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"rollonset/report/chart"
	"rollonset/report/trend"
)

// marginPart shows how near to the limit ordinary takeoffs are, a picture for
// each type. ok is false for a series without margins, such as a discrete.
func marginPart(t *trend.Trends, series string, all []trend.Margins, id string, isMargin, open bool) (trendPart, bool) {
	part := trendPart{Title: "Margins of ordinary takeoffs", Open: open}
	if !isMargin {
		part.Title = "By month"
	}
	var quiet []string
	for i := range all {
		m := &all[i]
		if len(m.Months) == 0 || m.Type == "" && len(all) > 1 { // of a mix of types the median moves with the mix
			continue
		}
		p := spreadPicture(t, series, m, id+"-spread-"+strconv.Itoa(i), isMargin)
		if m.Alert {
			part.Pictures = append(part.Pictures, p)
			continue
		}
		part.Quiet, quiet = append(part.Quiet, p), append(quiet, known(m.Type, "all types"))
	}
	switch {
	case len(part.Pictures)+len(part.Quiet) == 0:
		return part, false
	case len(part.Pictures) == 0: // nothing moves: the part itself is folded
		part.Pictures, part.Quiet = part.Quiet, nil
		part.Title += ": nothing moves beyond chance"
	case len(part.Quiet) > 0:
		part.QuietTitle = "Without a drift beyond chance, or not tested: " + list(quiet)
	}
	if isMargin {
		part.Words = []string{"The distance to the nearest limit at the onset; below 0 is out of limits. The inner band holds the middle half of the takeoffs of a month, the outer one 90 %; the line is the median. " + driftRule(t, false)}
	}
	if !isMargin {
		part.Words = []string{driftRule(t, true)}
	}
	if !isMargin { // the margins of a check stand with its months
		part.Tables = append(part.Tables, spreadTable(all, id, isMargin))
	}
	return part, true
}

// driftRule says how the medians of a part are tested.
func driftRule(t *trend.Trends, measure bool) string {
	sides := "p is one-sided: the probability of medians that shrink so steadily by chance"
	if measure {
		sides = "p is two-sided: the probability of medians that move so steadily, either way, by chance"
	}
	for _, r := range t.Budget.Rules {
		if r.Rule == trend.DriftRule && r.Tests > 0 {
			return fmt.Sprintf("The medians of the months from the baseline on are tested for a drift by their ranks; %s. An alert needs at most %s: the share of the rule over its %s, of all checks and measures on this page.", sides, probability(r.Expected/float64(r.Tests)), count(r.Tests, "test"))
		}
	}
	return "No median is tested for a drift: that takes a baseline and " + count(trend.DriftMonths, "month") + " with enough takeoffs."
}

func spreadPicture(t *trend.Trends, series string, m *trend.Margins, id string, isMargin bool) trendPicture {
	n := t.Span.Months()
	var lists [5][]float64
	for k := range lists {
		lists[k] = constant(math.NaN(), n)
	}
	for _, s := range m.Months {
		i := int(s.Month - t.Span.From)
		if s.N == 0 || i < 0 || i >= n {
			continue
		}
		for k, v := range []float64{s.P05, s.P25, s.P50, s.P75, s.P95} {
			lists[k][i] = v
		}
	}
	name := "type " + m.Type
	if m.Type == "" {
		name = "all types"
	}
	spec := monthFrame(t, series, id, "Percentiles by month, "+name)
	panel := chart.MonthPanel{
		Title: upper(name) + ", " + known(m.Unit, "no unit"), Low: math.NaN(), High: math.NaN(), Height: 120, Empty: "nothing was measured",
		Areas: []chart.MonthArea{{Low: lists[0], High: lists[4], Label: "90 %"}, {Low: lists[1], High: lists[3], Label: "half", Inner: true}},
		Lines: []chart.MonthLine{{Label: "median", Role: chart.MainLine, Values: lists[2]}},
	}
	if isMargin {
		panel.Levels = []chart.Level{{V: 0, Label: "the limit"}}
	}
	spec.Panels = []chart.MonthPanel{panel}
	words := driftWords(m, isMargin)
	spec.Description = words + " The figures are in the table."
	return trendPicture{Caption: upper(name), Words: words, SVG: template.HTML(chart.Months(spec))}
}

func driftWords(m *trend.Margins, isMargin bool) string {
	d := m.Drift
	switch {
	case d.N == 0:
		return "Too few takeoffs a month to test for a drift."
	case m.Type == "":
		return "Types together are not tested: the median moves with their mix."
	case d.N < trend.DriftMonths:
		return fmt.Sprintf("Not tested for a drift: %s with enough takeoffs, and %d are needed.", count(d.N, "month"), trend.DriftMonths)
	case math.IsNaN(m.P):
		return "Not tested for a drift: no month follows a baseline."
	case m.Alert && isMargin:
		return fmt.Sprintf("The median shrinks by %s %s a month over %d months, beyond chance: p %s.", three(math.Abs(d.Slope)), m.Unit, d.N, probability(m.P))
	case m.Alert:
		return fmt.Sprintf("The median moves by %s %s a month over %d months, beyond chance: p %s.", three(d.Slope), m.Unit, d.N, probability(m.P))
	case isMargin && d.Slope > 0:
		return fmt.Sprintf("It does not shrink: the median moves away from the limit by %s %s a month over %d months, p %s.", three(d.Slope), m.Unit, d.N, probability(m.P))
	}
	return fmt.Sprintf("No drift beyond chance: %s %s a month over %d months, p %s.", three(d.Slope), m.Unit, d.N, probability(m.P))
}

func spreadTable(all []trend.Margins, id string, isMargin bool) table {
	what := "Margins by type and month"
	if !isMargin {
		what = "By type and month"
	}
	out := table{ID: id + "-spread-table", Caption: what, Sort: true, Head: []head{
		{Text: "Type"},
		{Text: "Month"},
		{Text: "Unit"},
		{Text: "Takeoffs measured", Num: true},
		{Text: "5 %", Num: true},
		{Text: "25 %", Num: true},
		{Text: "Median", Num: true},
		{Text: "75 %", Num: true},
		{Text: "95 %", Num: true},
	}}
	for _, m := range all {
		if m.Type == "" && len(all) > 1 {
			continue
		}
		for _, s := range m.Months {
			row := []cell{rowHead(known(m.Type, "all")), text(s.Month.String()), text(known(m.Unit, None)), num(strconv.Itoa(s.N))}
			for _, v := range []float64{s.P05, s.P25, s.P50, s.P75, s.P95} {
				row = append(row, num(Number(v, Decimals(m.Unit))))
			}
			out.Rows = append(out.Rows, row)
		}
	}
	return out
}

// indicatorPart shows the alert lines of the safety performance indicator.
func indicatorPart(t *trend.Trends, s *trend.Series, id string) trendPart {
	n, lines := len(s.Months), s.SPI.Lines
	rate := make([]float64, n)
	for i, p := range s.Months {
		rate[i] = p.Rate.PerThousand
	}
	spec := monthFrame(t, s.Name, id+"-spi", "Alert lines of "+s.Name)
	line := func(label string, v float64, role chart.LineRole) chart.MonthLine {
		return chart.MonthLine{Label: label, Role: role, Values: constant(v, n)}
	}
	spec.Panels = []chart.MonthPanel{{Title: "Events per 1,000 takeoffs told", Low: 0, High: lines.Three, Height: 120, Empty: "told on no takeoff", Lines: []chart.MonthLine{
		line("mean + 3 SD", lines.Three, chart.AlertLine), line("+ 2 SD", lines.Two, chart.LimitLine), line("+ 1 SD", lines.One, chart.LimitLine),
		line("mean", lines.Mean, chart.CenterLine),
		{Label: "month", Role: chart.MainLine, Values: rate},
	}}}
	spec.Description = fmt.Sprintf("Monthly rate of %s against the mean of %d monthly rates of the baseline, %s per 1,000, and the lines at 1, 2 and 3 standard deviations: %s, %s, %s. The mean counts every month alike, whatever its takeoffs; the baseline rate is %s.",
		s.Name, lines.Points, three(lines.Mean), three(lines.One), three(lines.Two), three(lines.Three), three(s.BaselineRate.PerThousand))
	part := trendPart{Title: "Alert lines of the safety performance indicator", Words: []string{
		"Mean and population standard deviation of the baseline months, frozen (ICAO Doc 9859, 3rd edition, 4.3.5.8-9). With counts as small as these the lines are crossed often without any change; a crossing is an alert only where its count is beyond chance too.",
	}}
	part.Pictures = []trendPicture{{Caption: "Mean + 1, 2 and 3 standard deviations", Words: spec.Description, SVG: template.HTML(chart.Months(spec))}}
	crossings := table{ID: id + "-spi-table", Caption: "Crossings", Empty: "No line was crossed.", Head: []head{
		{Text: "Rule"}, {Text: "First month"}, {Text: "Last month"}, {Text: "Events", Num: true}, {Text: "Takeoffs told", Num: true}, {Text: "p, one-sided", Num: true}, {Text: "Alert"},
	}}
	for _, c := range s.SPI.Crossings {
		alert := "no: may be chance"
		if c.Alert {
			alert = "yes"
		}
		crossings.Rows = append(crossings.Rows, []cell{text(c.Rule), text(c.First.String()), text(c.Last.String()), num(strconv.Itoa(c.Rate.Events)), num(strconv.Itoa(c.Rate.Told)), num(probability(c.P)), text(alert)})
	}
	part.Tables = []table{crossings}
	return part
}

// mostNeedles is how many gaps a picture shows, the latest.
const mostNeedles = 80

// betweenPart shows the takeoffs between events.
func betweenPart(s *trend.Series, id string) trendPart {
	b := &s.Between
	shown := b.Gaps[max(0, len(b.Gaps)-mostNeedles):]
	spec := chart.NeedleSpec{
		ID: id + "-between", Title: "Takeoffs between events of " + s.Name, Name: "Takeoffs between one event and the next",
		Order: fmt.Sprintf("the last %d gaps, in order", len(shown)), Values: shown,
		Levels: []chart.Level{{V: b.Chart.Exact.High, Label: "exact limit"}, {V: b.Chart.Mean, Label: "mean"}},
	}
	words := fmt.Sprintf("On the average %s takeoffs lie between two events; since the last one there were %s (probability of so many: %s).",
		three(b.Chart.Mean), Number(b.Since, 0), probability(b.Chance))
	closer := fmt.Sprintf("Whether events come ever closer or rarer: Laplace %s (probability of one so low %s).", Number(b.Times.Laplace, 2), probability(b.Times.PLaplace))
	spec.Description = words + " " + closer
	return trendPart{
		Title: "Takeoffs between events", Words: []string{closer + " A description, no rule: it raises no alert."},
		Pictures: []trendPicture{{Caption: "Takeoffs between events", Words: words, SVG: template.HTML(chart.Needles(spec))}},
	}
}

// monthTable has every figure of the month picture.
func monthTable(s *trend.Series, id string) table {
	out := table{ID: id + "-months-table", Caption: upper(s.Name) + " by month", Sort: true, Head: []head{
		{Text: "Month"},
		{Text: "Attempts", Num: true},
		{Text: "Told", Num: true},
		{Text: "Coverage", Num: true},
		{Text: "Events", Num: true},
		{Text: "High", Num: true},
		{Text: "Valid", Num: true},
		{Text: "Not reviewed", Num: true},
		{Text: "Nuisance", Num: true},
		{Text: "Data fault", Num: true},
		{Text: "Rate", Unit: "per 1,000", Num: true},
		{Text: "From", Unit: "per 1,000", Num: true},
		{Text: "To", Unit: "per 1,000", Num: true},
		{Text: "Normal limit", Unit: "per 1,000", Num: true},
		{Text: "Exact limit", Unit: "per 1,000", Num: true},
		{Text: "Alert limit", Unit: "per 1,000", Num: true},
	}}
	for _, p := range s.Months {
		t := p.Tally
		row := []cell{rowHead(p.Month.String())}
		for _, n := range []string{
			strconv.Itoa(t.Attempts), strconv.Itoa(t.Told), percent(t.Coverage()), strconv.Itoa(p.Rate.Events), strconv.Itoa(t.High),
			strconv.Itoa(t.Valid), strconv.Itoa(t.Unreviewed), strconv.Itoa(t.Nuisance), strconv.Itoa(t.DataFault),
		} {
			row = append(row, num(n))
		}
		for _, v := range []float64{p.Rate.PerThousand, p.Rate.Interval.Low, p.Rate.Interval.High, p.Sigma.High, p.Exact.High, p.Alert} {
			word := None
			if !infinite(v) && t.Told > 0 {
				word = three(v)
			}
			row = append(row, num(word))
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

func measureSection(t *trend.Trends, i int) trendSection {
	m := &t.Measures[i]
	id := sectionID("m", i)
	out := trendSection{ID: id, Title: upper(m.Name)}
	alert := false
	for _, x := range m.Margins {
		alert = alert || x.Alert
	}
	out.Moved = alert
	out.Verdict = "No drift beyond chance on any type."
	if alert {
		out.Verdict = "The ordinary value moves by more than chance; see the type below."
	}
	if part, ok := marginPart(t, m.Name, m.Margins, id, false, alert); ok {
		out.Parts = []trendPart{part}
	}
	return out
}
