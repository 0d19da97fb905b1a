package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// asProgram makes the test binary behave as the program, for tests that need
// a process of its own to kill.
const asProgram = "ROLLONSET_TEST_AS_PROGRAM"

// TestMain makes the program available to the scripts as a command.
func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	testscript.Main(m, map[string]func(){
		"rollonset": func() {
			os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
		},
	})
}

// TestScripts runs the scripts in testdata/script: they are the specification
// of the commands, their messages and exit codes. $REPO is the root of the
// repository; -update is testscript's own way to refresh golden text.
func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("REPO", root)
			env.Setenv("FLEET", filepath.Join(root, "sampledata", "fleet"))
			env.Setenv("NIGHT", filepath.Join(root, "sampledata", "night"))
			return nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){"code": exitWith},
	})
}

// exitWith runs the program and demands an exit code: `code 3 process …`. What
// it printed is left for the stdout and stderr commands.
func exitWith(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code N ARGUMENTS...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	switch err := ts.Exec("rollonset", args[1:]...); {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}
