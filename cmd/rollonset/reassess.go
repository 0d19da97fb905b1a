package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/detect"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
	"rollonset/report/evidence"
)

// reassessOptions are the flags of reassess.
type reassessOptions struct {
	profiles, to, format string
	workers              int
}

func newReassess() *cobra.Command {
	o := reassessOptions{}
	cmd := &cobra.Command{
		Use:   "reassess ARCHIVE --profiles DIR --to DIR",
		Short: "Judge every clip under other limits and say which events come, go or change",
		Long: `reassess judges the clip of every flight with the profile of the same name in
another folder, by the detection of this program, without the recordings, and
says which events would be added, dropped or graded anew. The archive stays as
it is. The folder of --to gets a page with links, changes.csv for a spreadsheet,
reassessment.json, and the profiles.

` + evidence.Limits + "\n\n" + archive.Caution + "\n\n" + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return o.run(cmd.Context(), cmd.OutOrStdout(), args[0])
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.profiles, "profiles", "", "folder with the profiles to judge by (required)")
	f.StringVar(&o.to, "to", "", "folder for the report, new or empty (required)")
	f.StringVar(&o.format, "format", "text", "the account on standard output: text or json")
	f.IntVar(&o.workers, "workers", runtime.NumCPU(), "clips to work on at the same time")
	return cmd
}

func (o *reassessOptions) check() error {
	switch {
	case o.profiles == "":
		return usagef("--profiles is missing: name the folder with the profiles to judge by")
	case o.to == "":
		return usagef("--to is missing: name a new folder for the report")
	case o.format != "text" && o.format != "json":
		return usagef("--format %q: choose text or json", o.format)
	case o.workers < 1:
		return usagef("--workers %d: at least 1 is needed", o.workers)
	}
	entries, err := os.ReadDir(o.to)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("--to: %w", err)
	}
	if len(entries) > 0 {
		if _, err := os.Stat(filepath.Join(o.to, evidence.ReassessmentFile)); err != nil {
			return fmt.Errorf("%s is not empty and holds no %s; name an empty or a new folder", o.to, evidence.ReassessmentFile)
		}
	}
	return nil
}

func (o *reassessOptions) run(ctx context.Context, w io.Writer, dir string) error {
	if err := o.check(); err != nil {
		return err
	}
	profiles, err := profile.LoadDir(o.profiles)
	if err != nil {
		return err
	}
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	results, failed, err := o.judge(ctx, a, profiles)
	if err != nil {
		return err
	}
	sum := evidence.Sum(results, profiles, detect.Version)
	if err := sum.Write(o.to, a, profiles); err != nil {
		return err
	}
	if o.format == "json" {
		err = sum.WriteJSON(w)
	} else {
		err = o.text(w, &sum)
	}
	return errors.Join(err, failed)
}

// judge judges the latest result of every recording anew. A clip that cannot
// be read does not stop the others.
func (o *reassessOptions) judge(ctx context.Context, a *archive.Archive, profiles []*profile.Profile) ([]evidence.Reassessed, error, error) {
	folders, err := a.LatestFolders()
	if err != nil {
		return nil, nil, err
	}
	results, failed := make([]evidence.Reassessed, len(folders)), make([]error, len(folders))
	err = batch.Each(ctx, o.workers, len(folders), func(i int) error {
		s, err := a.Read(folders[i])
		if err == nil {
			results[i], err = evidence.Reassess(a, s, profiles)
		}
		if err != nil {
			results[i] = evidence.Reassessed{Folder: folders[i], Without: "the clip or the summary cannot be read"}
			failed[i] = err
		}
		return nil
	})
	return results, errors.Join(failed...), err
}

func (o *reassessOptions) text(w io.Writer, s *evidence.Reassessment) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s judged anew by detection %s", plural(s.Flights, "flight"), s.Detection)
	for _, p := range s.Profiles {
		fmt.Fprintf(b, ", %s %s", p.Name, p.Version)
	}
	fmt.Fprintf(b, ".\n%s before, %d now; %s before, %d now.\n", plural(s.AttemptsWas, "takeoff attempt"), s.AttemptsIs, plural(s.EventsWas, "event"), s.EventsIs)
	fmt.Fprintf(b, "%d added, %d dropped, %d graded anew, %d stay.\n", s.Added, s.Dropped, s.Regraded, s.Kept)
	fmt.Fprintf(b, "Checks: %d can now be told, %d no longer; %d new, %d gone.\n", s.NowTold, s.NowUntold, s.ChecksNew, s.ChecksGone)
	for _, why := range slices.Sorted(maps.Keys(s.Without)) {
		fmt.Fprintf(b, "Not judged anew: %s, because %s.\n", plural(s.Without[why], "flight"), why)
	}
	if len(s.Checks) > 0 {
		b.WriteString("\n")
		t := tabwriter.NewWriter(b, 2, 0, 2, ' ', 0)
		fmt.Fprintf(t, "event\twere\tare\tadded\tdropped\tgraded anew\n")
		for _, c := range s.Checks {
			fmt.Fprintf(t, "%s\t%d\t%d\t%d\t%d\t%d\n", c.Check, c.Was, c.Is, c.Added, c.Dropped, c.Regraded)
		}
		_ = t.Flush() // a strings.Builder does not fail
	}
	fmt.Fprintf(b, "\n%s\n\nReport: %s (open %s)\n%s\n", evidence.Limits, o.to, filepath.Join(o.to, "index.html"), archive.Caution)
	_, err := io.WriteString(w, b.String())
	return err
}
