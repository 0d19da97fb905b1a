package batch

import (
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"rollonset/report/archive"
)

// Shard is one of N parts of the recordings, counted from 0. The zero value
// is all of them.
type Shard struct{ Index, Of int }

// Whole says whether the shard is everything.
func (s Shard) Whole() bool { return s.Of <= 1 }

// Mine says whether a recording belongs to the shard, by the hash of its path
// alone, so that shards agree without talking.
func (s Shard) Mine(path string) bool {
	if s.Whole() {
		return true
	}
	h := fnv.New32a()
	_, _ = io.WriteString(h, filepath.ToSlash(path))
	return int(h.Sum32()%uint32(s.Of)) == s.Index
}

// shardsDir holds the run records of shards until they are collected.
const shardsDir = "runs/.shards"

// leaveForCollect writes the run record of a shard where Collect finds it.
func leaveForCollect(job Job, run archive.Run) error {
	name := fmt.Sprintf("%s/%d-of-%d-%s.json", shardsDir, job.Shard.Index, job.Shard.Of, run.ID)
	return archive.WriteFile(job.Archive.Path(name), func(w io.Writer) error {
		enc := json.NewEncoder(w)
		enc.SetIndent("", "  ")
		return enc.Encode(run)
	})
}

// Collect joins the run records that shards have left, writes the tables and
// the night page for all their recordings, and the run record. The result is
// that of one run over the same paths.
func Collect(a *archive.Archive, pages Pages, clock func() time.Time) (archive.Run, []Result, error) {
	runs, files, err := shardRuns(a)
	if err != nil {
		return archive.Run{}, nil, err
	}
	if len(runs) == 0 {
		return archive.Run{}, nil, fmt.Errorf("%s: no shard has left a run record to collect; run process with --shard first", a.Dir())
	}
	run, results, err := join(a, runs)
	if err != nil {
		return run, results, err
	}
	if err := publish(a, pages, &run, results); err != nil {
		return run, results, err
	}
	run.Finished = clock().UTC().Format(timeOfDay)
	if err := a.WriteRun(run); err != nil {
		return run, results, err
	}
	for _, f := range files {
		if err := os.Remove(f); err != nil {
			return run, results, err
		}
	}
	return run, results, os.RemoveAll(a.Path(shardsDir))
}

func shardRuns(a *archive.Archive) (runs []archive.Run, files []string, err error) {
	entries, err := os.ReadDir(a.Path(shardsDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".json") || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		file := a.Path(shardsDir + "/" + e.Name())
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, nil, err
		}
		var run archive.Run
		if err := json.Unmarshal(text, &run); err != nil {
			return nil, nil, fmt.Errorf("%s: %w; run that shard again", file, err)
		}
		runs, files = append(runs, run), append(files, file)
	}
	return runs, files, nil
}

// join makes one run of the shards' runs: the lines in path order, each path
// once, the flights that no shard had as missing.
func join(a *archive.Archive, runs []archive.Run) (archive.Run, []Result, error) {
	out := runs[0]
	out.Recordings, out.Counts = []archive.RecordingLine{}, archive.RunCounts{}
	var results []Result
	seen := map[string]bool{}
	for i, run := range runs {
		if i > 0 {
			out.Started = min(out.Started, run.Started)
			out.Missing = slices.DeleteFunc(out.Missing, func(m string) bool { return !slices.Contains(run.Missing, m) })
			for k := range out.Stages {
				out.Stages[k].Seconds += run.Stages[k].Seconds
			}
		}
		for _, l := range run.Recordings {
			if seen[l.File] {
				continue
			}
			seen[l.File] = true
			results = append(results, Result{RecordingLine: l})
		}
	}
	slices.SortStableFunc(results, func(x, y Result) int { return strings.Compare(x.File, y.File) })
	if err := settle(a, results); err != nil {
		return out, nil, err
	}
	for i := range results {
		r := &results[i]
		if r.HasFlight() {
			s, err := a.Read(r.Folder)
			if err != nil {
				return out, nil, err
			}
			r.Tally = tallyOf(&s)
		}
		out.Recordings = append(out.Recordings, r.RecordingLine)
	}
	out.ID = runID(out.Recordings)
	return out, results, nil
}
