package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"rollonset/ingest"
	"rollonset/ingest/profile"
)

func newInspect() *cobra.Command {
	profiles, draft, to := "", false, ""
	cmd := &cobra.Command{
		Use:   "inspect RECORDING",
		Short: "List what a recording holds, guess what it means, draft a first profile",
		Long: `inspect reads every column of a recording and lists its name, how many samples
it has, how far they are apart, its range or its words, and what it seems to be:
the parameter, the unit, the reason, and whether that is sure, likely or perhaps
so. A guess is for you to confirm; no recording is judged by one.

With --profiles it also says which parameter the fitting profile reads from each
column, and what each check of that profile would lack.

With --draft it writes a first profile instead, to standard output or to the
file named with --to. Every guess, and every limit to be filled in, is marked
CONFIRM; the limits are values seen in this recording and no limits at all.

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
			if to != "" && !draft {
				return usagef("--to names the file for a draft: give --draft too")
			}
			ins, err := ingest.Inspect(args[0], list, ingest.Options{})
			if err != nil {
				return err
			}
			if ins.Rows == 0 {
				return fmt.Errorf("%s: the file has a header and no data under it; export the recording again", args[0])
			}
			if draft {
				return writeDraft(cmd, ins, to)
			}
			return printInspection(cmd.OutOrStdout(), ins)
		},
	}
	cmd.Flags().StringVar(&profiles, "profiles", "", "folder with aircraft profiles, to name the parameters")
	cmd.Flags().BoolVar(&draft, "draft", false, "write a first profile, for you to confirm line by line")
	cmd.Flags().StringVar(&to, "to", "", "file to write the draft to, instead of standard output; it must not exist")
	return cmd
}

// writeDraft writes the draft. A file that exists may hold somebody's work and
// is left alone.
func writeDraft(cmd *cobra.Command, ins *ingest.Inspection, to string) error {
	text := ins.Draft()
	if to == "" {
		_, err := cmd.OutOrStdout().Write(text)
		return err
	}
	f, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s: the file exists and may hold work of yours; name another one with --to", to)
	}
	if err != nil {
		return fmt.Errorf("cannot write the draft: %w", err)
	}
	_, err = f.Write(text)
	if err := errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("cannot write the draft: %w", err)
	}
	marks := len((&profile.Profile{Source: text}).Unconfirmed())
	_, err = fmt.Fprintf(cmd.ErrOrStderr(), "rollonset: wrote %s; %d lines are marked CONFIRM: decide each one and take its mark out, then run `rollonset profile check --strict %s`\n",
		to, marks, to)
	return err
}

func printInspection(w io.Writer, ins *ingest.Inspection) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s: %s, %d bytes, %d rows, %d columns\n", ins.Path, ins.Format, ins.Bytes, ins.Rows, len(ins.Columns))
	printShape(b, ins)
	b.WriteString("\n")
	tw := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
	mapped := ""
	if ins.Profile != "" {
		mapped = "by " + ins.Profile
	}
	fmt.Fprintf(tw, "name\tunit\tsamples\tevery\tfrom\tlongest gap\trange or states\t%s\tseems to be\n", mapped)
	for _, c := range ins.Columns {
		fmt.Fprintf(tw, "%s\t%s\t%d\t%s\t%s\t%s\t%s\t%s\t%s\n", c.Name, c.Unit, c.Samples, every(c.Period), phase(c), every(c.Gap), holds(c), c.Parameter, c.Guess)
	}
	_ = tw.Flush() // a strings.Builder does not fail
	printReasons(b, ins)
	printLacks(b, ins)
	for _, n := range ins.Notes {
		fmt.Fprintf(b, "note: %s\n", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// printShape says how the file is laid out and timed.
func printShape(b *strings.Builder, ins *ingest.Inspection) {
	if l := ins.Long; l != nil {
		fmt.Fprintf(b, "Each row is one sample: of the parameter named in %q, the value in %q. Names are listed as columns.\n", l.Parameter, l.Value)
	}
	t := ins.Time
	if ins.TimeColumn == "" {
		b.WriteString("No column rises from row to row, so no rate can be told.\n")
		return
	}
	fmt.Fprintf(b, "Time is read from %q as %s: %.1f s in all.\n", ins.TimeColumn, t.Form, ins.Duration.Seconds())
	if t.DateColumn != "" {
		fmt.Fprintf(b, "The date stands in %q.\n", t.DateColumn)
	}
	if t.Rows > 1 {
		fmt.Fprintf(b, "%d rows share one written time; they are taken to lie evenly in it.\n", t.Rows)
	}
	if t.WrapsAt > 0 {
		fmt.Fprintf(b, "The counter starts again after %d.\n", t.WrapsAt-1)
	}
	if ins.Assumed {
		b.WriteString("How long a frame lasts is not in the file: 1 s is ASSUMED, and every rate rests on it.\n")
	}
	if len(ins.NoSample) > 0 {
		fmt.Fprintf(b, "Taken for no sample: %s.\n", strings.Join(ins.NoSample, ", "))
	}
	for _, c := range ins.Columns {
		if c.Filled {
			fmt.Fprintf(b, "%s has a cell in every row and changes each %s only: filled forward.\n", c.Name, every(c.Period))
		}
		if c.InCell > 1 {
			fmt.Fprintf(b, "%s holds up to %d samples in a cell.\n", c.Name, c.InCell)
		}
	}
}

// phase is when the first sample comes, after the start or a whole number of
// periods from there.
func phase(c ingest.ColumnReport) string {
	if c.Period <= 0 {
		return ""
	}
	return strconv.FormatFloat(c.Phase.Seconds(), 'g', 4, 64) + " s"
}

// printReasons lists why each column seems to be what it seems to be.
func printReasons(b *strings.Builder, ins *ingest.Inspection) {
	if !slices.ContainsFunc(ins.Columns, func(c ingest.ColumnReport) bool { return c.Guess.Parameter != "" }) {
		b.WriteString("\nNeither the names nor what the columns hold say what they are: is this a recording?\n")
		return
	}
	b.WriteString("\nWhy, as far as one recording can tell:\n")
	for _, c := range ins.Columns {
		if c.Guess.Parameter == "" {
			continue
		}
		fmt.Fprintf(b, "  %s: %s\n    because %s\n", c.Name, c.Guess, c.Guess.Reason)
		for _, r := range c.Guess.States {
			fmt.Fprintf(b, "    %s: %s\n", r.State, strings.Join(r.Cells, ", "))
		}
	}
}

// printLacks says what each check of the fitting profile would lack.
func printLacks(b *strings.Builder, ins *ingest.Inspection) {
	if ins.Profile == "" {
		return
	}
	if len(ins.Lacks) == 0 {
		fmt.Fprintf(b, "\nEvery check of profile %s finds what it reads.\n", ins.Profile)
		return
	}
	fmt.Fprintf(b, "\nWhat the checks of profile %s would lack:\n", ins.Profile)
	for _, l := range ins.Lacks {
		names := make([]string, len(l.Missing))
		for i, p := range l.Missing {
			names[i] = string(p)
		}
		fmt.Fprintf(b, "  %s: %s\n", l.Check, strings.Join(names, ", "))
	}
}

func every(d time.Duration) string {
	if d <= 0 {
		return ""
	}
	return strconv.FormatFloat(d.Seconds(), 'g', 4, 64) + " s"
}

// widestWords keeps a column of prose from pushing the others off the screen.
const widestWords = 60

func holds(c ingest.ColumnReport) string {
	words := strings.Join(c.Words, " ")
	if long := []rune(words); len(long) > widestWords {
		words = string(long[:widestWords]) + " …"
	} else if c.MoreWords {
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
