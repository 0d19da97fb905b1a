package trend

import "rollonset/report/archive"

// Figures are all figures of the trends in tidy form, a row each with its
// denominator, in the order of the series, figures, groups and months.
func (t *Trends) Figures() []archive.FigureRow {
	var out []archive.FigureRow
	for i := range t.Series {
		s := &t.Series[i]
		base := archive.FigureRow{Kind: string(s.Kind), Series: s.Name}
		for _, f := range []struct {
			name string
			rate Rate
			over Period
		}{{"rate", s.Rate, t.Span}, {"rate, reviewed as valid", s.ValidRate, t.Span}, {"rate, baseline", s.BaselineRate, t.Baseline}, {"rate, since baseline", s.WatchedRate, t.Watched}} {
			out = append(out, rateFigure(base, f.name, f.over, f.rate, whole(s.attemptsIn(f.over))))
		}
		change := base
		change.Figure, change.From, change.To, change.Unit = "rate since baseline over baseline", t.Watched.From.String(), t.Watched.To.String(), "ratio"
		change.Value, change.Low, change.High, change.P = archive.Figure(s.Change.Ratio), archive.Figure(s.Change.Interval.Low), archive.Figure(s.Change.Interval.High), archive.Figure(s.Change.P)
		out = append(out, change)
		for _, p := range s.Months {
			out = append(out, monthFigures(base, &p)...)
		}
		out = append(out, groupFigures(t, base, s)...)
		out = append(out, spreadFigures(base, s.Margins)...)
	}
	for i := range t.Measures {
		m := &t.Measures[i]
		out = append(out, spreadFigures(archive.FigureRow{Kind: string(MeasureKind), Series: m.Name}, m.Margins)...)
	}
	return out
}

func rateFigure(base archive.FigureRow, name string, over Period, r Rate, attempts *int64) archive.FigureRow {
	base.Figure, base.From, base.To, base.Unit = name, over.From.String(), over.To.String(), "per 1,000 takeoffs told"
	base.Attempts, base.Told, base.Events = attempts, whole(r.Told), whole(r.Events)
	base.Value, base.Low, base.High = archive.Figure(r.PerThousand), archive.Figure(r.Interval.Low), archive.Figure(r.Interval.High)
	return base
}

// attemptsIn counts the attempts of a period.
func (s *Series) attemptsIn(p Period) int {
	n := 0
	for _, m := range s.Months {
		if p.Has(m.Month) {
			n += m.Tally.Attempts
		}
	}
	return n
}

func whole(n int) *int64 {
	v := int64(n)
	return &v
}

func monthFigures(base archive.FigureRow, p *Point) []archive.FigureRow {
	month := Period{p.Month, p.Month}
	out := []archive.FigureRow{rateFigure(base, "rate", month, p.Rate, whole(p.Tally.Attempts))}
	for _, f := range []struct {
		name, unit string
		value      float64
	}{
		{"coverage", "share of attempts", p.Tally.Coverage()},
		{"lower exact limit", "per 1,000 takeoffs told", p.Exact.Low},
		{"upper exact limit", "per 1,000 takeoffs told", p.Exact.High},
		{"alert limit", "per 1,000 takeoffs told", p.Alert},
	} {
		row := base
		row.Figure, row.From, row.To, row.Unit, row.Value = f.name, p.Month.String(), p.Month.String(), f.unit, archive.Figure(f.value)
		row.Attempts, row.Told = whole(p.Tally.Attempts), whole(p.Tally.Told)
		out = append(out, row)
	}
	for _, c := range []struct {
		name string
		n    int
	}{
		{"events reviewed as valid", p.Tally.Valid},
		{"events not reviewed", p.Tally.Unreviewed},
		{"events reviewed as nuisance", p.Tally.Nuisance},
		{"events reviewed as data fault", p.Tally.DataFault},
		{"events of high severity", p.Tally.High},
	} {
		row := base
		row.Figure, row.From, row.To, row.Events, row.Told = c.name, p.Month.String(), p.Month.String(), whole(c.n), whole(p.Tally.Told)
		out = append(out, row)
	}
	return out
}

func groupFigures(t *Trends, base archive.FigureRow, s *Series) []archive.FigureRow {
	over := t.Watched
	if over.Months() == 0 {
		over = t.Span
	}
	var out []archive.FigureRow
	for _, g := range s.Groups {
		for _, m := range g.Members {
			row := base
			row.By, row.Group = string(g.By), m.Name
			out = append(out, rateFigure(row, "rate", over, m.Rate, whole(m.Tally.Attempts)))
			shrunken := rateFigure(row, "shrunken rate, 90 % interval", over, m.Rate, whole(m.Tally.Attempts))
			shrunken.Value, shrunken.Low, shrunken.High = nil, nil, nil
			if m.Shrunken.Rate > 0 {
				shrunken.Value, shrunken.Low, shrunken.High = archive.Figure(m.Shrunken.Rate), archive.Figure(m.Shrunken.Interval.Low), archive.Figure(m.Shrunken.Interval.High)
			}
			shrunken.P = archive.Figure(m.P)
			out = append(out, shrunken)
		}
	}
	return out
}

func spreadFigures(base archive.FigureRow, all []Margins) []archive.FigureRow {
	var out []archive.FigureRow
	for _, m := range all {
		for _, month := range m.Months {
			for _, p := range []struct {
				name  string
				value float64
			}{{"5 %", month.P05}, {"25 %", month.P25}, {"median", month.P50}, {"75 %", month.P75}, {"95 %", month.P95}} {
				row := base
				row.Figure, row.From, row.To, row.Unit, row.Value = p.name, month.Month.String(), month.Month.String(), m.Unit, archive.Figure(p.value)
				row.Measured = whole(month.N)
				if m.Type != "" {
					row.By, row.Group = string(ByType), m.Type
				}
				out = append(out, row)
			}
		}
	}
	return out
}
