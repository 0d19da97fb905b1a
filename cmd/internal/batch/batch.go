package batch

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"rollonset/report/archive"
)

// Run does the job and returns the run record with the results in path
// order. The error is of the archive or of a cancelled context; recordings
// that cannot be read are results.
func Run(ctx context.Context, job Job, watch Observer) (archive.Run, []Result, error) {
	started := job.Clock()
	if err := keepProfiles(job); err != nil {
		return archive.Run{}, nil, err
	}
	r, err := newRunner(job, watch)
	if err != nil {
		return archive.Run{}, nil, err
	}
	results, err := r.work(ctx)
	if err == nil {
		err = settle(job.Archive, results)
	}
	if err != nil {
		return archive.Run{}, results, err
	}
	for _, p := range job.Problems {
		results = append(results, Result{RecordingLine: archive.RecordingLine{File: p.Path, Status: Unreadable, Problem: p.Path + ": " + p.Reason, Remedy: p.Remedy}})
	}
	slices.SortStableFunc(results, func(a, b Result) int { return strings.Compare(a.File, b.File) })
	run := record(job, results)
	run.Started = started.UTC().Format(timeOfDay)
	if job.Shard.Whole() {
		if err := publish(job.Archive, job.Pages, &run, results); err != nil {
			return run, results, err
		}
	}
	run.Finished = job.Clock().UTC().Format(timeOfDay)
	if !job.Shard.Whole() {
		return run, results, leaveForCollect(job, run)
	}
	return run, results, job.Archive.WriteRun(run)
}

// keepProfiles copies the profiles into the archive; shards take turns.
func keepProfiles(job Job) error {
	unlock, err := lock(job.Archive, "setup")
	if err != nil {
		return err
	}
	defer unlock()
	for _, p := range job.Profiles {
		if err := job.Archive.KeepProfile(p); err != nil {
			return err
		}
	}
	return nil
}

// runner is the state of the workers.
type runner struct {
	job   Job
	watch Observer
	// mine are the recordings of this shard.
	mine []string
	// fresh says that the archive held no flight when the run began, so that
	// nothing need be looked up in it.
	fresh bool
	// inputs are the base names of all recordings of the run, other shards'
	// included.
	inputs map[string]bool
	// seals are what earlier runs recorded of the flights, reviews what persons
	// decided so far.
	seals   map[string]archive.RecordingLine
	reviews *archive.Reviews
	history history

	mu sync.Mutex // guards the observer
}

func newRunner(job Job, watch Observer) (*runner, error) {
	r := &runner{job: job, watch: watch, fresh: true, inputs: map[string]bool{}}
	for _, p := range job.Recordings {
		r.inputs[filepath.Base(p)] = true
		if job.Shard.Mine(p) {
			r.mine = append(r.mine, p)
		}
	}
	for _, err := range job.Archive.Folders() {
		if err != nil {
			return nil, fmt.Errorf("looking into the archive: %w", err)
		}
		r.fresh = false
		break
	}
	runs, err := job.Archive.RunsByStart()
	if err != nil {
		return nil, err
	}
	r.history, r.seals = historyOf(runs), archive.SealsOf(runs)
	r.reviews, err = job.Archive.Reviews()
	return r, err
}

func (r *runner) work(ctx context.Context) ([]Result, error) {
	results := make([]Result, len(r.mine))
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(max(r.job.Workers, 1))
	for i, path := range r.mine {
		if inner.Err() != nil {
			break
		}
		g.Go(func() error {
			if err := inner.Err(); err != nil {
				return err
			}
			r.tell(func() {
				if r.watch.Started != nil {
					r.watch.Started(path)
				}
			})
			var err error
			if results[i], err = r.one(path); err != nil {
				return err
			}
			r.tell(func() {
				if r.watch.Finished != nil {
					r.watch.Finished(results[i])
				}
			})
			return nil
		})
	}
	err := g.Wait()
	if err == nil {
		err = ctx.Err()
	}
	return results, err
}

func (r *runner) tell(f func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f()
}
