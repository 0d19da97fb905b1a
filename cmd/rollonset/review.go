package main

import (
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
	"rollonset/report/page"
)

// reviewOptions are the flags of review.
type reviewOptions struct {
	reason, role, export, imported, asOf string
	checks                               []string
	list, all                            bool
}

func newReview() *cobra.Command {
	o := reviewOptions{}
	cmd := &cobra.Command{
		Use:   "review ARCHIVE EVENT valid|nuisance|data-fault --reason TEXT",
		Short: "Record what a person decided about an event",
		Long: `review records a decision about the events of an attempt, named by its ID, or
with --check about some of them only. Decisions are kept in reviews.jsonl, line
by line, each with the hash of the line before it; nothing is ever changed or
taken out, and the last decision about an event counts. An event is known again
by aircraft, instant and check, so a decision outlives new limits. Pages show
decisions, and in trends nuisance events and data faults do not count.

    rollonset review ARCHIVE --list               what waits, and for how long
    rollonset review ARCHIVE --export work.csv    a worklist for a spreadsheet:
                                                  fill in decision and reason
    rollonset review ARCHIVE --import work.csv    and read it back

` + archive.Caution + "\n\n" + exitWords,
		Args: func(_ *cobra.Command, args []string) error { return o.check(args) },
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd, args) },
	}
	f := cmd.Flags()
	f.StringVar(&o.reason, "reason", "", "why, in a few words (required for a decision)")
	f.StringVar(&o.role, "role", "", "role of who decides, such as analyst; not a name")
	f.StringSliceVar(&o.checks, "check", nil, "decide only about these events of the attempt: names of checks, reject, or warning")
	f.BoolVar(&o.list, "list", false, "list the events that nobody has looked at, with their ages")
	f.BoolVar(&o.all, "all", false, "with --list and --export: those that were decided too")
	f.StringVar(&o.export, "export", "", "write a worklist (CSV) of the events that nobody has looked at")
	f.StringVar(&o.imported, "import", "", "read the decisions of a worklist")
	f.StringVar(&o.asOf, "as-of", "", "day that ages are counted to, 2031-03-31 (default today in UTC)")
	return cmd
}

func (o *reviewOptions) check(args []string) error {
	ways := 0
	for _, on := range []bool{o.list, o.export != "", o.imported != ""} {
		if on {
			ways++
		}
	}
	switch {
	case ways > 1:
		return usagef("--list, --export and --import exclude each other")
	case ways == 1 && len(args) != 1:
		return usagef("name one archive, and nothing else, with --list, --export and --import")
	case ways == 0 && len(args) != 3:
		return usagef("name an archive, an event and a decision: %s", strings.Join(decisionWords(), ", "))
	case ways == 0 && !slices.Contains(archive.Decisions(), archive.DecisionOf(args[2])):
		return usagef("%q is no decision; choose %s", args[2], strings.Join(decisionWords(), ", "))
	case ways == 0 && strings.TrimSpace(o.reason) == "":
		return usagef("--reason is missing: say in a few words why")
	}
	return nil
}

func decisionWords() []string {
	var out []string
	for _, d := range archive.Decisions() {
		out = append(out, strings.ReplaceAll(d, " ", "-"))
	}
	return out
}

func (o *reviewOptions) run(cmd *cobra.Command, args []string) error {
	a, err := archive.Open(args[0])
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	switch {
	case o.list:
		return o.printList(w, a)
	case o.export != "":
		return o.writeList(w, a)
	case o.imported != "":
		return o.readList(w, a)
	}
	return o.decide(w, a, args[1], archive.DecisionOf(args[2]))
}

// decide records one decision about the events of an attempt.
func (o *reviewOptions) decide(w io.Writer, a *archive.Archive, name, decision string) error {
	found, err := a.Find(name)
	if err != nil {
		return err
	}
	if found.Attempt == nil {
		if len(found.Summary.Attempts) != 1 {
			return fmt.Errorf("%q is a flight with %s; name one of them by its ID", name, plural(len(found.Summary.Attempts), "attempt"))
		}
		found.Attempt = &found.Summary.Attempts[0]
	}
	var entries []archive.Review
	known := []string{}
	for _, e := range archive.EventsOf(&found.Summary, found.Attempt.Number, archive.ParseReviews(nil)) {
		known = append(known, eventWord(e.EventSummary))
		if len(o.checks) > 0 && !slices.Contains(o.checks, eventWord(e.EventSummary)) && !slices.Contains(o.checks, e.Check) {
			continue
		}
		entries = append(entries, reviewOf(&e, decision, o.reason, o.role))
		fmt.Fprintf(w, "%s  %s: %s\n", e.Attempt.ID, decision, page.EventText(e.EventSummary, *e.Attempt))
	}
	if len(known) == 0 {
		return fmt.Errorf("attempt %s has no event to review", found.Attempt.ID)
	}
	if len(entries) == 0 {
		return fmt.Errorf("attempt %s has no event %s; it has %s", found.Attempt.ID, strings.Join(o.checks, ", "), strings.Join(known, ", "))
	}
	return addReviews(a, entries, map[string]archive.Summary{found.Summary.Flight.Folder: found.Summary})
}

// eventWord is what an event is called in --check.
func eventWord(e archive.EventSummary) string {
	if e.Kind == "configuration" {
		return e.Check
	}
	return e.Kind
}

