package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"rollonset/detect"
	"rollonset/report/archive"
)

// program is the version of the program; the version of the detection logic,
// on which results depend, is detect.Version.
const program = "0.1.0"

// The exit codes, in every help and in README.md.
const (
	exitDone        = 0   // done
	exitFailed      = 1   // failed
	exitUsage       = 2   // the command line cannot be understood
	exitUnreadable  = 3   // done, but some recordings could not be read
	exitDifferent   = 4   // a comparison found a difference
	exitInterrupted = 130 // interrupted
)

const exitWords = `Exit codes: 0 done; 1 failed; 2 command line not understood; 3 done, but some
recordings could not be read; 4 a comparison found a difference; 130 interrupted.`

// Errors that carry an exit code and no message of their own: what there is
// to say has been said.
var (
	errUnreadable = errors.New("some recordings could not be read")
	errDifferent  = errors.New("a difference was found")
)

// usageError is a mistake in the command line.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// run is the program: arguments in, exit code out.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	return exitCode(ctx, root.ExecuteContext(ctx), stderr)
}

// exitCode maps an error to the exit code and prints what has not been said.
func exitCode(ctx context.Context, err error, stderr io.Writer) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errUnreadable):
		return exitUnreadable
	case errors.Is(err, errDifferent):
		return exitDifferent
	case ctx.Err() != nil && errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "rollonset: interrupted; what was finished is in the archive, run the same command again to go on")
		return exitInterrupted
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "rollonset: %v\nTry `rollonset help`.\n", err)
		return exitUsage
	}
	fmt.Fprintf(stderr, "rollonset: %v\n", err)
	return exitFailed
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "rollonset",
		Short: "Judge the configuration at takeoff-roll onset, and rejected takeoffs, in recorded flight data",
		Long: `rollonset reads recorded flight data, finds every takeoff attempt, judges the
aircraft's configuration at the onset of the takeoff roll, measures rejected
takeoffs, and writes a summary per flight with the data that proves it.

` + archive.Caution + "\n\n" + exitWords,
		SilenceErrors: true, SilenceUsage: true,
		Version: fmt.Sprintf("%s (detection %s)", program, detect.Version),
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("there is no command %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(newProcess(), newCollect(), newShow(), newInspect(), newProfile(), newSynth(), newScore(), newTrends(), newPeriod(), newWhatIf())
	root.AddCommand(newVerify(), newReplay(), newReview(), newReassess())
	root.AddCommand(newEvidence(), newShare(), newRetain(), newBrief(), newServe())
	return root
}

// atLeast demands n arguments and names what is missing.
func atLeast(n int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) < n {
			return usagef("name %s", what)
		}
		return nil
	}
}

// exactly demands n arguments.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != n {
			return usagef("name %s; %d arguments were given", what, len(args))
		}
		return nil
	}
}

// versions are the versions that go into every result.
func versions() archive.Versions {
	return archive.Versions{Detection: detect.Version, Program: program}
}
