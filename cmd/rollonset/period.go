package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
	"rollonset/report/page"
	"rollonset/report/trend"
)

// periodFlags are the flags of period.
type periodFlags struct {
	month, year, to, baseline string
	validOnly                 bool
}

func newPeriod() *cobra.Command {
	o := periodFlags{}
	cmd := &cobra.Command{
		Use:   "period ARCHIVE --month 2031-03 --to FILE.html",
		Short: "Write the report of a month or a year for the safety meeting",
		Long: `period writes one printable page: what came in, the takeoff attempts, the events
with severity and review, the rates with their denominators, intervals and the
baseline, the alerts as of the end of the period, the coverage, and the age of
the high events that nobody has reviewed. It reads nothing after the period, so
the report of an old month says what could be known at its end.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd, args[0]) },
	}
	f := cmd.Flags()
	f.StringVar(&o.month, "month", "", "the month, 2031-03")
	f.StringVar(&o.year, "year", "", "the year, 2031, in place of a month")
	f.StringVar(&o.to, "to", "", "file for the report, FILE.html (required)")
	f.StringVar(&o.baseline, "baseline", "", "months to compare with, FROM:TO; by the rule of trends, at the end of the period, by default")
	f.BoolVar(&o.validOnly, "valid-only", false, "count only events that were reviewed as valid, in rates and alerts")
	return cmd
}

// months is the period that the flags name.
func (o *periodFlags) months() (trend.Period, error) {
	switch {
	case o.to == "":
		return trend.Period{}, usagef("--to is missing: name the file for the report, FILE.html")
	case (o.month == "") == (o.year == ""):
		return trend.Period{}, usagef("name one period: --month 2031-03 or --year 2031")
	case o.month != "":
		return months("--month", o.month, o.month)
	case len(o.year) != 4 || strings.Trim(o.year, "0123456789") != "":
		return trend.Period{}, usagef("--year %q: write it as 2031", o.year)
	}
	return months("--year", o.year+"-01", o.year+"-12")
}

func (o *periodFlags) run(cmd *cobra.Command, dir string) error {
	period, err := o.months()
	if err != nil {
		return err
	}
	opt, _, err := (&trendFlags{format: "text", falseAlerts: 1, baseline: o.baseline, validOnly: o.validOnly}).options()
	if err != nil {
		return err
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	view, err := a.View()
	if err != nil {
		return err
	}
	reviews, err := reviewsOf(a)
	if err != nil {
		return err
	}
	held, err := monthsHeld(view)
	if err != nil {
		return err
	}
	if held.From != 0 && (period.From > held.To || period.To < held.From) {
		return fmt.Errorf("%s holds no takeoff attempt in the months asked for; its attempts are from %s to %s: name a month or year of those", dir, held.From, held.To)
	}
	upTo := trend.Period{From: 1, To: period.To}
	t, err := trend.Build(trend.Within(trend.ViewRows(view, reviews), upTo), opt)
	if err != nil {
		return err
	}
	facts, err := page.ReadPeriod(a, view, period, reviews)
	if err != nil {
		return err
	}
	basis, err := page.ReadBasis(a, view, period)
	if err != nil {
		return err
	}
	show := page.PeriodOptions{Archive: o.link(dir), Caution: archive.Caution, Source: sourceOf(view), Basis: basis}
	if err := archive.WriteFile(o.to, func(w io.Writer) error { return page.Period(w, facts, t, show) }); err != nil {
		return err
	}
	for _, line := range page.PeriodWords(facts, t) {
		if _, err := fmt.Fprintln(cmd.OutOrStdout(), line); err != nil {
			return err
		}
	}
	return nil
}

// link is the address of the archive from the report, "" when there is none,
// as from one drive of Windows to another.
func (o *periodFlags) link(dir string) string {
	from, err := filepath.Abs(filepath.Dir(o.to))
	if err != nil {
		return ""
	}
	to, err := filepath.Abs(dir)
	if err != nil {
		return ""
	}
	rel, err := filepath.Rel(from, to)
	if err != nil {
		return ""
	}
	return filepath.ToSlash(rel)
}

// monthsHeld is from the first to the last month with a takeoff attempt; the
// zero period when no attempt has a date.
func monthsHeld(view *archive.View) (held trend.Period, err error) {
	for row, err := range trend.ViewRows(view, nil) {
		if err != nil {
			return held, err
		}
		if row.Date.IsZero() {
			continue
		}
		m := trend.MonthOf(row.Date)
		if held.From == 0 {
			held = trend.Period{From: m, To: m}
		}
		held.From, held.To = min(held.From, m), max(held.To, m)
	}
	return held, nil
}
