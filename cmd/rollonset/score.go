package main

import (
	"encoding/json"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
	"rollonset/sampledata/score"
	"rollonset/sampledata/truth"
)

func newScore() *cobra.Command {
	var truthFile string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "score ARCHIVE --truth FILE",
		Short: "Compare an archive with what really happened",
		Long: `score compares every attempt, outcome and finding in the archive with the truth
that synth wrote beside its recordings, and prints per kind of statement the
hits, misses, false alarms and wrong "cannot be told", and per instant and
measure the distribution of the error. It ends with 4 when anything differs.

` + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if truthFile == "" {
				return usagef("--truth is missing: name the truth.csv beside the recordings")
			}
			report, err := compare(args[0], truthFile)
			if err != nil {
				return err
			}
			if asJSON {
				enc := json.NewEncoder(cmd.OutOrStdout())
				enc.SetEscapeHTML(false)
				enc.SetIndent("", "  ")
				err = enc.Encode(report)
			} else {
				err = report.Write(cmd.OutOrStdout())
			}
			if err == nil && !report.Perfect() {
				return errDifferent
			}
			return err
		},
	}
	cmd.Flags().StringVar(&truthFile, "truth", "", "truth.csv to compare with (required)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the whole comparison as JSON")
	return cmd
}

// compare reads the truth and the archive's summaries.
func compare(dir, truthFile string) (score.Report, error) {
	f, err := os.Open(truthFile)
	if err != nil {
		return score.Report{}, fmt.Errorf("reading the truth: %w", err)
	}
	defer f.Close()
	truths, err := truth.Read(f, truthFile)
	if err != nil {
		return score.Report{}, err
	}
	a, err := archive.Open(dir)
	if err != nil {
		return score.Report{}, err
	}
	return compareWith(a, truths)
}

// compareWith holds an archive to a truth that has been read.
func compareWith(a *archive.Archive, truths []truth.Attempt) (score.Report, error) {
	var summaries []archive.Summary
	for s, err := range a.Summaries() {
		if err != nil {
			return score.Report{}, err
		}
		summaries = append(summaries, s)
	}
	return score.Compare(truths, summaries), nil
}
