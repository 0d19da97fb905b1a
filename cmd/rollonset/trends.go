package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/ingest/spelling"
	"rollonset/report/archive"
	"rollonset/report/page"
	"rollonset/report/trend"
)

// trendFlags are the flags of trends.
type trendFlags struct {
	from, to, baseline string
	by, markers        string
	format, page       string
	export             string
	validOnly          bool
	falseAlerts        float64
}

func newTrends() *cobra.Command {
	o := trendFlags{}
	cmd := &cobra.Command{
		Use:   "trends ARCHIVE",
		Short: "Say whether any rate is rising, where, and whether that is more than chance",
		Long: `trends reads the tables of an archive and writes trends.html into it, linked from
index.html, and an account on standard output: per check and for rejects the
rate per 1,000 takeoffs on which it could be told, with exact interval,
denominator and coverage; alerts with the rule that raised them; the groups;
the margins of ordinary takeoffs; what is not significant.

Months are compared with a baseline: what --baseline says, or else
` + wrapped(trend.BaselineRule) + `.
Without one nothing is compared. If nothing has changed, all rules together
raise at most --false-alerts alerts a year on the average.

--markers names a CSV with the columns date,text (and check, where an action
concerns one): dated actions, each with the rates before and after.
--export writes every figure with its denominator, a row each, as .csv or
.parquet; --format csv prints the same rows, --format json everything.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd, args[0]) },
	}
	f := cmd.Flags()
	f.StringVar(&o.from, "from", "", "first month that is read, 2031-01")
	f.StringVar(&o.to, "to", "", "last month that is read, 2033-12")
	f.StringVar(&o.baseline, "baseline", "", "months to compare with, FROM:TO, 2031-01:2031-12")
	f.StringVar(&o.by, "by", "", "ways of grouping that are shown, of type,base,runway,tail; all on the page and none in the account by default")
	f.StringVar(&o.markers, "markers", "", "CSV with dated actions: date,text")
	f.StringVar(&o.format, "format", "text", "the account on standard output: text, json or csv")
	f.StringVar(&o.page, "to-page", "", "file for the page instead of trends.html in the archive; \"none\" for no page")
	f.StringVar(&o.export, "export", "", "file for every figure, .csv or .parquet")
	f.BoolVar(&o.validOnly, "valid-only", false, "count only events that were reviewed as valid; otherwise those not yet reviewed count too")
	f.Float64Var(&o.falseAlerts, "false-alerts", 1, "alerts a year, on the average, that chance may raise")
	return cmd
}

func (o *trendFlags) run(cmd *cobra.Command, dir string) error {
	opt, ways, err := o.options()
	if err != nil {
		return err
	}
	period, err := o.period()
	if err != nil {
		return err
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	t, source, basis, err := trendsOf(a, period, opt)
	if err != nil {
		return err
	}
	if err := knownMarkers(o.markers, opt.Markers, t); err != nil {
		return err
	}
	show := page.TrendOptions{By: ways, Caution: archive.Caution, Source: source, Basis: basis}
	if err := o.writePage(a, t, show); err != nil {
		return err
	}
	if err := o.writeExport(t); err != nil {
		return err
	}
	switch o.format {
	case "json":
		return trend.WriteJSON(cmd.OutOrStdout(), t)
	case "csv":
		return archive.WriteFiguresCSV(cmd.OutOrStdout(), t.Figures())
	}
	return page.TrendText(cmd.OutOrStdout(), t, show)
}

// options turns the flags into options, or says which cannot be meant.
func (o *trendFlags) options() (trend.Options, []trend.By, error) {
	opt := trend.Options{ValidOnly: o.validOnly, FalseAlerts: o.falseAlerts}
	if o.format != "text" && o.format != "json" && o.format != "csv" {
		return opt, nil, usagef("--format %q: choose text, json or csv", o.format)
	}
	if ext := filepath.Ext(o.export); o.export != "" && ext != ".csv" && ext != ".parquet" {
		return opt, nil, usagef("--export %q: the name must end in .csv or .parquet", o.export)
	}
	if !(o.falseAlerts > 0 && o.falseAlerts <= 100) {
		return opt, nil, usagef("--false-alerts %g: give a number above 0 and up to 100", o.falseAlerts)
	}
	var err error
	if o.baseline != "" {
		from, to, ok := strings.Cut(o.baseline, ":")
		if !ok {
			return opt, nil, usagef("--baseline %q: write it as FROM:TO, for example 2031-01:2031-12", o.baseline)
		}
		if opt.Baseline, err = months("--baseline", from, to); err != nil {
			return opt, nil, err
		}
	}
	var ways []trend.By
	for _, name := range strings.FieldsFunc(o.by, func(r rune) bool { return r == ',' }) {
		if !slices.Contains(trend.Ways(), trend.By(name)) {
			return opt, nil, usagef("--by %q: choose of type, base, runway, tail", name)
		}
		ways = append(ways, trend.By(name))
	}
	if o.markers != "" {
		f, err := os.Open(o.markers)
		if err != nil {
			return opt, nil, fmt.Errorf("reading the markers: %w", err)
		}
		defer f.Close()
		if opt.Markers, err = trend.ReadMarkers(f, o.markers); err != nil {
			return opt, nil, err
		}
	}
	return opt, ways, nil
}

// wrapped breaks a sentence of another package into lines as help has them.
func wrapped(sentence string) string {
	var b strings.Builder
	width := 0
	for _, word := range strings.Fields(sentence) {
		switch {
		case width > 0 && width+1+len(word) > 80:
			b.WriteByte('\n')
			width = 0
		case width > 0:
			b.WriteByte(' ')
			width++
		}
		b.WriteString(word)
		width += len(word)
	}
	return b.String()
}

// knownMarkers refuses an action on a check that the archive does not have:
// it would be in no comparison, and nobody would see that it is missing.
func knownMarkers(file string, markers []trend.Marker, t *trend.Trends) error {
	var names []string
	for i := range t.Series {
		names = append(names, t.Series[i].Name)
	}
	for _, m := range markers {
		if m.Check == "" || slices.Contains(names, m.Check) {
			continue
		}
		hint := spelling.DidYouMean(m.Check, names)
		if hint == "" {
			hint = "leave the column empty for an action that concerns all"
		}
		return fmt.Errorf("%s:%d: no check %q; %s", file, m.Line, m.Check, hint)
	}
	return nil
}

// period are the months that are read; the zero Period for all.
func (o *trendFlags) period() (trend.Period, error) {
	if o.from == "" && o.to == "" {
		return trend.Period{}, nil
	}
	from, to := o.from, o.to
	if from == "" {
		from = "0001-01"
	}
	if to == "" {
		to = "9999-12"
	}
	return months("--from and --to", from, to)
}

// months reads a period of months.
func months(flag, from, to string) (trend.Period, error) {
	first, err := trend.ParseMonth(from)
	if err != nil {
		return trend.Period{}, usagef("%s: %w", flag, err)
	}
	last, err := trend.ParseMonth(to)
	if err != nil {
		return trend.Period{}, usagef("%s: %w", flag, err)
	}
	if last < first {
		return trend.Period{}, usagef("%s: %s lies after %s; give the first month first", flag, from, to)
	}
	return trend.Period{From: first, To: last}, nil
}

// trendsOf reads the archive and makes the trends, and says what was read.
func trendsOf(a *archive.Archive, period trend.Period, opt trend.Options) (t *trend.Trends, source string, basis page.Basis, err error) {
	view, err := a.View()
	if err != nil {
		return nil, "", basis, err
	}
	reviews, err := reviewsOf(a)
	if err != nil {
		return nil, "", basis, err
	}
	if t, err = trend.Build(trend.Within(trend.ViewRows(view, reviews), period), opt); err != nil {
		return nil, "", basis, err
	}
	basis, err = page.ReadBasis(a, view, period)
	return t, sourceOf(view), basis, err
}

// sourceOf says what stands behind the figures.
func sourceOf(v *archive.View) string {
	s := fmt.Sprintf("Read: %d recordings, each once under its latest result", v.Recordings)
	if v.Superseded > 0 {
		s += fmt.Sprintf("; %d older results were passed over", v.Superseded)
	}
	if n := len(v.Loose()); n > 0 {
		s += fmt.Sprintf("; %d flights lie in no table and were read from their summaries", n)
	}
	return s + "."
}

// writePage writes the page and, when it is new in the archive, the index
// anew with the link.
func (o *trendFlags) writePage(a *archive.Archive, t *trend.Trends, show page.TrendOptions) error {
	file := o.page
	if file == "none" {
		return nil
	}
	if file == "" {
		file = a.Path(batch.TrendsFile)
		unlock, err := lockArchive(a.Dir(), batch.Shard{})
		if err != nil {
			return err
		}
		defer unlock()
		if _, err := os.Stat(a.Path(batch.IndexFile)); err == nil {
			show.Index = batch.IndexFile
		}
	}
	_, before := os.Stat(file)
	err := archive.WritePage(file, func(w io.Writer) error { return page.Trends(w, t, show) })
	if err != nil || o.page != "" || before == nil {
		return err
	}
	return batch.Relink(a)
}

func (o *trendFlags) writeExport(t *trend.Trends) error {
	if o.export == "" {
		return nil
	}
	write := archive.WriteFigures
	if filepath.Ext(o.export) == ".csv" {
		write = archive.WriteFiguresCSV
	}
	return archive.WriteFile(o.export, func(w io.Writer) error { return write(w, t.Figures()) })
}
