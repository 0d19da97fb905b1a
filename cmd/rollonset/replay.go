package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/detect"
	"rollonset/report/archive"
	"rollonset/report/evidence"
)

// replayOptions are the flags of replay.
type replayOptions struct {
	all     bool
	workers int
}

func newReplay() *cobra.Command {
	o := replayOptions{}
	cmd := &cobra.Command{
		Use:   "replay ARCHIVE FLIGHT|EVENT... | ARCHIVE --all | BUNDLE.zip",
		Short: "Derive findings again from their clips and compare them with what is stored",
		Long: `replay runs the detection over the clip of a flight with the stored copy of its
profile, without the recording, and compares every entry of the summary: each
finding, each instant with its bracket, each measure and note. An event names
one attempt; a flight all of its attempts. Of a bundle that evidence wrote, each
flight is replayed with the profile in it. The exit code is 0 only if all is
equal, and 4 with the entries that differ otherwise.

` + archive.Caution + "\n\n" + exitWords,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return usagef("name an archive")
			case o.all && len(args) > 1:
				return usagef("--all replays every flight; leave out the names, or --all")
			case !o.all && len(args) == 1 && !isFile(args[0]):
				return usagef("name a flight or event, or say --all")
			case o.workers < 1:
				return usagef("--workers %d: at least 1 is needed", o.workers)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if isFile(args[0]) {
				return replayBundle(cmd.OutOrStdout(), args[0])
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), args[0], args[1:])
		},
	}
	f := cmd.Flags()
	f.BoolVar(&o.all, "all", false, "replay every flight of the archive")
	f.IntVar(&o.workers, "workers", runtime.NumCPU(), "clips to work on at the same time")
	return cmd
}

// isFile says whether a path is that of a file, as a bundle is.
func isFile(p string) bool {
	info, err := os.Stat(p)
	return err == nil && info.Mode().IsRegular()
}

func replayBundle(w io.Writer, file string) error {
	folders, results, err := evidence.ReplayBundle(file)
	if err != nil {
		return err
	}
	jobs := make([]replayJob, len(folders))
	for i := range folders {
		jobs[i] = replayJob{folder: folders[i], result: results[i]}
	}
	return replayAccount(w, jobs)
}

// replayJob is a flight, or with a number other than 0 one attempt of it.
type replayJob struct {
	folder string
	number int
	result evidence.Replayed
	failed error
}

func (o *replayOptions) run(ctx context.Context, w io.Writer, dir string, names []string) error {
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	jobs, err := replayJobs(a, names, o.all)
	if err != nil {
		return err
	}
	err = batch.Each(ctx, o.workers, len(jobs), func(i int) error {
		j := &jobs[i]
		s, err := a.Read(j.folder)
		if err == nil {
			j.result, err = evidence.Replay(a, s, j.number)
		}
		j.failed = err
		return nil
	})
	if err != nil {
		return err
	}
	return replayAccount(w, jobs)
}

func replayJobs(a *archive.Archive, names []string, all bool) ([]replayJob, error) {
	var jobs []replayJob
	if all {
		for folder, err := range a.Folders() {
			if err != nil {
				return nil, err
			}
			jobs = append(jobs, replayJob{folder: folder})
		}
		return jobs, nil
	}
	for _, name := range names {
		found, err := a.Find(name)
		if err != nil {
			return nil, err
		}
		j := replayJob{folder: found.Summary.Flight.Folder}
		if found.Attempt != nil {
			j.number = found.Attempt.Number
		}
		jobs = append(jobs, j)
	}
	return jobs, nil
}

// replayAccount prints what differs, flight by flight, and the sums.
func replayAccount(w io.Writer, jobs []replayJob) error {
	b := &strings.Builder{}
	equal, differing, failed, nothing, attempts, findings := 0, 0, 0, 0, 0, 0
	for i := range jobs {
		j := &jobs[i]
		switch {
		case j.failed != nil:
			failed++
			fmt.Fprintf(b, "%s cannot be replayed: %v\n", j.folder, j.failed)
			continue
		case j.result.Nothing != "":
			nothing++
			continue
		case len(j.result.Differences) > 0:
			differing++
		default:
			equal++
		}
		attempts += j.result.Attempts
		findings += j.result.Findings
		for _, d := range j.result.Differences {
			fmt.Fprintf(b, "%s\n", d)
		}
	}
	fmt.Fprintf(b, "%s replayed by detection %s: %d equal, %d different", plural(equal+differing, "flight"), detect.Version, equal, differing)
	if failed > 0 {
		fmt.Fprintf(b, "; %d could not be", failed)
	}
	if nothing > 0 {
		fmt.Fprintf(b, "; %s without a takeoff attempt %s nothing to replay", plural(nothing, "flight"), map[bool]string{true: "has", false: "have"}[nothing == 1])
	}
	fmt.Fprintf(b, ".\n%s with %s compared.\n", plural(attempts, "takeoff attempt"), plural(findings, "finding"))
	if _, err := io.WriteString(w, b.String()); err != nil {
		return err
	}
	if differing+failed > 0 {
		return errDifferent
	}
	return nil
}
