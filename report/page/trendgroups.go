package page

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"time"

	"rollonset/report/chart"
	"rollonset/report/trend"
)

// mostRows is how many groups a picture shows; the table has all of them.
const mostRows = 16

// overWords name the months that groups are counted over, and the rate of all.
func overWords(t *trend.Trends, s *trend.Series) (string, trend.Rate) {
	if t.Watched.Months() == 0 {
		return "all months", s.Rate
	}
	return "since the baseline", s.WatchedRate
}

// byEvidence orders groups: those with an alert, then those on which at least
// one event was due at the rate of all, then the small ones; within each the
// least likely to be chance first. One event in three takeoffs is the highest
// rate of any list, and says nothing.
func byEvidence(g *trend.Grouping, all trend.Rate) []trend.Group {
	members := slices.Clone(g.Members)
	small := func(m trend.Group) bool { return !(all.PerThousand*float64(m.Rate.Told) >= 1000) }
	slices.SortStableFunc(members, func(a, b trend.Group) int {
		return cmp.Or(cmp.Compare(fold(a.Alert || a.Sum.Alarm), fold(b.Alert || b.Sum.Alarm)), cmp.Compare(fold(!small(a)), fold(!small(b))),
			cmp.Compare(a.P, b.P), cmp.Compare(b.Rate.Told, a.Rate.Told), cmp.Compare(a.Name, b.Name))
	})
	return members
}

func groupPart(t *trend.Trends, s *trend.Series, g *trend.Grouping, id string) trendPart {
	over, all := overWords(t, s)
	members := byEvidence(g, all)
	spec := chart.IntervalSpec{ID: id + "-" + string(g.By), Title: s.Name + " by " + string(g.By), Unit: "events per 1,000 takeoffs told"}
	for _, m := range members[:min(len(members), mostRows)] {
		if m.Rate.Told == 0 || m.Shrunken.Rate == 0 {
			continue
		}
		spec.Rows = append(spec.Rows, chart.IntervalRow{
			Label: fmt.Sprintf("%s (%d/%d)", m.Name, m.Rate.Events, m.Rate.Told), Value: m.Shrunken.Rate, Low: m.Shrunken.Interval.Low, High: m.Shrunken.Interval.High, Seen: m.Rate.PerThousand, Strong: m.Alert || m.Sum.Alarm,
		})
	}
	if !infinite(all.PerThousand) {
		spec.Levels = []chart.Level{{V: all.PerThousand, Label: "all"}}
	}
	part := trendPart{Title: "By " + string(g.By), Tables: []table{groupTable(s, g, members, id, over)}}
	part.Words = append(part.Words, upper("the rates, "+over+", in brackets events and takeoffs told. Those of few takeoffs are drawn to the rate of all: dot and line are that shrunken rate and its 90 % interval; the square is what was seen, and where it lies beyond the picture an arrow at the edge gives its figure. In order of evidence: first where an alert was raised, then what is least likely to be chance (p, one-sided, of so many events at the rate of the others); last the small ones, on which less than one event was due."))
	if g.Unplaced > 0 {
		part.Words = append(part.Words, fmt.Sprintf("On %s the %s is not known; they are in no group.", count(g.Unplaced, "takeoff"), g.By))
	}
	if len(spec.Rows) == 0 {
		return part
	}
	caption := upper(string(g.By)) + "s, the clearest first"
	if len(members) > mostRows {
		caption += fmt.Sprintf(" (%d of %d)", mostRows, len(members))
	}
	spec.Description = fmt.Sprintf("Shrunken rates of %s by %s; the clearest is %s with %s per 1,000 (%d in %d), all together %s. The figures are in the table.",
		s.Name, g.By, members[0].Name, three(members[0].Shrunken.Rate), members[0].Rate.Events, members[0].Rate.Told, three(all.PerThousand))
	part.Pictures = []trendPicture{{Caption: caption, Words: spec.Description, SVG: template.HTML(chart.Intervals(spec))}}
	return part
}

func groupTable(s *trend.Series, g *trend.Grouping, members []trend.Group, id, over string) table {
	out := table{ID: id + "-" + string(g.By) + "-table", Kind: "groups", Narrow: flows, Caption: upper(s.Name) + " by " + string(g.By) + ", " + over, Sort: true, Head: []head{
		{Text: upper(string(g.By))},
		{Text: "Events", Num: true},
		{Text: "Takeoffs told", Num: true},
		{Text: "Coverage", Num: true},
		{Text: "Seen, before", Unit: "per 1,000", Num: true},
		{Text: "Shrunken, 90 % interval", Unit: "per 1,000", Num: true},
		{Text: "Probability of exceeding all", Num: true},
		{Text: "p, q", Num: true},
		{Text: "Sum"},
	}}
	for _, m := range members {
		sum := "not watched"
		switch {
		case m.Sum.Alarm:
			sum = "signal, since " + m.Sum.Since.Format(time.DateOnly)
		case m.Sum.Watched:
			sum = three(m.Sum.Now) + " of " + three(m.Sum.Signal)
		}
		seen := num(three(m.Rate.PerThousand))
		if m.Baseline.Told > 0 {
			seen.Sub = fmt.Sprintf("before %s (%d in %d)", three(m.Baseline.PerThousand), m.Baseline.Events, m.Baseline.Told)
		}
		shrunken := num(None)
		higher := None
		if m.Shrunken.Rate > 0 {
			shrunken = cell{Text: three(m.Shrunken.Rate), Num: true, Sub: "(" + three(m.Shrunken.Interval.Low) + " to " + three(m.Shrunken.Interval.High) + ")"}
			higher = Number(m.Shrunken.Higher, 3)
		}
		out.Rows = append(out.Rows, []cell{
			{Text: m.Name, Head: true, Strong: m.Alert || m.Sum.Alarm},
			num(strconv.Itoa(m.Rate.Events)), num(strconv.Itoa(m.Rate.Told)), num(percent(m.Tally.Coverage())),
			seen, shrunken, num(higher),
			{Text: probability(m.P), Num: true, Sub: "q " + probability(m.Q)},
			text(sum),
		})
	}
	return out
}
