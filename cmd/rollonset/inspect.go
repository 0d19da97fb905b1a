package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"rollonset/ingest"
	"rollonset/ingest/profile"
)

func newInspect() *cobra.Command {
	profiles := ""
	cmd := &cobra.Command{
		Use:   "inspect RECORDING",
		Short: "List what a recording holds: names, samples, rates, ranges, states",
		Long: `inspect reads every column of a recording and lists its name, how many samples
it has, how far they are apart, its range or its words. With --profiles it also
says which parameter the fitting profile reads from it.

` + exitWords,
		Args: exactly(1, "one recording"),
		RunE: func(cmd *cobra.Command, args []string) error {
			var list []*profile.Profile
			if profiles != "" {
				var err error
				if list, err = profile.LoadDir(profiles); err != nil {
					return err
				}
			}
			ins, err := ingest.Inspect(args[0], list, ingest.Options{})
			if err != nil {
				return err
			}
			return printInspection(cmd.OutOrStdout(), ins)
		},
	}
	cmd.Flags().StringVar(&profiles, "profiles", "", "folder with aircraft profiles, to name the parameters")
	return cmd
}

func printInspection(w io.Writer, ins *ingest.Inspection) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: %s, %d bytes, %d rows, %d columns\n", ins.Path, ins.Format, ins.Bytes, ins.Rows, len(ins.Columns))
	if ins.TimeColumn == "" {
		b.WriteString("No column rises from row to row, so no rate can be told.\n")
	} else {
		fmt.Fprintf(b, "Time is read from %q: %.1f s in all.\n", ins.TimeColumn, ins.Duration.Seconds())
	}
	b.WriteString("\n")
	tw := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "name\tunit\tsamples\tevery\tlongest gap\trange or states\tparameter")
	for _, c := range ins.Columns {
		fmt.Fprintf(tw, "%s\t%s\t%d\t%s\t%s\t%s\t%s\n", c.Name, c.Unit, c.Samples, every(c.Period), every(c.Gap), holds(c), c.Parameter)
	}
	_ = tw.Flush() // a strings.Builder does not fail
	for _, n := range ins.Notes {
		fmt.Fprintf(b, "note: %s\n", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func every(d time.Duration) string {
	if d <= 0 {
		return ""
	}
	return strconv.FormatFloat(d.Seconds(), 'g', 4, 64) + " s"
}

func holds(c ingest.ColumnReport) string {
	words := strings.Join(c.Words, " ")
	if c.MoreWords {
		words += " …"
	}
	switch {
	case math.IsNaN(c.Lo):
		return words
	case len(c.Words) > 0:
		return words
	}
	return strconv.FormatFloat(c.Lo, 'g', 6, 64) + " to " + strconv.FormatFloat(c.Hi, 'g', 6, 64)
}
