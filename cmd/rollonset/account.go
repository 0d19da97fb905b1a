package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
	"rollonset/report/page"
)

// account is what process says at the end: what came in, what could not be
// read and why, the coverage, and the events, worst first.
type account struct {
	run       archive.Run
	results   []batch.Result
	leftAlone []string
	archive   string
	// read reads back the summary of a flight folder.
	read func(folder string) (archive.Summary, error)
}

// text prints the account for a person.
func (a account) text(w io.Writer) error {
	b := &strings.Builder{}
	c := a.run.Counts
	fmt.Fprintf(b, "%s came in: %d processed, %d unreadable", plural(c.Received, "recording"), c.Processed, c.Unreadable)
	if c.Skipped > 0 {
		fmt.Fprintf(b, ", %d done before", c.Skipped)
	}
	if c.Duplicates > 0 {
		fmt.Fprintf(b, ", %d the same as another", c.Duplicates)
	}
	fmt.Fprintf(b, ".\n%s: %s, %s.\n", plural(c.Attempts, "takeoff attempt"), plural(c.Takeoffs, "lift-off"), plural(c.Rejects, "reject"))
	untold(b, c)
	a.again(b)
	a.elsewhere(b)
	a.problems(b)
	a.doubts(b)
	a.coverage(b)
	a.events(b)
	fmt.Fprintf(b, "\nArchive: %s", a.archive)
	if own := filepath.Join(a.archive, filepath.FromSlash(batch.RunPage(a.run.ID))); exists(own) {
		fmt.Fprintf(b, " (open %s; this run alone: %s)", filepath.Join(a.archive, batch.IndexFile), own)
	}
	fmt.Fprintf(b, "\n%s\n", archive.Caution)
	_, err := io.WriteString(w, b.String())
	return err
}

// untold says, one line each, how much could not be told. The lines are there
// also when it is nothing: silence would leave open whether anybody looked.
func untold(b *strings.Builder, c archive.RunCounts) {
	if c.Attempts == 0 {
		return
	}
	fmt.Fprintf(b, "Cannot be told: the end of %s.\n", plural(c.EndsUntold, "attempt"))
	fmt.Fprintf(b, "Cannot be told: the warning on %s.\n", plural(c.WarningsUntold, "attempt"))
	fmt.Fprintf(b, "Cannot be told: %d of %s.\n", c.ChecksUntold, plural(c.Checks, "check"))
}

func exists(file string) bool {
	_, err := os.Stat(file)
	return err == nil
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func (a account) problems(b *strings.Builder) {
	if a.run.Counts.Unreadable > 0 {
		b.WriteString("\nCould not be read:\n")
		for _, r := range a.results {
			if r.Status == batch.Unreadable {
				fmt.Fprintf(b, "  %s\n", r.Problem+remedy(r.Remedy)+unchanged(r.Since))
			}
		}
	}
	for _, r := range a.results {
		if r.Status == batch.Duplicate {
			fmt.Fprintf(b, "  %s: %s\n", r.File, r.Problem)
		}
	}
	if len(a.run.Missing) > 0 {
		fmt.Fprintf(b, "\nListed, but no recording came:\n")
		for _, m := range a.run.Missing {
			fmt.Fprintf(b, "  %s\n", m)
		}
	}
	if n := len(a.leftAlone); n > 0 {
		fmt.Fprintf(b, "\nLeft alone, not recordings: %s\n", strings.Join(a.leftAlone[:min(n, 5)], ", ")+more(n-5))
	}
}

func remedy(s string) string {
	if s == "" {
		return ""
	}
	return "; " + s
}

// unchanged says since when a recording was not read again, "" when it was.
func unchanged(since string) string {
	if since == "" {
		return ""
	}
	return " (not read again: unchanged since run " + since + ")"
}

// again says how many recordings were done again, a line for each reason: their
// earlier results are replaced, or no longer the latest.
func (a account) again(b *strings.Builder) {
	by := map[string]int{}
	for _, r := range a.results {
		if r.Again != "" && r.Status != batch.Duplicate {
			by[r.Again]++
		}
	}
	for _, why := range slices.Sorted(maps.Keys(by)) {
		fmt.Fprintf(b, "Done again: %s, because %s.\n", plural(by[why], "recording"), why)
	}
}

func more(n int) string {
	if n <= 0 {
		return ""
	}
	return fmt.Sprintf(" and %d more", n)
}

// doubts lists what data was taken out of use on the whole, and what to look
// at: a wrong unit in a profile shows on all recordings of a type.
func (a account) doubts(b *strings.Builder) {
	type doubt struct{ parameter, remedy string }
	n := map[doubt]int{}
	var order []doubt
	for _, r := range a.results {
		for _, d := range r.Tally.Doubts {
			k := doubt{d.Parameter, d.Remedy}
			if n[k] == 0 {
				order = append(order, k)
			}
			n[k]++
		}
	}
	slices.SortFunc(order, func(x, y doubt) int {
		return cmp.Or(strings.Compare(x.parameter, y.parameter), strings.Compare(x.remedy, y.remedy))
	})
	if len(order) > 0 {
		b.WriteString("\n")
	}
	for _, k := range order {
		fmt.Fprintf(b, "Not believed: %s on %s: %s\n", k.parameter, plural(n[k], "recording"), k.remedy)
	}
}

// coverage lists per check of each profile how often it could be told.
func (a account) coverage(b *strings.Builder) {
	type told struct{ told, attempts, lifeless int }
	sums := map[[2]string]*told{}
	var order [][2]string
	for _, r := range a.results {
		for _, c := range r.Tally.Coverage {
			k := [2]string{r.Profile, c.Check}
			if sums[k] == nil {
				sums[k] = &told{}
				order = append(order, k)
			}
			sums[k].told += c.Told
			sums[k].attempts += c.Attempts
			if c.Lifeless {
				sums[k].lifeless++
			}
		}
	}
	if len(order) == 0 {
		return
	}
	slices.SortStableFunc(order, func(x, y [2]string) int { return strings.Compare(x[0], y[0]) })
	b.WriteString("\nCoverage: attempts on which each check could be told, of those it applies to\n(no sign of life: recordings with such an attempt in which what it rests on never changed)\n")
	for _, k := range order {
		s := sums[k]
		fmt.Fprintf(b, "  %-10s %-22s %3d of %3d", k[0], k[1], s.told, s.attempts)
		if s.lifeless > 0 {
			fmt.Fprintf(b, "   %s on %s", page.NoLife, plural(s.lifeless, "recording"))
		}
		b.WriteString("\n")
	}
}

// events lists the events worst first, in the order of the pages.
func (a account) events(b *strings.Builder) {
	var all []batch.Event
	for _, r := range a.results {
		all = append(all, r.Tally.Events...)
	}
	slices.SortStableFunc(all, func(x, y batch.Event) int { return x.Place.Compare(y.Place) })
	c := a.run.Counts
	fmt.Fprintf(b, "\nEvents: %d high, %d medium, %d low\n", c.High, c.Medium, c.Low)
	if len(all) > 1 {
		fmt.Fprintf(b, "%s\n", page.EventOrder)
	}
	for _, e := range all {
		fmt.Fprintf(b, "  %-6s  %s  %s: %s\n", e.Severity, e.Attempt, e.Flight, e.Text)
	}
}
