package page

import (
	"cmp"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strconv"
	"time"

	"rollonset/report/chart"
	"rollonset/report/trend"
)

// TrendOptions are what the trend page takes beside the trends.
type TrendOptions struct {
	// By are the ways of grouping that are shown; nil for all. Alerts of the
	// others are shown all the same.
	By []trend.By
	// Index is the relative address of the night page, "" for no link.
	Index string
	// Caution is the sentence of the footer.
	Caution string
	// Source says in a sentence what was read.
	Source string
	// Basis says what was left out and where classes of rejects divide.
	Basis Basis
}

// trendView is what the template of the trend page reads.
type trendView struct {
	shell
	Headline        string
	Opening         []string
	Index           string
	Alerts          table
	Overview        table
	Markers         table
	Sections        []trendSection
	Measures        []trendSection
	Blind           table
	PWords          string
	RateWords       []string
	Quiet           []trendQuiet
	Budget          table
	Notes           []string
	Caution, Source string
	MarkerWords     []string
}

// trendSection is one check, one class of rejects or one measure.
type trendSection struct {
	ID, Title, Verdict, Caution string
	Words                       string
	// Moved is whether an alert concerns it. On paper the others are one
	// picture each.
	Moved    bool
	Figures  table
	Pictures []trendPicture
	Parts    []trendPart
}

// trendPart is what opens under a section: by groups, between events, margins.
type trendPart struct {
	Title    string
	Open     bool
	Words    []string
	Pictures []trendPicture
	// Quiet are the pictures with nothing to say beside others that have: they
	// are folded away under QuietTitle, so that what moves is seen first.
	QuietTitle string
	Quiet      []trendPicture
	Tables     []table
}

type trendPicture struct {
	Caption, Words string
	SVG            template.HTML
}

type trendQuiet struct {
	Rule  string
	Lines []string
}

// Trends writes the trend page. It says what t holds and decides nothing.
func Trends(w io.Writer, t *trend.Trends, o TrendOptions) error {
	if o.By == nil {
		o.By = trend.Ways()
	}
	v := trendView{
		Headline: "Trends of takeoffs", Opening: TrendWords(t), Index: o.Index,
		Alerts: alertTable(t), Overview: overviewTable(t), Markers: markerTable(t), Blind: blindTable(t),
		Quiet: quietLists(t), PWords: pWords, RateWords: append([]string{countedWords(t)}, o.Basis.words()...), Budget: budgetTable(t), Notes: t.Notes, Caution: o.Caution, Source: o.Source,
	}
	v.MarkerWords = markerWords(t)
	if t.Span.Months() > 0 {
		v.Headline += ", " + month(t.Span.From) + " to " + month(t.Span.To)
	}
	for i := range t.Series {
		v.Sections = append(v.Sections, seriesSection(t, i, o))
	}
	for i := range t.Measures {
		v.Measures = append(v.Measures, measureSection(t, i))
	}
	// What moved comes first.
	slices.SortStableFunc(v.Sections, func(a, b trendSection) int {
		return cmp.Compare(fold(a.Moved), fold(b.Moved))
	})
	tables := []table{v.Alerts, v.Overview, v.Markers}
	for _, s := range v.Sections {
		tables = append(tables, s.Figures)
		for _, p := range s.Parts {
			tables = append(tables, p.Tables...)
		}
	}
	v.shell = trendShell(v.Headline).withStyle(stacked(tables...))
	if err := templates().ExecuteTemplate(w, "trends", v); err != nil {
		return fmt.Errorf("trend page: %w", err)
	}
	return nil
}

// fold orders what is first before what is not.
func fold(first bool) int {
	if first {
		return 0
	}
	return 1
}

// alertTable lists the alerts as the rules raised them, each with its rule.
func alertTable(t *trend.Trends) table {
	out := table{ID: "alerts", Kind: "alerts", Narrow: stacks, Caption: "Alerts, each with the rule that raised it", Sort: true, Empty: "No rule raised an alert.", Head: []head{
		{Text: "Since"}, {Text: "What and where"}, {Text: "Rule"}, {Text: "Events in takeoffs told", Num: true}, {Text: "p, bound", Num: true}, {Text: "In words"},
	}}
	for _, a := range t.Alerts {
		figure := cell{Text: fmt.Sprintf("%d in %d", a.Events, a.Told), Num: true, Sub: fmt.Sprintf("%d not reviewed", a.Unreviewed), Key: strconv.Itoa(a.Events)}
		switch newsOf(a.Rule) {
		case nearer:
			figure = num(None)
		case unheard:
			figure = cell{Text: fmt.Sprintf("told on %d of %d", a.Events, a.Told), Num: true, Key: strconv.Itoa(a.Events)}
		}
		where := "whole fleet"
		if a.By != "" {
			where = string(a.By) + " " + a.Where
		}
		out.Rows = append(out.Rows, []cell{
			sinceCell(t, a), {Text: a.Series, Sub: where, Head: true}, text(string(a.Rule)), figure, pCell(t, a), text(a.Text),
		})
	}
	return out
}

