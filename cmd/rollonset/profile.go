package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"rollonset/ingest/profile"
)

func newProfile() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "profile",
		Short: "Check aircraft profiles and print them in plain words",
		Long:  "An aircraft profile says what every recorded name means and what the limits are.\n`rollonset profile language` prints how it is written, and which profile a\nrecording gets.\n\n" + exitWords,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return noCommand(cmd, args[0])
			}
			return cmd.Help()
		},
		Args: cobra.ArbitraryArgs,
	}
	cmd.AddCommand(newProfileCheck(), newProfileExplain(), newProfileLanguage())
	return cmd
}

func newProfileCheck() *cobra.Command {
	strict := false
	cmd := &cobra.Command{
		Use:   "check FILE...",
		Short: "List every mistake in the profiles, with its place and a proposal",
		Long: `check reads each profile strictly and lists all mistakes at once. What is no
mistake and hardly meant is listed as a doubt: the marks of a draft that nobody
has confirmed, by their lines, and an arming threshold that idle thrust would
pass. Doubts leave the exit code at 0, with --strict they make it 1.

` + exitWords,
		Args: atLeast(1, "at least one profile"),
		RunE: func(cmd *cobra.Command, args []string) error {
			mistakes, doubts := 0, 0
			for _, path := range args {
				m, d, err := checkProfile(cmd, path)
				if err != nil {
					return err
				}
				mistakes, doubts = mistakes+m, doubts+d
			}
			switch {
			case mistakes > 0:
				return fmt.Errorf("%s found; nothing was run with these profiles", plural(mistakes, "mistake"))
			case doubts > 0 && strict:
				return fmt.Errorf("%s found, which --strict does not let pass", plural(doubts, "doubt"))
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&strict, "strict", false, "end with 1 when anything is in doubt")
	return cmd
}

// checkProfile prints what is wrong with one profile and what is in doubt, and
// counts them.
func checkProfile(cmd *cobra.Command, path string) (mistakes, doubts int, err error) {
	p, err := profile.Load(path)
	var list profile.Errors
	switch {
	case errors.As(err, &list):
		fmt.Fprintln(cmd.ErrOrStderr(), list)
		return len(list), 0, nil
	case err != nil:
		return 0, 0, err
	}
	list = profile.Doubts(p)
	verdict := "is in order"
	if len(list) > 0 {
		verdict = "has no mistake, but " + plural(len(list), "doubt")
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s: %s %s %s: %s, %s\n", path, p.Name, p.Version, verdict, plural(len(p.Parameters), "parameter"), plural(len(p.Checks), "check"))
	warnOf(cmd, list)
	return 0, len(list), nil
}

// warnOf prints doubts where they are seen when standard output is not.
func warnOf(cmd *cobra.Command, doubts profile.Errors) {
	for _, d := range doubts {
		fmt.Fprintf(cmd.ErrOrStderr(), "warning: %s\n", d)
	}
}

func newProfileLanguage() *cobra.Command {
	return &cobra.Command{
		Use:   "language",
		Short: "Print how a profile is written: keys, units, defaults, examples",
		Long:  "language prints the description of the profile language that this program\nreads, with a whole profile as the first example.\n\n" + exitWords,
		Args:  exactly(0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprint(cmd.OutOrStdout(), profile.Language())
			return err
		},
	}
}

func newProfileExplain() *cobra.Command {
	return &cobra.Command{
		Use:   "explain FILE",
		Short: "Print a whole profile in plain words, from the data the program runs on",
		Long:  "explain prints what the program will do with the profile, for the person who\napproves it.\n\n" + exitWords,
		Args:  exactly(1, "one profile"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := profile.Load(args[0])
			if err != nil {
				return err
			}
			return profile.Explain(cmd.OutOrStdout(), p)
		},
	}
}
