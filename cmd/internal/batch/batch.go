// Package batch runs the job over many recordings: discover them, work on
// them in parallel, publish the tables and the night page, and account for
// every one.
//
// Each recording is one task for one worker, from open to rename. Nothing is
// shared between them but the profiles and the flight list, which are only
// read. A panic in a task becomes that recording's error. The engine knows no
// terminal: it reports through an Observer.
package batch

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
	"rollonset/report/archive"
	"rollonset/report/page"
)

// Pages says which flights get a page.
type Pages string

// The choices of pages.
const (
	EventPages Pages = "events" // flights with an event, a reject, or something that cannot be told
	AllPages   Pages = "all"
	NoPages    Pages = "none"
)

// Job is one run of the batch.
type Job struct {
	Recordings []string // in path order
	Problems   []Problem
	Profiles   []*profile.Profile
	Flights    *ingest.FlightList
	Archive    *archive.Archive
	Limits     table.Limits
	Workers    int
	Pages      Pages
	Versions   archive.Versions
	Command    []string
	Clock      func() time.Time
}

// The states of a recording in the account.
const (
	Processed  = "processed"
	Skipped    = "skipped"
	Unreadable = "unreadable"
)

// Result is what became of one recording.
type Result struct {
	archive.RecordingLine
	// Summary is set unless the recording was unreadable.
	Summary *archive.Summary
	// Line of the flight list that was joined, 0 for none.
	Line int
	// Read, Detect and Write are the times spent.
	Read, Detect, Write time.Duration
}

// Observer is told of the progress; either func may be nil. They are called
// from the workers, one at a time.
type Observer struct {
	Started  func(path string)
	Finished func(r Result)
}

// Run does the job and returns the run record with the results in path
// order. The error is of the archive or of a cancelled context; recordings
// that cannot be read are results.
func Run(ctx context.Context, job Job, watch Observer) (archive.Run, []Result, error) {
	started := job.Clock()
	r := &runner{job: job, watch: watch, claims: map[string]int{}}
	for _, p := range job.Profiles {
		if err := job.Archive.KeepProfile(p); err != nil {
			return archive.Run{}, nil, err
		}
	}
	results, err := r.work(ctx)
	if err != nil {
		return archive.Run{}, results, err
	}
	for _, p := range job.Problems {
		results = append(results, Result{RecordingLine: archive.RecordingLine{File: p.Path, Status: Unreadable, Problem: p.Path + ": " + p.Reason}})
	}
	slices.SortStableFunc(results, func(a, b Result) int { return cmpString(a.File, b.File) })
	run := record(job, results)
	run.Started = started.UTC().Format(time.RFC3339)
	if err := publish(job, &run, results); err != nil {
		return run, results, err
	}
	run.Finished = job.Clock().UTC().Format(time.RFC3339)
	return run, results, job.Archive.WriteRun(run)
}

func cmpString(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// runner is the state of the workers.
type runner struct {
	job   Job
	watch Observer

	mu sync.Mutex // guards the observer and claims
	// claims holds, for each key, the lowest index of a recording with it: of
	// the same bytes under two names the first in path order is kept, however
	// the workers race.
	claims map[string]int
	keys   sync.Map // key -> *sync.Mutex
}

func (r *runner) work(ctx context.Context) ([]Result, error) {
	results := make([]Result, len(r.job.Recordings))
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(max(r.job.Workers, 1))
	for i, path := range r.job.Recordings {
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
			res, err := r.one(i, path)
			results[i] = res
			if err == nil {
				r.tell(func() {
					if r.watch.Finished != nil {
						r.watch.Finished(res)
					}
				})
			}
			return err
		})
	}
	err := g.Wait()
	if err == nil {
		err = ctx.Err()
	}
	return r.settle(results), err
}

func (r *runner) tell(f func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f()
}

// one does one recording. The error is one of the archive, which ends the
// run; everything about the recording itself is in the result.
func (r *runner) one(i int, path string) (res Result, err error) {
	res.File = path
	asm, err := r.assess(path, &res)
	if err != nil {
		res.Status, res.Problem = Unreadable, err.Error()
		return res, nil
	}
	start := time.Now()
	s, err := r.publish(i, asm)
	res.Write = time.Since(start)
	if err != nil {
		return res, fmt.Errorf("writing the result of %s: %w", path, err)
	}
	res.Status, res.Summary = Processed, &s
	res.Key, res.Folder, res.Profile = s.Key, s.Flight.Folder, s.Profile.Name
	return res, nil
}

// assess reads and assesses one recording; a panic below is this recording's
// error, with the place in the program for a report.
func (r *runner) assess(path string, res *Result) (asm *detect.Assessment, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%s: the program failed on this recording (%v); please report it with the file\n%s", path, p, debug.Stack())
		}
	}()
	start := time.Now()
	rec, prof, err := ingest.Open(path, r.job.Profiles, ingest.Options{Limits: r.job.Limits, Flights: r.job.Flights})
	res.Read = time.Since(start)
	if err != nil {
		return nil, err
	}
	if rec.Plan != nil {
		res.Line = rec.Plan.Line
	}
	start = time.Now()
	asm = detect.Assess(rec, prof)
	res.Detect = time.Since(start)
	return asm, nil
}

