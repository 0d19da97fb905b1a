package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strconv"
	"strings"
	"time"

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
	shard, metrics             string
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
stop the others. What the archive already holds is not done again, so the same
command goes on after an interruption; what changed since, such as a profile, is
done again, and the account says why. A recording that could not be read is tried
again when it or what it is read with changed. A path "-" stands for paths on standard
input, one a line.

A recording gets its profile by its tail: from the file's own metadata or column,
from its name by file_name of the profile, or from the flight list. Where no tail
is known it gets the one that finds most of its recorded names, and a note says
so; two that find the same number are not decided between.

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
	f.StringVar(&o.shard, "shard", "", "do only part I of N, written I/N with I from 0; JOB_COMPLETION_INDEX or SLURM_ARRAY_TASK_ID gives I for a bare /N; collect joins the parts")
	f.StringVar(&o.metrics, "metrics", "", "file for counters in Prometheus text format")
	f.StringVar(&o.format, "format", "text", "the account on standard output: text, json or csv")
	return cmd
}

// mostWorkers bounds a slip of the pen: each worker holds a recording.
const mostWorkers = 1024

// check refuses what the flags cannot mean.
func (o *processOptions) check() error {
	switch {
	case o.profiles == "":
		return usagef("--profiles is missing: name the folder with the aircraft profiles")
	case o.archive == "":
		return usagef("--archive is missing: name the folder for the results")
	case o.workers < 1:
		return usagef("--workers %d: at least 1 is needed", o.workers)
	case o.workers > mostWorkers:
		return usagef("--workers %d: at most %d; more than there are processors (%d here) gain nothing, and each takes memory", o.workers, mostWorkers, runtime.NumCPU())
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
	paths, err := expand(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	job, found, err := o.job(paths)
	if err != nil {
		return err
	}
	for _, p := range job.Profiles {
		warnOf(cmd, profile.Doubts(p))
	}
	unlock, err := lockArchive(o.archive, job.Shard)
	if err != nil {
		return err
	}
	defer unlock()
	if job.Archive, err = createArchive(o.archive); err != nil {
		return err
	}
	show := newProgress(cmd.ErrOrStderr(), len(job.Recordings))
	defer show.close()
	run, results, err := batch.Run(cmd.Context(), job, show.observer())
	show.close()
	if err != nil && cmd.Context().Err() == nil {
		return fmt.Errorf("%w; what was finished is in the archive: mend the cause and run the same command again", err)
	}
	if err != nil {
		return err
	}
	if o.metrics != "" {
		if err := writeMetrics(o.metrics, run); err != nil {
			return err
		}
	}
	acc := account{run: run, results: results, leftAlone: found.LeftAlone, archive: o.archive, read: job.Archive.Read}
	if err := o.print(cmd.OutOrStdout(), acc); err != nil {
		return err
	}
	if run.Counts.Unreadable > 0 {
		return errUnreadable
	}
	return nil
}

// expand reads paths from standard input in place of "-".
func expand(args []string, stdin io.Reader) ([]string, error) {
	var out []string
	for _, a := range args {
		if a != "-" {
			out = append(out, a)
			continue
		}
		lines := bufio.NewScanner(stdin)
		for lines.Scan() {
			if p := strings.TrimSpace(lines.Text()); p != "" {
				out = append(out, p)
			}
		}
		if err := lines.Err(); err != nil {
			return nil, fmt.Errorf("reading paths from standard input: %w", err)
		}
	}
	return out, nil
}

// shardVariables are where schedulers say which part of an array a job is.
var shardVariables = []string{"JOB_COMPLETION_INDEX", "SLURM_ARRAY_TASK_ID"}

// parseShard reads I/N; for /N the index comes from the array variable of the
// scheduler.
func parseShard(text string) (batch.Shard, error) {
	if text == "" {
		return batch.Shard{}, nil
	}
	index, of, ok := strings.Cut(text, "/")
	n, errN := strconv.Atoi(of)
	if !ok || errN != nil || n < 1 {
		return batch.Shard{}, usagef("--shard %q: write it as I/N with I from 0 to N-1, for example 0/8", text)
	}
	from := ""
	for _, variable := range shardVariables {
		if index == "" && os.Getenv(variable) != "" {
			index, from = os.Getenv(variable), " out of "+variable
		}
	}
	i, errI := strconv.Atoi(index)
	switch {
	case index == "":
		return batch.Shard{}, usagef("--shard %q: the index is to come from the scheduler, but neither %s is set; write it as I/%d", text, strings.Join(shardVariables, " nor "), n)
	case errI != nil || i < 0 || i >= n:
		return batch.Shard{}, usagef("--shard %q: the index %q%s is not one of 0 to %d; write it as I/N, and start an array of %d jobs at 0", text, index, from, n-1, n)
	}
	return batch.Shard{Index: i, Of: n}, nil
}

// nothingFound is the error of a run whose paths lead to no recording at all:
// there is nothing to account for, and the archive stays as it is.
func nothingFound(found batch.Found) error {
	if len(found.Problems) == 0 {
		return errors.New("no path was given; nothing was done: name recordings or folders, or give their paths on standard input")
	}
	lines := []string{"the paths lead to no recording; nothing was done"}
	for _, p := range found.Problems {
		lines = append(lines, fmt.Sprintf("  %s: %s; %s", p.Path, p.Reason, p.Remedy))
	}
	return errors.New(strings.Join(lines, "\n"))
}

// job reads the profiles and the flight list and discovers the recordings.
func (o *processOptions) job(args []string) (batch.Job, batch.Found, error) {
	profiles, err := profile.LoadDir(o.profiles)
	if err != nil {
		return batch.Job{}, batch.Found{}, err
	}
	var flights *ingest.FlightList
	if o.flights != "" {
		if flights, err = flightList(o.flights); err != nil {
			return batch.Job{}, batch.Found{}, err
		}
	}
	shard, err := parseShard(o.shard)
	if err != nil {
		return batch.Job{}, batch.Found{}, err
	}
	found := batch.Discover(args, o.flights)
	boundMemory(o.workers, len(found.Recordings))
	if err := isFolder(o.archive); err != nil {
		return batch.Job{}, found, err
	}
	if len(found.Recordings) == 0 {
		return batch.Job{}, found, nothingFound(found)
	}
	if !shard.Whole() && shard.Index > 0 {
		found.Problems = nil // shard 0 accounts for paths that lead nowhere
	}
	return batch.Job{
		Recordings: found.Recordings, Problems: found.Problems, Profiles: profiles, Flights: flights,
		Workers: o.workers, Pages: batch.Pages(o.pages), Versions: versions(), Command: args, Shard: shard, Clock: time.Now,
	}, found, nil
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
