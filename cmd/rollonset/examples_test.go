package main

import (
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// TestEveryCommandHasAnExample that it understands: the flags exist and the
// arguments are as many as it wants.
func TestEveryCommandHasAnExample(t *testing.T) {
	seen := map[string]bool{}
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		seen[c.CommandPath()] = true
		if words := shellWords(c.Example); len(words) == 0 {
			t.Errorf("%s has no example", c.CommandPath())
		} else {
			understands(t, words)
		}
		if !strings.Contains(c.Long, "Exit codes: 0 done") {
			t.Errorf("the help of %s does not tell the exit codes", c.CommandPath())
		}
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newRoot())
	for name := range examples {
		if !seen[name] {
			t.Errorf("there is an example of %q, which is no command", name)
		}
	}
}

// understands parses an example as the program would and goes no further.
func understands(t *testing.T, words []string) {
	t.Helper()
	cmd, args, err := newRoot().Find(words[1:])
	if err != nil {
		t.Errorf("%q: %v", words, err)
		return
	}
	if err := cmd.ParseFlags(args); err != nil {
		t.Errorf("%q: %v", words, err)
	}
	if cmd.Args != nil {
		if err := cmd.Args(cmd, cmd.Flags().Args()); err != nil {
			t.Errorf("%q: %v", words, err)
		}
	}
}

// shellWords cuts a command line at its blanks; single quotes hold words
// together.
func shellWords(line string) []string {
	quoted := false
	return strings.FieldsFunc(line, func(r rune) bool {
		if r == '\'' {
			quoted = !quoted
			return true
		}
		return r == ' ' && !quoted
	})
}
