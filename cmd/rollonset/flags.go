package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rollonset/ingest/spelling"
)

// flagsOnce makes every flag of the program refuse to be given twice, unless it
// is a list: of two archives, quietly taking the last one would put a night
// where nobody looks for it.
func flagsOnce(cmd *cobra.Command) {
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		if !strings.HasSuffix(f.Value.Type(), "Slice") && !strings.HasSuffix(f.Value.Type(), "Array") {
			f.Value = &once{Value: f.Value}
		}
	})
	for _, c := range cmd.Commands() {
		flagsOnce(c)
	}
}

// once is a value of a flag that can be set one time.
type once struct {
	pflag.Value
	given bool
	first string
}

// errTwice is the refusal of a second value.
type errTwice struct{ first string }

func (e errTwice) Error() string { return fmt.Sprintf("%q was given before", e.first) }

// Set takes the first value.
func (o *once) Set(text string) error {
	if o.given {
		return errTwice{o.first}
	}
	o.given, o.first = true, text
	return o.Value.Set(text)
}

// flagMistake says in our own words what is wrong with a flag, and what would
// be right.
func flagMistake(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var wrong *pflag.InvalidValueError
	var twice errTwice
	switch {
	case errors.As(err, &unknown):
		return unknownFlag(cmd, unknown)
	case errors.As(err, &bare):
		return usagef("--%s needs a value: %s", bare.GetFlag().Name, bare.GetFlag().Usage)
	case errors.As(err, &twice):
		return usagef("--%s is given twice, %q and %q: keep one of them", wrongFlag(err), twice.first, wrongValue(err))
	case errors.As(err, &wrong):
		return usagef("--%s %q: %s is needed", wrong.GetFlag().Name, wrong.GetValue(), valueOf(wrong.GetFlag()))
	}
	return usageError{err}
}

func wrongFlag(err error) string {
	var wrong *pflag.InvalidValueError
	if errors.As(err, &wrong) {
		return wrong.GetFlag().Name
	}
	return ""
}

func wrongValue(err error) string {
	var wrong *pflag.InvalidValueError
	if errors.As(err, &wrong) {
		return wrong.GetValue()
	}
	return ""
}

// valueOf is what a flag takes, in words.
func valueOf(f *pflag.Flag) string {
	switch t := f.Value.Type(); {
	case strings.HasPrefix(t, "int"):
		return "a whole number"
	case strings.HasPrefix(t, "uint"):
		return "a whole number of 0 or more"
	case strings.HasPrefix(t, "float"):
		return "a number, with a point for decimals,"
	case t == "bool":
		return "true or false, or no value at all,"
	case t == "duration":
		return "a time such as 90s or 15m"
	}
	return "another value"
}

// unknownFlag proposes the flag of this command that is written nearly so, or
// lists those that it has.
func unknownFlag(cmd *cobra.Command, e *pflag.NotExistError) error {
	name := e.GetSpecifiedName()
	if short := e.GetSpecifiedShortnames(); short != "" {
		return usagef("%s has no flag -%s: flags are written out, such as --help", cmd.CommandPath(), short)
	}
	var known []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) { known = append(known, f.Name) })
	hint := spelling.DidYouMean(name, known)
	if !strings.HasPrefix(hint, "did") {
		hint = "it has --" + strings.Join(known, ", --")
	}
	return usagef("%s has no flag --%s; %s", cmd.CommandPath(), name, hint)
}

// noCommand is the mistake of a command that does not exist.
func noCommand(cmd *cobra.Command, name string) error {
	var known []string
	for _, c := range cmd.Commands() {
		if !c.Hidden {
			known = append(known, c.Name())
		}
	}
	slices.Sort(known)
	hint := spelling.DidYouMean(name, known)
	if !strings.HasPrefix(hint, "did") {
		hint = "there are " + strings.Join(known, ", ")
	}
	return usagef("%s has no command %q; %s", cmd.CommandPath(), name, hint)
}