func reviewOf(e *archive.ListedEvent, decision, reason, role string) archive.Review {
	return archive.Review{
		Decision: decision, Reason: strings.TrimSpace(reason), Role: strings.TrimSpace(role),
		Event: e.Attempt.ID, Kind: e.Kind, Check: e.Check, Severity: e.Severity, EventPlace: e.Place,
	}
}

// addReviews appends decisions under the lock of the reviews, which is not
// that of the runs: a review need not wait for a batch. Then the pages of the
// flights, and the night page, are drawn anew.
func addReviews(a *archive.Archive, entries []archive.Review, flights map[string]archive.Summary) error {
	unlock, err := holdChains(a.Dir())
	if err != nil {
		return err
	}
	defer unlock()
	now := time.Now().UTC().Format(time.RFC3339)
	for i := range entries {
		entries[i].Time = now
	}
	if err := a.AddReviews(entries); err != nil {
		return err
	}
	for _, s := range flights {
		if err := batch.Repage(a, s); err != nil {
			return fmt.Errorf("the review is recorded; %w", err)
		}
	}
	done, free := archiveIsFree(a.Dir())
	if !free {
		return nil // the run that is writing draws the night page at its end
	}
	defer done()
	if err := batch.Reviewed(a, slices.Sorted(maps.Keys(flights))...); err != nil {
		return fmt.Errorf("the review is recorded; %w", err)
	}
	return nil
}

// events reads the events that are asked for, worst first.
func (o *reviewOptions) events(a *archive.Archive) (all, wanted []archive.ListedEvent, err error) {
	reviews, err := a.Reviews()
	if err == nil {
		err = reviews.Whole()
	}
	if err != nil {
		return nil, nil, err
	}
	for e, err := range a.Events(reviews) {
		if err != nil {
			return nil, nil, err
		}
		all = append(all, e)
	}
	archive.WorstFirst(all)
	for _, e := range all {
		if o.all || e.Decision() == "" {
			wanted = append(wanted, e)
		}
	}
	return all, wanted, nil
}

// writeList writes a worklist.
func (o *reviewOptions) writeList(w io.Writer, a *archive.Archive) error {
	_, wanted, err := o.events(a)
	if err != nil {
		return err
	}
	var items []archive.WorkItem
	for i := range wanted {
		e := &wanted[i]
		items = append(items, archive.WorkItem{
			Event: e.Attempt.ID, Kind: e.Kind, Check: e.Check, Severity: e.Severity, What: page.EventText(e.EventSummary, *e.Attempt),
			Date: e.Flight.Date, Tail: e.Flight.Tail, Flight: e.Flight.Flight, State: e.Decision(),
		})
	}
	if err := archive.WriteFile(o.export, func(w io.Writer) error { return archive.WriteWorklist(w, items) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s in %s. Fill in decision (%s) and reason, then read it back with --import.\n", plural(len(items), "event"), o.export, strings.Join(decisionWords(), ", "))
	return err
}

// readList reads decisions back. All rows are checked before the first is
// recorded; one that is the decision already is passed over, so that a list can
// be read twice.
func (o *reviewOptions) readList(w io.Writer, a *archive.Archive) error {
	f, err := os.Open(o.imported)
	if err != nil {
		return fmt.Errorf("reading the worklist: %w", err)
	}
	defer f.Close()
	items, err := archive.ReadWorklist(f, o.imported)
	if err != nil {
		return err
	}
	reviews, err := a.Reviews()
	if err != nil {
		return err
	}
	var entries []archive.Review
	same := 0
	flights := map[string]archive.Summary{}
	for _, item := range items {
		e, s, err := o.eventOf(a, reviews, item)
		if err != nil {
			return fmt.Errorf("%s:%d: %w; nothing was recorded", o.imported, item.Line, err)
		}
		if last := len(e.Reviews) - 1; last >= 0 && e.Reviews[last].Decision == item.Decision && e.Reviews[last].Reason == item.Reason {
			same++
			continue
		}
		role := item.Role
		if role == "" {
			role = o.role
		}
		entries = append(entries, reviewOf(e, item.Decision, item.Reason, role))
		flights[s.Flight.Folder] = s
	}
	if len(entries) > 0 {
		if err := addReviews(a, entries, flights); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(w, "%s recorded, %d recorded before.\n", plural(len(entries), "decision"), same)
	return err
}

// eventOf finds the event of a row.
func (o *reviewOptions) eventOf(a *archive.Archive, reviews *archive.Reviews, item archive.WorkItem) (*archive.ListedEvent, archive.Summary, error) {
	if !slices.Contains(archive.Decisions(), item.Decision) {
		return nil, archive.Summary{}, fmt.Errorf("%q is no decision; choose %s", item.Decision, strings.Join(decisionWords(), ", "))
	}
	if item.Reason == "" {
		return nil, archive.Summary{}, fmt.Errorf("the decision about %s has no reason; say in a few words why", item.Event)
	}
	found, err := a.Find(item.Event)
	if err != nil {
		return nil, archive.Summary{}, err
	}
	if found.Attempt != nil {
		for _, e := range archive.EventsOf(&found.Summary, found.Attempt.Number, reviews) {
			if e.Kind == item.Kind && e.Check == item.Check {
				return &e, found.Summary, nil
			}
		}
	}
	return nil, archive.Summary{}, fmt.Errorf("%s has no event %s %q; export the worklist again", item.Event, item.Kind, item.Check)
}