// publish writes the flight folder, unless the same bytes under an earlier
// path have been published already.
func (r *runner) publish(i int, asm *detect.Assessment) (archive.Summary, error) {
	key := archive.Key(asm.Recording.Source.SHA256, asm.Profile.SHA256, r.job.Versions.Detection)
	lock, _ := r.keys.LoadOrStore(key, &sync.Mutex{})
	lock.(*sync.Mutex).Lock()
	defer lock.(*sync.Mutex).Unlock()
	r.mu.Lock()
	first, claimed := r.claims[key]
	if !claimed || i < first {
		r.claims[key] = i
	}
	r.mu.Unlock()
	if claimed && first < i {
		return archive.Summarise(asm, r.job.Versions), nil
	}
	return r.job.Archive.Publish(asm, r.job.Versions, r.page(asm))
}

// page is the page writer for a flight, nil when it gets none.
func (r *runner) page(asm *detect.Assessment) archive.PageWriter {
	if r.job.Pages == NoPages || r.job.Pages == EventPages && !page.WorthAPage(archive.Summarise(asm, r.job.Versions)) {
		return nil
	}
	return func(w io.Writer, s archive.Summary) error {
		return page.Flight(w, s, asm.Recording.Clip(asm.Windows), page.Options{
			Levels: page.Levels(asm.Profile), Index: upFrom(s.Flight.Folder), Commands: commands(s),
		})
	}
}

// commands are what a reader can run to see the same facts again.
// The page does not name the archive's place: an archive may be moved.
func commands(s archive.Summary) []page.Command {
	out := []page.Command{}
	for _, a := range s.Attempts {
		out = append(out, page.Command{For: fmt.Sprintf("attempt %d in a terminal", a.Number), Line: "rollonset show ARCHIVE " + a.ID})
	}
	return append(out, page.Command{For: "derive it again from the recording", Line: fmt.Sprintf("rollonset process %s --profiles PROFILES --archive NEW", s.Recording.File)})
}

// settle marks recordings whose bytes came under an earlier name as skipped.
func (r *runner) settle(results []Result) []Result {
	for i := range results {
		res := &results[i]
		if first, ok := r.claims[res.Key]; ok && first != i && res.Status == Processed {
			res.Status = Skipped
			res.Problem = "the same recording as " + results[first].File
			res.Summary = nil
		}
	}
	return results
}

// record makes the run record, apart from its times of day.
func record(job Job, results []Result) archive.Run {
	run := archive.Run{
		Schema: archive.RunSchemaVersion, Program: job.Versions.Program, Detection: job.Versions.Detection,
		Command: job.Command, Recordings: []archive.RecordingLine{}, Missing: []string{}, Profiles: []archive.ProfileInfo{},
	}
	for _, p := range job.Profiles {
		run.Profiles = append(run.Profiles, archive.ProfileInfoOf(p))
	}
	lines := map[int]bool{}
	h := sha256.New()
	for _, r := range results {
		run.Recordings = append(run.Recordings, r.RecordingLine)
		fmt.Fprintf(h, "%q %s %s\n", r.File, r.Status, r.Key)
		lines[r.Line] = true
		count(&run.Counts, r)
	}
	run.ID = hex.EncodeToString(h.Sum(nil))[:16]
	if job.Flights != nil {
		run.FlightList = job.Flights.Path
		for _, e := range job.Flights.Unmatched(lines) {
			run.Missing = append(run.Missing, e.String())
		}
	}
	run.Stages = stages(results)
	return run
}

func stages(results []Result) []archive.StageTime {
	var read, det, write time.Duration
	for _, r := range results {
		read, det, write = read+r.Read, det+r.Detect, write+r.Write
	}
	return []archive.StageTime{{Stage: "read", Seconds: read.Seconds()}, {Stage: "detect", Seconds: det.Seconds()}, {Stage: "write", Seconds: write.Seconds()}}
}

func count(c *archive.RunCounts, r Result) {
	c.Received++
	switch r.Status {
	case Unreadable:
		c.Unreadable++
	case Skipped:
		c.Skipped++
	case Processed:
		c.Processed++
	}
	if r.Summary == nil {
		return
	}
	for _, a := range r.Summary.Attempts {
		c.Attempts++
		if a.LiftOff != nil {
			c.Takeoffs++
		}
		if a.Reject != nil {
			c.Rejects++
		}
		for _, e := range a.Events {
			c.Events++
			switch e.Severity {
			case "high":
				c.High++
			case "medium":
				c.Medium++
			default:
				c.Low++
			}
		}
	}
}
