package page

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"rollonset/report/trend"
)

// TrendText prints what the trend page says, for a terminal: the opening, the
// alerts with their rules, every rate with denominator, interval and coverage,
// the actions, what is not significant, and the budget of false alerts.
func TrendText(w io.Writer, t *trend.Trends, o TrendOptions) error {
	b := &strings.Builder{}
	for _, line := range TrendWords(t) {
		fmt.Fprintln(b, line)
	}
	fmt.Fprintf(b, "\nAlerts: %d\n", len(t.Alerts))
	for _, a := range t.Alerts {
		since := sinceCell(t, a)
		fmt.Fprintf(b, "  %s%s, rule \"%s\", p %s (%s)\n    %s\n", map[bool]string{true: "since "}[since.Sub == ""], strings.TrimSpace(since.Text+" "+since.Sub), a.Rule, probability(a.P), strings.Join(pCell(t, a).Lines, ", "), a.Text)
	}
	if len(t.Alerts) > 0 {
		fmt.Fprintf(b, "  %s\n", pWords)
	}
	fmt.Fprint(b, "\nRates per 1,000 takeoffs on which it could be told, with the exact 95 % interval\n")
	tw := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
	fmt.Fprint(tw, "  check or reject\tevents\ttold\trate\tinterval\tbaseline\tsince\tcoverage before, since\tnot reviewed\n")
	for i := range t.Series {
		s := &t.Series[i]
		fmt.Fprintf(tw, "  %s\t%d\t%d\t%s\t%s to %s\t%s\t%s\t%s, %s\t%d\n", s.Name, s.Rate.Events, s.Rate.Told, three(s.Rate.PerThousand),
			three(s.Rate.Interval.Low), three(s.Rate.Interval.High), three(s.BaselineRate.PerThousand), three(s.WatchedRate.PerThousand),
			percent(s.CoverBase), percent(s.CoverWatch), s.Total.Unreviewed)
	}
	_ = tw.Flush() // a strings.Builder does not fail
	for i := range t.Series {
		fmt.Fprintf(b, "  %s: %s\n", t.Series[i].Name, verdict(t, &t.Series[i]))
	}
	for _, line := range append([]string{countedWords(t)}, o.Basis.words()...) {
		fmt.Fprintf(b, "  %s\n", line)
	}
	groupText(b, t, o)
	markerText(b, t)
	if len(t.Blind) > 0 {
		fmt.Fprint(b, "\nNot told at all\n")
		for _, x := range t.Blind {
			fmt.Fprintf(b, "  %s on tail %s: %s, since %s\n", x.Series, x.Tail, count(x.Attempts, "attempt"), x.Since)
		}
	}
	fmt.Fprint(b, "\nLooked at, and not significant\n")
	if len(t.Quiet) == 0 {
		fmt.Fprint(b, "  No rule was applied.\n")
	}
	for _, q := range quietLists(t) {
		fmt.Fprintf(b, "  %s\n", q.Rule)
		for _, line := range q.Lines {
			fmt.Fprintf(b, "    %s\n", line)
		}
	}
	for _, n := range t.Notes {
		fmt.Fprintf(b, "\nNote: %s\n", n)
	}
	if o.Source != "" {
		fmt.Fprintf(b, "\n%s\n", o.Source)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// groupText prints the groups that were asked for by name; without that the
// page has them.
func groupText(b *strings.Builder, t *trend.Trends, o TrendOptions) {
	for _, by := range o.By {
		over, _ := overWords(t, &trend.Series{})
		fmt.Fprintf(b, "\nBy %s, %s, the clearest first: seen, and drawn to the rate of all with the 90 %% interval, per 1,000\n", by, over)
		tw := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
		for i := range t.Series {
			for _, g := range t.Series[i].Groups {
				if g.By != by {
					continue
				}
				_, all := overWords(t, &t.Series[i])
				for _, m := range byEvidence(&g, all) {
					shrunken := None
					if m.Shrunken.Rate > 0 {
						shrunken = three(m.Shrunken.Rate) + " (" + three(m.Shrunken.Interval.Low) + " to " + three(m.Shrunken.Interval.High) + ")"
					}
					fmt.Fprintf(tw, "  %s\t%s\t%d in %s\t%s\t%s\n", t.Series[i].Name, m.Name, m.Rate.Events, strconv.Itoa(m.Rate.Told), three(m.Rate.PerThousand), shrunken)
				}
			}
		}
		_ = tw.Flush()
	}
}

func markerText(b *strings.Builder, t *trend.Trends) {
	markers := markersOf(t)
	if len(markers) == 0 {
		return
	}
	fmt.Fprint(b, "\nActions, before and after\n")
	lines := markerWords(t)
	fmt.Fprintf(b, "  %s\n", lines[0])
	for k, m := range markers {
		fmt.Fprintf(b, "  %s\n", lines[k+1])
		for i := range t.Series {
			for _, e := range t.Series[i].Markers {
				if e.Marker == m {
					fmt.Fprintf(b, "    %s: before %s; after %s; ratio %s (%s to %s), p %s, %s\n", t.Series[i].Name, e.Before, e.After,
						three(e.Ratio.Ratio), three(e.Ratio.Interval.Low), three(e.Ratio.Interval.High), probability(e.Ratio.P), changed(e, markerBound(t)))
				}
			}
		}
	}
}
