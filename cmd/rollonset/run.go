package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"rollonset/detect"
	"rollonset/report/archive"
)

// program is the version of the program; the version of the detection logic,
// on which results depend, is detect.Version.
const program = "0.2.0"

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
	cmd, err := root.ExecuteContextC(ctx)
	return exitCode(ctx, cmd.CommandPath(), err, stderr)
}

// exitCode maps an error of the command at a path to the exit code and prints
// what has not been said.
func exitCode(ctx context.Context, at string, err error, stderr io.Writer) int {
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
		topic := strings.TrimPrefix(at, "rollonset")
		fmt.Fprintf(stderr, "rollonset: %v\nTry `rollonset help%s`.\n", err, topic)
		return exitUsage
	}
	fmt.Fprintf(stderr, "rollonset: %v%s\n", err, remedyOf(err))
	return exitFailed
}

// remedyOf adds what to do to an error of the file system that came up as the
// system worded it. A message with a remedy of its own has a semicolon.
func remedyOf(err error) string {
	var path *fs.PathError
	switch {
	case !errors.As(err, &path) || strings.Contains(err.Error(), ";"):
		return ""
	case errors.Is(err, fs.ErrNotExist):
		return "; check the path"
	case errors.Is(err, fs.ErrPermission):
		return "; check who may read and write there"
	}
	return ""
}

// newHelp is the command help, which says when it is asked about a command that
// does not exist.
func newHelp(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Help about a command",
		Long:  "help prints what a command does, its flags and an example.\n\n" + exitWords,
		RunE: func(_ *cobra.Command, args []string) error {
			at := root
			for _, name := range args {
				i := slices.IndexFunc(at.Commands(), func(c *cobra.Command) bool { return c.Name() == name })
				if i < 0 {
					return noCommand(at, name)
				}
				at = at.Commands()[i]
			}
			at.InitDefaultHelpFlag()
			return at.Help()
		},
	}
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
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return noCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(flagMistake)
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(newProcess(), newCollect(), newShow(), newInspect(), newProfile(), newSynth(), newScore(), newTrends(), newPeriod(), newWhatIf())
	root.AddCommand(newVerify(), newReplay(), newReview(), newReassess())
	root.AddCommand(newEvidence(), newShare(), newRetain(), newBrief(), newServe(), newSelftest())
	root.SetHelpCommand(newHelp(root))
	root.InitDefaultHelpCmd() // else it joins when the program is run, without its example
	giveExamples(root)
	flagsOnce(root)
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

// exactly demands n arguments, what they are in words.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		switch {
		case n == 0 && len(args) > 0:
			return usagef("this command takes no arguments; %q is one", args[0])
		case len(args) != n:
			return usagef("name %s; %s given", what, counted(len(args)))
		}
		return nil
	}
}

// counted says how many arguments there were, as a sentence goes on.
func counted(n int) string {
	switch n {
	case 0:
		return "none was"
	case 1:
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
}

// versions are the versions that go into every result.
func versions() archive.Versions {
	return archive.Versions{Detection: detect.Version, Program: program}
}
