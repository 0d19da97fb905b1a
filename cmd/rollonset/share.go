package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
	"rollonset/report/evidence"
)

// shareOptions are the flags of share.
type shareOptions struct {
	coverOptions
	to, makeKey, lookUp, reason string
	tails                       bool
}

func newShare() *cobra.Command {
	o := shareOptions{}
	cmd := &cobra.Command{
		Use:   "share ARCHIVE --to DIR --key-file KEY",
		Short: "Write the tables without who flew, when and where, for people outside",
		Long: `share writes the tables of an archive anew, from copies of the flights that do
not show who flew: pseudonyms under the operator's key, the month, times from
the onset, rare types merged, no aircraft, no places, no remarks. README.txt
beside them says what they still tell.

    rollonset share --make-key FILE       makes the operator's key

    rollonset share ARCHIVE --look-up PSEUDONYM --reason TEXT --key-file KEY
        tells whom a pseudonym stands for, after logging in the archive that it
        was asked, when and why

` + archive.Caution + "\n\n" + exitWords,
		Args: func(_ *cobra.Command, args []string) error {
			if o.makeKey == "" && len(args) != 1 {
				return usagef("name one archive; %d arguments were given", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case o.makeKey != "":
				return newPseudonymKey(cmd.OutOrStdout(), o.makeKey)
			case o.lookUp != "":
				return o.whoIs(cmd.OutOrStdout(), args[0])
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr(), args[0])
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.to, "to", "", "new folder for the tables (required)")
	f.StringVar(&o.makeKey, "make-key", "", "make a key for --key-file in a new file, and do nothing else")
	f.StringVar(&o.lookUp, "look-up", "", "a pseudonym to look up in the archive")
	f.StringVar(&o.reason, "reason", "", "why it is looked up; goes into the log")
	f.BoolVar(&o.tails, "tails", false, "give pseudonyms to aircraft instead of leaving them out; how often each flew may tell which it is")
	o.flags(cmd)
	return cmd
}

func newPseudonymKey(w io.Writer, path string) error {
	if err := evidence.MakeKey(path, rand.Reader); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "%s is the key of your pseudonyms. Keep it secret, outside any archive, and keep a copy: without it nobody can be found again.\n", path)
	return err
}

func (o *shareOptions) run(ctx context.Context, w, stderr io.Writer, dir string) error {
	if o.to == "" {
		return usagef("--to is missing: name a new folder for the tables")
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	if err := emptyFolder(o.to); err != nil {
		return err
	}
	cover, err := o.cover(a, nil, o.to)
	if err != nil {
		return err
	}
	cover.NoTails = !o.tails
	to, err := archive.Create(o.to)
	if err != nil {
		return err
	}
	left := 0
	s := evidence.Shared{From: a, Cover: cover, Versions: versions(), LeftOut: func(folder string, err error) {
		left++
		fmt.Fprintf(stderr, "left out: %v\n", err)
	}}
	counts, err := s.Write(ctx, to)
	if err != nil {
		return err
	}
	note := func(w io.Writer) error { return evidence.SharedNote(w, counts, o.smallest, cover) }
	if err := archive.WriteFile(filepath.Join(o.to, "README.txt"), note); err != nil {
		return err
	}
	if err := note(w); err != nil {
		return err
	}
	if left > 0 {
		fmt.Fprintf(stderr, "%s left out; what could not be covered is not shared\n", plural(left, "flight"))
		return errUnreadable
	}
	return nil
}

// emptyFolder refuses a folder that holds anything: what lies there already
// would be handed over with the tables.
func emptyFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("folder for the tables: %w", err)
	}
	if len(entries) > 0 {
		return fmt.Errorf("%s is not empty; name a new folder, so that nothing else is handed over with the tables", dir)
	}
	return nil
}

func (o *shareOptions) whoIs(w io.Writer, dir string) error {
	switch {
	case o.keyFile == "":
		return usagef("--key-file is missing: name the key that the pseudonym was made with")
	case o.reason == "":
		return usagef("--reason is missing: say why it is looked up; the log keeps it")
	}
	if err := evidence.CheckPseudonym(o.lookUp); err != nil {
		return usageError{err}
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	if err := evidence.KeepOutside(o.keyFile, dir); err != nil {
		return err
	}
	key, err := evidence.ReadKey(o.keyFile)
	if err != nil {
		return err
	}
	// Logged first: an answer without a line in the log must not happen.
	if err := o.logLookUp(a, key); err != nil {
		return err
	}
	found, err := key.Behind(a, o.lookUp)
	if err != nil {
		return err
	}
	if len(found) == 0 {
		return fmt.Errorf("%s stands for nobody in %s under this key; the pseudonym may be of another key, of another archive, or of a flight that retention has reduced", o.lookUp, dir)
	}
	for _, who := range found {
		fmt.Fprintln(w, who)
	}
	_, err = fmt.Fprintf(w, "This look-up is logged in %s.\n", a.Path(evidence.LookUpsFile))
	return err
}

func (o *shareOptions) logLookUp(a *archive.Archive, key *evidence.Key) error {
	unlock, err := holdChains(a.Dir())
	if err != nil {
		return fmt.Errorf("%w; without the log there is no answer", err)
	}
	defer unlock()
	return evidence.LogLookUp(a, evidence.LookUp{
		Time: time.Now().UTC().Format(time.RFC3339), Pseudonym: o.lookUp, Reason: o.reason, Key: key.Name(),
	})
}
