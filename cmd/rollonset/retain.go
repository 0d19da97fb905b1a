package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
	"rollonset/report/evidence"
)

// retainOptions are the flags of retain.
type retainOptions struct {
	coverOptions
	rules, today string
	apply        bool
}

func newRetain() *cobra.Command {
	o := retainOptions{}
	cmd := &cobra.Command{
		Use:   "retain ARCHIVE --rules FILE",
		Short: "Let go what has been kept long enough: first who flew, then all but counts",
		Long: `retain says what is due under the rules, and with --apply does it: a full flight
is reduced (who flew, when and where goes; findings and clip stay), a reduced
flight is counted and removed. A hold keeps a flight whatever its age. What went,
and under which rule, is logged in the archive. Rules are a text:

    keep full 24 months
    keep reduced 60 months
    hold EVENT until 2032-01-01 REASON
    hold EVENT REASON

Months count from the end of the month of the flight, so that the day on which a
flight goes does not tell the day on which it flew. The original recordings are
not touched, and process would take them in again.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0])
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.rules, "rules", "", "file with the rules (required)")
	f.BoolVar(&o.apply, "apply", false, "do it; without, it is only said what would be done")
	f.StringVar(&o.today, "today", "", "the day to go by, 2033-03-07; the day of the clock by default")
	o.flags(cmd)
	return cmd
}

// day is the day to go by.
func (o *retainOptions) day() (time.Time, error) {
	if o.today == "" {
		return time.Now().UTC().Truncate(24 * time.Hour), nil
	}
	day, err := time.Parse(time.DateOnly, o.today)
	if err != nil {
		return day, usagef("--today %q: write a day as 2033-03-07", o.today)
	}
	return day, nil
}

func (o *retainOptions) run(ctx context.Context, w, stderr io.Writer, dir string) error {
	if o.rules == "" {
		return usagef("--rules is missing: name the file with the rules")
	}
	today, err := o.day()
	if err != nil {
		return err
	}
	text, err := os.ReadFile(o.rules)
	if err != nil {
		return fmt.Errorf("read the rules: %w", err)
	}
	rules, err := evidence.ParseRules(o.rules, string(text))
	if err != nil {
		return err
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	if o.apply {
		unlock, err := lockArchive(dir, batch.Shard{})
		if err != nil {
			return err
		}
		defer unlock()
		// The chain of reviews may begin anew, so nobody may add to it meanwhile.
		open, err := holdChains(dir)
		if err != nil {
			return err
		}
		defer open()
	}
	plan, err := evidence.Plan(a, rules, today)
	if err != nil {
		return err
	}
	if err := showPlan(w, plan); err != nil {
		return err
	}
	if !o.apply {
		_, err := fmt.Fprintln(w, "Nothing was changed; --apply does it.")
		return err
	}
	return o.carryOut(ctx, w, stderr, a, plan, today)
}

func (o *retainOptions) carryOut(ctx context.Context, w, stderr io.Writer, a *archive.Archive, plan []evidence.Step, today time.Time) error {
	cover, err := o.cover(a, nil)
	if err != nil {
		return err
	}
	failed := 0
	r := evidence.Retention{
		Archive: a, Cover: cover, Versions: versions(), Today: today, Page: archivePage,
		Failed: func(folder string, err error) {
			failed++
			fmt.Fprintf(stderr, "left as it is: %v\n", err)
		},
	}
	if err := r.Apply(ctx, plan); err != nil {
		if errors.Is(err, context.Canceled) {
			return err
		}
		return fmt.Errorf("%w; run the same command again, it goes on where it stopped", err)
	}
	if _, err := fmt.Fprintf(w, "Done. What went is logged in %s.\n", a.Path(evidence.RetentionFile)); err != nil {
		return err
	}
	if failed > 0 {
		return errUnreadable
	}
	return nil
}

// showPlan prints what is due, a line a flight, and the sums.
func showPlan(w io.Writer, plan []evidence.Step) error {
	count := map[string]int{}
	tw := tabwriter.NewWriter(w, 2, 0, 2, ' ', 0)
	for _, s := range plan {
		count[s.Action]++
		fmt.Fprintf(tw, "%s\t%s\t%s\n", s.Action, s.Folder, s.Rule)
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "Due: %d to reduce, %d to count and remove, %d kept.\n", count[evidence.Reduce], count[evidence.Aggregate], count[evidence.Keeping])
	return err
}
