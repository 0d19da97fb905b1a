package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/report/page"
)

func newBrief() *cobra.Command {
	to := ""
	cmd := &cobra.Command{
		Use:   "brief ARCHIVE EVENT --to FILE.html",
		Short: "Write one page for the simulator instructor: what to set, what happened when",
		Long: `brief writes one page that prints, for an instructor who wants crews to meet a
situation in the simulator: the initial conditions to set, the cues in order with
their times, what was done and when, the picture, and which of these were
measured, listed or unknown. It does not show who flew, when or where, and judges
nobody.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(2, "an archive and an event"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if to == "" {
				return usagef("--to is missing: name the page to write")
			}
			return writeBrief(cmd.OutOrStdout(), args[0], args[1], to)
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "the page to write (required)")
	return cmd
}

func writeBrief(w io.Writer, dir, name, to string) error {
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	found, err := a.Find(name)
	if err != nil {
		return err
	}
	number, err := oneAttempt(found)
	if err != nil {
		return err
	}
	f, err := evidence.Load(a, found.Summary)
	if err != nil {
		return err
	}
	// Weather stays exact: with neither month nor place nothing can be searched.
	copies, err := evidence.Cover{Whole: true, ExactWeather: true}.Deidentify(f, versions(), nil)
	if err != nil {
		return err
	}
	o := page.BriefOptions{
		Summary: copies[0].Summary, Attempt: number, Clip: copies[0].Clip, Levels: page.Levels(f.Profile), Type: typeName(found.Summary),
	}
	if err := archive.WriteFile(to, func(w io.Writer) error { return page.Brief(w, o) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s is the brief of %s.\n", to, archive.AttemptID(found.Summary.Key, number))
	return err
}

// oneAttempt is the number of the attempt that was named, or of the only one
// of the flight.
func oneAttempt(found archive.Found) (int, error) {
	if found.Attempt != nil {
		return found.Attempt.Number, nil
	}
	switch n := len(found.Summary.Attempts); n {
	case 0:
		return 0, fmt.Errorf("%s has no takeoff attempt to brief", found.Summary.Flight.Folder)
	case 1:
		return found.Summary.Attempts[0].Number, nil
	}
	return 0, fmt.Errorf("%s has %d attempts; name one, for example %s", found.Summary.Flight.Folder, len(found.Summary.Attempts), found.Summary.Attempts[0].ID)
}

func typeName(s archive.Summary) string {
	if s.Flight.Type != "" {
		return s.Flight.Type
	}
	return s.Profile.Name
}
