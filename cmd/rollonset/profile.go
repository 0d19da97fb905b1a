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
		Long:  "An aircraft profile says what every recorded name means and what the limits are.\nThe language is described in `go doc rollonset/ingest/profile` and README.md.\n\n" + exitWords,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("profile has no command %q; it has check and explain", args[0])
			}
			return cmd.Help()
		},
		Args: cobra.ArbitraryArgs,
	}
	cmd.AddCommand(newProfileCheck(), newProfileExplain())
	return cmd
}

func newProfileCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE...",
		Short: "List every mistake in the profiles, with its place and a proposal",
		Long:  "check reads each profile strictly and lists all mistakes at once.\n\n" + exitWords,
		Args:  atLeast(1, "at least one profile"),
		RunE: func(cmd *cobra.Command, args []string) error {
			bad := 0
			for _, path := range args {
				p, err := profile.Load(path)
				var mistakes profile.Errors
				switch {
				case errors.As(err, &mistakes):
					fmt.Fprintln(cmd.ErrOrStderr(), mistakes)
					bad += len(mistakes)
				case err != nil:
					return err
				default:
					fmt.Fprintf(cmd.OutOrStdout(), "%s: %s %s is in order: %d parameters, %d checks\n", path, p.Name, p.Version, len(p.Parameters), len(p.Checks))
				}
			}
			if bad > 0 {
				return fmt.Errorf("%s found; nothing was run with these profiles", plural(bad, "mistake"))
			}
			return nil
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
