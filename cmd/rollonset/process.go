package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"time"

	"github.com/gofrs/flock"
	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// processOptions are the flags of process.
type processOptions struct {
	profiles, archive, flights string
	workers                    int
	pages, format              string
}

func newProcess() *cobra.Command {
	o := processOptions{}
	cmd := &cobra.Command{
		Use:   "process PATH... --profiles DIR --archive DIR",
		Short: "Read recordings and write what was found into an archive",
		Long: `process reads the recordings at the given paths (files, or folders that are
searched), each with the aircraft profile that fits it, and writes a summary, a
page and a clip per flight, tables, and the page of the night into the archive.
A recording that cannot be read is accounted for with the reason and does not
stop the others.

` + archive.Caution + "\n\n" + exitWords,
		Args: atLeast(1, "at least one recording or folder"),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd, args) },
	}
	f := cmd.Flags()
	f.StringVar(&o.profiles, "profiles", "", "folder with the aircraft profiles (required)")
	f.StringVar(&o.archive, "archive", "", "folder of the archive, made when missing (required)")
	f.StringVar(&o.flights, "flights", "", "flight list (CSV) with what was planned for each takeoff")
	f.IntVar(&o.workers, "workers", runtime.NumCPU(), "recordings to work on at the same time")
	f.StringVar(&o.pages, "pages", string(batch.EventPages), "flights that get a page: events, all or none")
	f.StringVar(&o.format, "format", "text", "the account on standard output: text, json or csv")
	return cmd
}

// check refuses what the flags cannot mean.
func (o *processOptions) check() error {
	switch {
	case o.profiles == "":
		return usagef("--profiles is missing: name the folder with the aircraft profiles")
	case o.archive == "":
		return usagef("--archive is missing: name the folder for the results")
	case o.workers < 1:
		return usagef("--workers %d: at least 1 is needed", o.workers)
	case o.pages != string(batch.EventPages) && o.pages != string(batch.AllPages) && o.pages != string(batch.NoPages):
		return usagef("--pages %q: choose events, all or none", o.pages)
	case o.format != "text" && o.format != "json" && o.format != "csv":
		return usagef("--format %q: choose text, json or csv", o.format)
	}
	return nil
}

func (o *processOptions) run(cmd *cobra.Command, args []string) error {
	if err := o.check(); err != nil {
		return err
	}
	job, found, err := o.job(args)
	if err != nil {
		return err
	}
	unlock, err := lockArchive(o.archive)
	if err != nil {
		return err
	}
	defer unlock()
	if job.Archive, err = archive.Create(o.archive); err != nil {
		return err
	}
	show := newProgress(cmd.ErrOrStderr(), len(job.Recordings))
	run, results, err := batch.Run(cmd.Context(), job, show.observer())
	show.close()
	if err != nil {
		return err
	}
	acc := account{run: run, results: results, leftAlone: found.LeftAlone, archive: o.archive}
	if err := o.print(cmd.OutOrStdout(), acc); err != nil {
		return err
	}
	if run.Counts.Unreadable > 0 {
		return errUnreadable
	}
	return nil
}

// job reads the profiles and the flight list and discovers the recordings.
func (o *processOptions) job(args []string) (batch.Job, batch.Found, error) {
	profiles, err := profile.LoadDir(o.profiles)
	if err != nil {
		return batch.Job{}, batch.Found{}, err
	}
	var flights *ingest.FlightList
	if o.flights != "" {
		if flights, err = ingest.ReadFlightList(o.flights); err != nil {
			return batch.Job{}, batch.Found{}, err
		}
	}
	found := batch.Discover(args, o.flights)
	return batch.Job{
		Recordings: found.Recordings, Problems: found.Problems, Profiles: profiles, Flights: flights,
		Workers: o.workers, Pages: batch.Pages(o.pages), Versions: versions(), Command: args, Clock: time.Now,
	}, found, nil
}

// lockArchive makes sure that one run writes at a time.
func lockArchive(dir string) (func(), error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, fmt.Errorf("making the archive folder: %w", err)
	}
	l := flock.New(filepath.Join(dir, ".lock"))
	ok, err := l.TryLock()
	if err != nil {
		return nil, fmt.Errorf("locking the archive %s: %w; check that the folder can be written to", dir, err)
	}
	if !ok {
		return nil, fmt.Errorf("another run is writing to the archive %s; wait for it or name another archive", dir)
	}
	return func() { _ = l.Unlock() }, nil
}

func (o *processOptions) print(w io.Writer, acc account) error {
	switch o.format {
	case "json":
		return acc.json(w)
	case "csv":
		return acc.csv(w)
	}
	return acc.text(w)
}

// progress shows how far the batch is: a line that is rewritten on a
// terminal, a log line every ten seconds elsewhere.
type progress struct {
	out      io.Writer
	terminal bool
	log      *slog.Logger
	total    int
	done     int
	bad      int
	last     time.Time
}

func newProgress(out io.Writer, total int) *progress {
	return &progress{out: out, terminal: isTerminal(out), total: total, last: time.Now(), log: slog.New(slog.NewTextHandler(out, nil))}
}

func (p *progress) observer() batch.Observer {
	return batch.Observer{Finished: func(r batch.Result) {
		p.done++
		if r.Status == batch.Unreadable {
			p.bad++
		}
		switch {
		case p.terminal:
			fmt.Fprintf(p.out, "\r%d of %d recordings, %d unreadable ", p.done, p.total, p.bad)
		case time.Since(p.last) >= 10*time.Second:
			p.last = time.Now()
			p.log.Info("processing", "done", p.done, "of", p.total, "unreadable", p.bad)
		}
	}}
}

func (p *progress) close() {
	if p.terminal {
		fmt.Fprint(p.out, "\r\033[K")
	}
}

// json prints a line per recording.
func (a account) json(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for _, r := range a.results {
		if err := enc.Encode(struct {
			archive.RecordingLine
			Summary *archive.Summary `json:"summary"`
		}{r.RecordingLine, r.Summary}); err != nil {
			return err
		}
	}
	return nil
}

// csv prints a line per attempt, and one per recording without any.
func (a account) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	head := []string{"file", "status", "problem", "folder", "attempt", "outcome", "onset_s", "peak_ground_speed_kt", "events", "worst"}
	if err := out.Write(head); err != nil {
		return err
	}
	for _, r := range a.results {
		row := []string{r.File, r.Status, r.Problem, r.Folder}
		if r.Summary == nil || len(r.Summary.Attempts) == 0 {
			_ = out.Write(append(row, "", "", "", "", "", ""))
			continue
		}
		for _, t := range r.Summary.Attempts {
			onset, peak, worst := "", "", ""
			if t.Onset != nil {
				onset = strconv.FormatFloat(t.Onset.At, 'f', -1, 64)
			}
			if t.PeakSpeed != nil {
				peak = strconv.FormatFloat(t.PeakSpeed.Value, 'f', -1, 64)
			}
			if len(t.Events) > 0 {
				worst = t.Events[0].Severity
			}
			_ = out.Write(append(row[:4:4], strconv.Itoa(t.Number), t.Outcome, onset, peak, strconv.Itoa(len(t.Events)), worst))
		}
	}
	out.Flush()
	return out.Error()
}
