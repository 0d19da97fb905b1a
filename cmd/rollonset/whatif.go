package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
	"rollonset/report/whatif"
)

func newWhatIf() *cobra.Command {
	var sets []string
	format, typ := "text", ""
	cmd := &cobra.Command{
		Use:   "whatif ARCHIVE --set 'CHECK.max=VALUE'",
		Short: "Count the events that a changed limit would give",
		Long: `whatif counts how many events a changed limit would give over all takeoff
attempts of the archive, by month, from the stored values and margins. It takes
seconds and changes nothing. --set may be given several times:

  --set 'speedbrake lever.max=3'   another upper edge
  --set 'trim placarded.min=2.5'   another lower edge
  --set 'trim.margin=0.5'          all limits drawn in by half a unit (-0.5 widens)

Values are in the unit of the check. Where the stored figures cannot decide, the
count has two ends, at least and at most. It cannot answer for other bands over
weight and CG, other settings or states: change the profile and run reassess.

` + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if format != "text" && format != "json" && format != "csv" {
				return usagef("--format %q: choose text, json or csv", format)
			}
			if len(sets) == 0 {
				return usagef("--set is missing: give a changed limit, for example --set 'trim.margin=0.5'")
			}
			var changes []whatif.Change
			for _, s := range sets {
				c, err := whatif.ParseChange(s)
				if err != nil {
					return usagef("--set %w", err)
				}
				changes = append(changes, c)
			}
			a, err := archive.Open(args[0])
			if err != nil {
				return err
			}
			view, err := a.View()
			if err != nil {
				return err
			}
			results, err := whatif.Count(a, view, typ, changes)
			if err != nil {
				return err
			}
			return printWhatIf(cmd.OutOrStdout(), results, format)
		},
	}
	cmd.Flags().StringArrayVar(&sets, "set", nil, "a changed limit: CHECK.min=VALUE, CHECK.max=VALUE or CHECK.margin=VALUE (required)")
	cmd.Flags().StringVar(&typ, "type", "", "only this type of aircraft, or profile where the type is not told; needed where types judge the check in different units")
	cmd.Flags().StringVar(&format, "format", format, "text, json or csv")
	return cmd
}

func printWhatIf(w io.Writer, results []whatif.Result, format string) error {
	switch format {
	case "json":
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		return enc.Encode(results)
	case "csv":
		return whatIfCSV(w, results)
	}
	b := &strings.Builder{}
	for i, r := range results {
		if i > 0 {
			b.WriteString("\n")
		}
		whatIfText(b, r)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func whatIfText(b *strings.Builder, r whatif.Result) {
	var sets []string
	for _, c := range r.Changes {
		sets = append(sets, fmt.Sprintf("%s %s", c.Edge, strings.TrimSpace(strconv.FormatFloat(c.Value, 'g', -1, 64)+" "+r.Unit)))
	}
	fmt.Fprintf(b, "%s with %s: %s events in place of %d, on %d attempts that could be told.\n",
		r.Check, strings.Join(sets, " and "), thenWords(r.Total), r.Total.Now, r.Total.Told)
	tw := tabwriter.NewWriter(b, 2, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(tw, "month\ttold\tnow\tthen\tper 1,000 then\t\n")
	for _, m := range r.Months {
		rate := fmt.Sprintf("%.2f", 1000*float64(m.Least)/float64(m.Told))
		if m.Most > m.Least {
			rate += fmt.Sprintf(" to %.2f", 1000*float64(m.Most)/float64(m.Told))
		}
		fmt.Fprintf(tw, "%s\t%d\t%d\t%s\t%s\t\n", m.Month, m.Told, m.Now, thenWords(m), rate)
	}
	_ = tw.Flush() // a strings.Builder does not fail
	for _, n := range r.Notes {
		fmt.Fprintf(b, "%s\n", n)
	}
}

// thenWords are both ends of a count, or the one that they share.
func thenWords(m whatif.Month) string {
	if m.Least == m.Most {
		return strconv.Itoa(m.Least)
	}
	return fmt.Sprintf("%d to %d", m.Least, m.Most)
}

func whatIfCSV(w io.Writer, results []whatif.Result) error {
	out := csv.NewWriter(w)
	err := out.Write([]string{"check", "month", "takeoffs_told", "events_now", "events_then_least", "events_then_most"})
	for _, r := range results {
		for _, m := range r.Months {
			if err == nil {
				err = out.Write([]string{r.Check, m.Month.String(), strconv.Itoa(m.Told), strconv.Itoa(m.Now), strconv.Itoa(m.Least), strconv.Itoa(m.Most)})
			}
		}
	}
	out.Flush()
	if err != nil {
		return err
	}
	return out.Error()
}
