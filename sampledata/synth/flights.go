package synth

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"rollonset/ingest/profile"
	"rollonset/sampledata/truth"
)

// Options say which flights to make.
type Options struct {
	N          int
	First      int // index of the first flight; a flight of a larger set can be made alone
	Seed       uint64
	Difficulty Difficulty
	Types      []string // names of profiles; empty: all that are given
	Formats    []Format // empty: all
}

// Recording is one made flight: its file, its entry in the flight list, and
// what really happened.
type Recording struct {
	File    string // base name
	Data    []byte
	Listed  Entry
	Truth   []truth.Attempt
	Profile string
}

// The folder of the recordings and the files beside it. The recordings have a
// folder of their own, so that it can be processed as it is.
const (
	RecordingsDir = "recordings"
	ListFile      = "flights.csv"
	TruthFile     = "truth.csv"
)

// Flights makes opt.N flights in dir with flights.csv and truth.csv beside
// them. Flight i depends on the seed and on i alone.
func Flights(opt Options, profiles []*profile.Profile, dir string) error {
	chosen, err := choose(profiles, opt.Types)
	if err != nil {
		return err
	}
	formats := opt.Formats
	if len(formats) == 0 {
		formats = Formats()
	}
	return writeAll(dir, opt.N, func(i int) (*Recording, error) {
		i += opt.First
		rnd := newRandom(opt.Seed, uint64(i))
		p := chosen[rnd.pick(len(chosen))]
		return produce(&order{
			recipe: drawRecipe(p, rnd, opt.Difficulty), profile: p, seed: opt.Seed, index: i,
			difficulty: opt.Difficulty, format: formats[i%len(formats)],
		})
	})
}

// choose picks the profiles that are asked for.
func choose(profiles []*profile.Profile, types []string) ([]*profile.Profile, error) {
	if len(profiles) == 0 {
		return nil, errors.New("synth: no profile given; name the folder that holds qx40.yaml, tj22.yaml, tp08.yaml")
	}
	if len(types) == 0 {
		return profiles, nil
	}
	var out []*profile.Profile
	for _, name := range types {
		found := false
		for _, p := range profiles {
			if strings.EqualFold(p.Name, name) {
				out, found = append(out, p), true
			}
		}
		if !found {
			return nil, fmt.Errorf("synth: no profile named %q among those given", name)
		}
	}
	return out, nil
}

// writeAll makes n recordings, several at a time, and writes them with the two
// tables. A flight depends on its index alone and the tables are in the order
// of the indices, so the bytes do not depend on the number of workers.
func writeAll(dir string, n int, produce func(i int) (*Recording, error)) error {
	if err := os.MkdirAll(filepath.Join(dir, RecordingsDir), 0o755); err != nil {
		return fmt.Errorf("synth: %w", err)
	}
	made := make([]*Recording, n)
	err := inParallel(n, func(i int) error {
		r, err := produce(i)
		if err != nil {
			return fmt.Errorf("synth: flight %d: %w", i, err)
		}
		if err := os.WriteFile(filepath.Join(dir, RecordingsDir, r.File), r.Data, 0o644); err != nil {
			return fmt.Errorf("synth: flight %d: %w", i, err)
		}
		r.Data = nil // thousands of them would not fit in memory
		made[i] = r
		return nil
	})
	if err != nil {
		return err
	}
	return writeTables(dir, made)
}

// inParallel does the jobs 0 to n-1 on as many workers as there are processors
// and gives the error of the lowest job that failed. Jobs are handed out in
// order and none after a failure, so that error is always the same one.
func inParallel(n int, job func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var failed atomic.Bool
	var all sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			for !failed.Load() {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if errs[i] = job(i); errs[i] != nil {
					failed.Store(true)
				}
			}
		})
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// writeTables writes the truth and the flight list.
func writeTables(dir string, made []*Recording) error {
	var rows []truth.Attempt
	var entries []Entry
	for _, r := range made {
		rows = append(rows, r.Truth...)
		entries = append(entries, r.Listed)
	}
	var b bytes.Buffer
	if err := truth.Write(&b, rows); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, TruthFile), b.Bytes(), 0o644); err != nil {
		return fmt.Errorf("synth: %w", err)
	}
	if err := os.WriteFile(filepath.Join(dir, ListFile), writeList(entries), 0o644); err != nil {
		return fmt.Errorf("synth: %w", err)
	}
	return nil
}

// order is everything that one flight is made from.
type order struct {
	recipe     recipe
	profile    *profile.Profile
	seed       uint64
	index      int
	difficulty Difficulty
	format     Format
	long       bool
}

// tries is how often a flight is drawn anew when chance has made it something
// else than its recipe says, or brought it too near to an edge.
const tries = 40

// flightSeed parts the numbers of a flight from those that drew its recipe.
const flightSeed = 0x5851f42d4c957f2d

// produce simulates, records and encodes one flight.
func produce(o *order) (*Recording, error) {
	why := ""
	for try := range uint64(tries) {
		rnd := newRandom(o.seed^flightSeed, uint64(o.index)+try<<40)
		f, err := newFlight(o.recipe, o.profile, rnd, o.difficulty, o.long)
		if err != nil {
			return nil, err
		}
		f.play()
		f.cutShort()
		if why = f.notOrdered(); why == "" {
			return f.record(o)
		}
	}
	return nil, fmt.Errorf("%s, %q: no flight out of %d came out as the recipe says; in the last one %s", o.profile.Name, o.recipe.name, tries, why)
}

// record puts a played flight into a file.
func (f *flight) record(o *order) (*Recording, error) {
	faults := f.placeFaults()
	t := recordFlight(o.profile, f.sim.tape, f.rnd, faults, f.cond)
	e := f.entry(o.index)
	face := clockFace{rule: o.profile.Time, start: e.Start.Add(microseconds(int64(t.first) * 1_000_000 / int64(t.hz)))}
	face.origin = int64(f.rnd.pick(40000)) * 1_000_000
	data, err := encode(t, face, o.format)
	if err != nil {
		return nil, err
	}
	name := fileName(o.profile, &e) + string(o.format)
	return &Recording{
		File: name, Data: data, Listed: e, Profile: o.profile.Name,
		Truth: f.truths(name, f.lost(faults), t),
	}, nil
}

// day is the day of the first flight; every date here is invented.
var day = time.Date(2031, time.March, 7, 4, 10, 0, 0, time.UTC)