// overviewTable is a row for each series: what is to be said, the rates with
// their denominators, the change, and the coverage beside it.
func overviewTable(t *trend.Trends) table {
	out := table{ID: "overview", Kind: "overview", Narrow: stacks, Caption: "Every rate, with its denominator and its coverage", Sort: true, Empty: "No check and no reject.", Head: []head{
		{Text: "Check or reject"},
		{Text: "What it says"},
		{Text: "All months", Unit: "per 1,000", Num: true},
		{Text: "Baseline", Unit: "per 1,000", Num: true},
		{Text: "Since", Unit: "per 1,000", Num: true},
		{Text: "Since over baseline", Num: true},
		{Text: "Coverage before, since", Num: true},
		{Text: "Not reviewed", Num: true},
	}}
	for i := range t.Series {
		s := &t.Series[i]
		out.Rows = append(out.Rows, []cell{
			{Text: s.Name, Href: "#" + sectionID("s", i), Head: true},
			text(verdict(t, s)), fullRate(s.Rate), fullRate(s.BaselineRate), fullRate(s.WatchedRate),
			{Text: three(s.Change.Ratio), Num: true, Sub: "(" + three(s.Change.Interval.Low) + " to " + three(s.Change.Interval.High) + ")"},
			{Text: percent(s.CoverBase), Num: true, Sub: percent(s.CoverWatch), Key: Number(s.CoverWatch, 4)},
			num(strconv.Itoa(s.Total.Unreviewed)),
		})
	}
	return out
}

// fullRate is a rate with its interval and, below, its counts.
func fullRate(r trend.Rate) cell {
	c := rateCell(r)
	if r.Told > 0 {
		c.Lines = []string{strconv.Itoa(r.Events) + " in " + strconv.Itoa(r.Told)}
	}
	return c
}

func rateCell(r trend.Rate) cell {
	if r.Told == 0 {
		return num(None)
	}
	return cell{Text: three(r.PerThousand), Num: true, Sub: "(" + three(r.Interval.Low) + " to " + three(r.Interval.High) + ")"}
}

// countedRate is a rate with its counts, where they have no column.
func countedRate(r trend.Rate) cell {
	if r.Told == 0 {
		return num(None)
	}
	return cell{Text: three(r.PerThousand), Num: true, Sub: strconv.Itoa(r.Events) + " in " + strconv.Itoa(r.Told)}
}

func blindTable(t *trend.Trends) table {
	out := table{ID: "blind", Kind: "blind", Narrow: fits, Caption: "Tails on which a check is not told at all", Sort: true, Empty: "Every check was told on some attempt of every tail; what fell silent later is among the alerts.", Head: []head{
		{Text: "Tail"}, {Text: "Check"}, {Text: "Attempts", Num: true}, {Text: "Nothing told since"},
	}}
	for _, b := range t.Blind {
		out.Rows = append(out.Rows, []cell{rowHead(b.Tail), text(b.Series), num(strconv.Itoa(b.Attempts)), text(b.Since.String())})
	}
	return out
}

// quietLists are what was looked at and is not significant, by rule.
func quietLists(t *trend.Trends) []trendQuiet {
	var out []trendQuiet
	for _, q := range t.Quiet {
		i := slices.IndexFunc(out, func(l trendQuiet) bool { return l.Rule == string(q.Rule) })
		if i < 0 {
			out, i = append(out, trendQuiet{Rule: string(q.Rule)}), len(out)
		}
		line := q.Text
		if q.Series != "" {
			line = upper(q.Series) + ": " + q.Text
		}
		out[i].Lines = append(out[i].Lines, line)
	}
	return out
}

// budgetTable says how many false alerts each rule is allowed, so that
// nobody reads three alerts of forty tests as three findings.
func budgetTable(t *trend.Trends) table {
	out := table{Kind: "budget", Narrow: fits, Caption: "The rules, and how many alerts each may raise on this page when nothing has changed", Head: []head{
		{Text: "Rule"}, {Text: "Tests", Num: true}, {Text: "At most, on the average", Num: true}, {Text: "Raised", Num: true},
	}}
	for _, r := range t.Budget.Rules {
		raised := 0
		for _, a := range t.Alerts {
			if a.Rule == r.Rule {
				raised++
			}
		}
		out.Rows = append(out.Rows, []cell{rowHead(string(r.Rule)), num(strconv.Itoa(r.Tests)), num(three(r.Expected)), num(strconv.Itoa(raised))})
	}
	out.Rows = append(out.Rows, []cell{{Text: "all together", Head: true, Strong: true}, num(""), num(three(t.Budget.Expected)), num(strconv.Itoa(len(t.Alerts)))})
	return out
}

func sectionID(kind string, i int) string { return kind + strconv.Itoa(i+1) }

// monthIndex is where a date lies on a month picture, in months.
func monthIndex(t *trend.Trends, date time.Time) float64 {
	m := trend.MonthOf(date)
	days := (m + 1).Start().Sub(m.Start()).Hours()
	return float64(m-t.Span.From) + date.Sub(m.Start()).Hours()/days
}

// monthFrame is what the month pictures of a series have in common.
func monthFrame(t *trend.Trends, series, id, title string) chart.MonthSpec {
	s := chart.MonthSpec{ID: id, Title: title, First: int(t.Span.From), Count: t.Span.Months()}
	if t.Baseline.Months() > 0 {
		s.Shades = []chart.MonthShade{{
			From: int(max(t.Baseline.From, t.Span.From) - t.Span.From), To: int(min(t.Baseline.To, t.Span.To) - t.Span.From), Label: "baseline",
		}}
	}
	for k, m := range markersOf(t) {
		concerns := m.Check == "" || m.Check == series
		if at := monthIndex(t, m.Date); concerns && at >= 0 && at <= float64(s.Count) {
			s.Rules = append(s.Rules, chart.MonthRule{At: at, Label: letter(k)})
		}
	}
	return s
}

func constant(v float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

func infinite(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) }
