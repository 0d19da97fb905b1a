package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
	"rollonset/report/page"
)

func newShow() *cobra.Command {
	format := "text"
	chain := false
	cmd := &cobra.Command{
		Use:   "show ARCHIVE FLIGHT|EVENT",
		Short: "Print what was found on a flight or at one attempt",
		Long: `show prints a flight, or one takeoff attempt of it, from the archive: what
happened in plain sentences, the instants with their brackets, every check. A
flight is named by its folder or a part of it, its recording's file name or its
key; an attempt (and its events) by its ID, as the account of process prints it.
--why prints the chain from samples to verdict, derived again from the clip.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(2, "an archive and a flight or event"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return usagef("--format %q: choose text or json", format)
			}
			a, err := archive.Open(args[0])
			if err != nil {
				return err
			}
			found, err := a.Find(args[1])
			if err != nil {
				return err
			}
			if chain {
				return showWhy(cmd.OutOrStdout(), a, found)
			}
			if format == "json" {
				return showJSON(cmd.OutOrStdout(), found)
			}
			seen, err := a.SeenOf(found.Summary.Flight.Folder)
			if err != nil {
				return err
			}
			return showText(cmd.OutOrStdout(), found, seen)
		},
	}
	cmd.Flags().StringVar(&format, "format", format, "text or json")
	cmd.Flags().BoolVar(&chain, "why", false, "print the chain from samples to verdict")
	return cmd
}

func showJSON(w io.Writer, found archive.Found) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if found.Attempt != nil {
		return enc.Encode(found.Attempt)
	}
	return enc.Encode(found.Summary)
}

func showText(w io.Writer, found archive.Found, seen []archive.SeenRow) error {
	b := &strings.Builder{}
	s := &found.Summary
	fmt.Fprintf(b, "%s\n%s, profile %s %s\n", batch.FlightName(s), s.Recording.File, s.Profile.Name, s.Profile.Version)
	attempts := s.Attempts
	if found.Attempt != nil {
		attempts = []archive.AttemptSummary{*found.Attempt}
	}
	if len(attempts) == 0 {
		b.WriteString("\nNo takeoff attempt was found in this recording.\n")
	}
	elsewhere(b, seen, s.Flight.Folder, "")
	for i := range attempts {
		showAttempt(b, attempts[i], seen, s.Flight.Folder)
	}
	for _, l := range s.LookAlike {
		fmt.Fprintf(b, "\nNot an attempt, %.1f s to %.1f s: %s; %s.\n", l.From, l.To, l.Kind, l.Why)
	}
	if len(s.Notes) > 0 {
		b.WriteString("\nNotes on the recording:\n")
		for _, n := range s.Notes {
			fmt.Fprintf(b, "  %s\n", n)
		}
	}
	fmt.Fprintf(b, "\n%s\n", s.Caution)
	_, err := io.WriteString(w, b.String())
	return err
}

func showAttempt(b *strings.Builder, t archive.AttemptSummary, seen []archive.SeenRow, folder string) {
	fmt.Fprintf(b, "\nAttempt %d (%s): %s\n", t.Number, t.ID, page.Headline(t))
	for _, line := range page.Sentences(t) {
		fmt.Fprintf(b, "  %s\n", line)
	}
	elsewhere(b, seen, folder, t.ID)
	for _, e := range t.Events {
		fmt.Fprintf(b, "  %s: %s (%s)\n", e.Severity, page.EventText(e, t), page.RuleWords(e.Rule, e.Check, t))
	}
	b.WriteString("\n")
	tw := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
	for _, m := range page.Instants(t) {
		fmt.Fprintf(tw, "  %s\t%s\t%s\n", m.Name, m.Relative, m.Clock)
	}
	_ = tw.Flush() // a strings.Builder does not fail
	b.WriteString("\n")
	tw = tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
	if len(t.Findings) > 0 {
		b.WriteString("Checks, with seconds from the onset\n")
		fmt.Fprint(tw, "  check\tstate\tvalue\tlimit\treason\n")
	}
	for _, f := range t.Findings {
		fmt.Fprintf(tw, "  %s\t%s\t%s\t%s\t%s\n", f.Check, f.State, shownValue(t, f), shownLimit(f), strings.Join(page.Reasons(f), "; "))
	}
	_ = tw.Flush()
	if t.Warning != nil {
		fmt.Fprintf(b, "  takeoff warning and condition: %s. %s\n", page.VerdictWords(*t.Warning), t.Warning.Reason)
	}
}

// farthest is the stretch of a finding that went farthest out of limits, the
// first of a discrete; nil when there is none.
func farthest(f archive.FindingSummary) *archive.OutOfLimits {
	var out *archive.OutOfLimits
	for i := range f.Stretches {
		s := &f.Stretches[i]
		if out == nil || s.Margin != nil && out.Margin != nil && *s.Margin < *out.Margin {
			out = s
		}
	}
	return out
}

// shownValue is the value that the verdict rests on: of one that went out of
// limits in the roll the worst with its instant, beside that at the onset.
func shownValue(t archive.AttemptSummary, f archive.FindingSummary) string {
	s := farthest(f)
	if !f.InRoll || s == nil || t.Onset == nil {
		return f.Text
	}
	return fmt.Sprintf("%s at %+.1f s (%s at the onset)", s.Text, s.ValueAt-t.Onset.At, f.Text)
}

// shownLimit is the limit that applied to the value shown.
func shownLimit(f archive.FindingSummary) string {
	if s := farthest(f); f.InRoll && s != nil && s.Limit != "" {
		return s.Limit
	}
	return f.Limit
}
