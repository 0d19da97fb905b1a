package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// printList prints what waits, worst first, and for how long.
func (o *reviewOptions) printList(w io.Writer, a *archive.Archive) error {
	day := time.Now().UTC().Truncate(24 * time.Hour)
	if o.asOf != "" {
		var err error
		if day, err = time.Parse(time.DateOnly, o.asOf); err != nil {
			return usagef("--as-of %q: write a day as 2031-03-31", o.asOf)
		}
	}
	all, wanted, err := o.events(a)
	if err != nil {
		return err
	}
	b := &strings.Builder{}
	for i := range wanted {
		e := &wanted[i]
		state := e.Decision()
		if state == "" {
			state = "not reviewed"
		}
		fmt.Fprintf(b, "%-6s  %s  %s %s %s: %s (%s)\n", e.Severity, e.Attempt.ID, e.Flight.Date, e.Flight.Tail, e.Flight.Flight, page.EventText(e.EventSummary, *e.Attempt), state)
	}
	if len(wanted) > 0 {
		b.WriteString("\n")
	}
	fmt.Fprintf(b, "Days since the flight, of the events that nobody has looked at, as of %s\n", day.Format(time.DateOnly))
	t := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
	fmt.Fprintf(t, "\tnot reviewed\t%s\tno date\treviewed\toldest\n", strings.Join(archive.AgeWords(), "\t"))
	for _, g := range archive.AgeingOf(all, day) {
		oldest := "none"
		if g.Oldest != nil {
			oldest = fmt.Sprintf("%s, %s", g.Oldest.Attempt.ID, plural(g.Days, "day"))
		}
		ages := ""
		for _, n := range g.Ages {
			ages += fmt.Sprintf("%d\t", n)
		}
		fmt.Fprintf(t, "%s\t%d\t%s%d\t%d\t%s\n", g.Severity, g.Open(), ages, g.Undated, g.Reviewed, oldest)
	}
	_ = t.Flush() // a strings.Builder does not fail
	_, err = io.WriteString(w, b.String())
	return err
}
