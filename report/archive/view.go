package archive

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path"
	"slices"
	"strings"
)

// View reads what years of runs have put into the tables as one table: every
// recording once, under its latest result. A hundred thousand summaries take
// minutes to read; their rows take seconds.
//
// A run writes rows of every recording it was given, also of those that were
// done before, so the same row lies in several runs; and a recording that was
// judged again, by a new profile or detection, has rows under both keys. The
// view takes the rows of a recording from the latest run that holds it, by the
// start in its run record and then by its ID, and passes the others over.
// Flight folders that no table knows (a run that was killed before it wrote
// its tables) are read from their summaries.
//
// An attempt that several recordings hold counts once: the rows of its other
// sightings are left out, and its end is taken from where it is told.
//
// It holds a map of the keys; rows are read anew by each iteration.
type View struct {
	a     *Archive
	runs  []string       // those with tables, the earliest first
	owner map[string]int // key: index of the run its rows are taken from
	loose []string       // flight folders that no table knows
	// Recordings are those in the view; Repeated counts rows of tables/recordings
	// passed over as the same result, Superseded as an older one.
	Recordings, Repeated, Superseded int

	seen []Seen           // attempts in more than one recording
	byID map[string]*Seen // by the ID of each of their sightings
}

// View opens the view. An archive without tables is read from its summaries.
// An error names the table that cannot be read.
func (a *Archive) View() (*View, error) { return a.ViewWith("") }

// ViewWith is View while a run publishes: its tables are there, and are the
// latest, but its record is not.
func (a *Archive) ViewWith(run string) (*View, error) {
	runs, err := a.tableRuns(run)
	if err != nil {
		return nil, err
	}
	v := &View{a: a, runs: runs, owner: map[string]int{}}
	known, err := v.settle()
	if err != nil {
		return nil, err
	}
	for folder, err := range a.Folders() {
		if err != nil {
			return nil, err
		}
		if !known[folder] {
			v.loose = append(v.loose, folder)
		}
	}
	v.Recordings = len(v.owner) + len(v.loose)
	return v, v.look()
}

// LatestFolders are the flight folders of the archive without those of results
// that a later one of the same recording stands in for, in order.
func (a *Archive) LatestFolders() ([]string, error) {
	v, err := a.View()
	if err != nil {
		return nil, err
	}
	var out []string
	for i, run := range v.runs {
		err := a.readColumns(TablePath(RecordingsTable, run), []string{"key", "folder"}, func(c columnSet) error {
			for k := range c.rows {
				if o, ok := v.owner[c.text("key", k)]; ok && o == i {
					out = append(out, c.text("folder", k))
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	out = append(out, v.loose...)
	slices.Sort(out)
	return slices.Compact(out), nil
}

// Loose are the flight folders that are read from their summaries.
func (v *View) Loose() []string { return v.loose }

// tableRuns lists the runs that have tables, in the order of their start; the
// one that is publishing comes last.
func (a *Archive) tableRuns(publishing string) ([]string, error) {
	entries, err := os.ReadDir(a.Path(path.Join(tablesDir, RecordingsTable)))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("list tables: %w", err)
	}
	started := map[string]string{}
	var runs []string
	for _, e := range entries {
		id, isRun := strings.CutPrefix(e.Name(), "run=")
		if !isRun || checkElement("run", id) != nil {
			continue
		}
		runs = append(runs, id)
		r, err := a.ReadRun(id)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		started[id] = r.Started // "" without a record: before all others
	}
	slices.SortFunc(runs, func(x, y string) int {
		return cmp.Or(cmp.Compare(started[x], started[y]), cmp.Compare(x, y))
	})
	if i := slices.Index(runs, publishing); i >= 0 {
		runs = append(slices.Delete(runs, i, i+1), publishing)
	}
	return runs, nil
}

// settle decides which run owns each recording and gives the flight folders
// that tables know, those of superseded results among them.
func (v *View) settle() (map[string]bool, error) {
	known := map[string]bool{}
	latest := map[string]string{} // recording: key
	rows := 0
	for i, run := range v.runs {
		err := v.a.readColumns(TablePath(RecordingsTable, run), []string{"key", "recording_sha256", "folder"}, func(c columnSet) error {
			for k := range c.rows {
				key, recording := c.text("key", k), c.text("recording_sha256", k)
				known[c.text("folder", k)] = true
				rows++
				if old, ok := latest[recording]; ok && old != key {
					delete(v.owner, old)
					v.Superseded++
				}
				latest[recording] = key
				v.owner[key] = i
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	v.Repeated = rows - len(v.owner) - v.Superseded
	return known, nil
}

// Findings are the rows of tables/findings in the view: run by run, each in
// the order of the table, then those of the loose folders.
func (v *View) Findings() iter.Seq2[FindingView, error] {
	rows := viewRows(v, FindingsTable, findingViewColumns, findingView, func(s *Summary, yield func(FindingView) bool) bool {
		flight := flightColumns(s)
		for i := range s.Attempts {
			for j := range s.Attempts[i].Findings {
				if !yield(findingViewOf(findingRow(flight, &s.Attempts[i], &s.Attempts[i].Findings[j]))) {
					return false
				}
			}
		}
		return true
	})
	return func(yield func(FindingView, error) bool) {
		for f, err := range rows {
			if err == nil && !v.counts(f.ID) {
				continue
			}
			if s := v.byID[f.ID]; s != nil && err == nil {
				f.Outcome = s.Sightings[s.End].Outcome
			}
			if !yield(f, err) {
				return
			}
		}
	}
}

// Attempts are the rows of tables/attempts in the view, in the same order.
func (v *View) Attempts() iter.Seq2[AttemptView, error] {
	rows := viewRows(v, AttemptsTable, attemptViewColumns, attemptView, func(s *Summary, yield func(AttemptView) bool) bool {
		flight := flightColumns(s)
		for i := range s.Attempts {
			if !yield(attemptViewOf(attemptRow(flight, &s.Attempts[i]))) {
				return false
			}
		}
		return true
	})
	return func(yield func(AttemptView, error) bool) {
		for a, err := range rows {
			if err == nil && !v.counts(a.ID) {
				continue
			}
			if !yield(v.ended(a), err) {
				return
			}
		}
	}
}

// errEnough ends the reading of a table when the reader has had enough.
var errEnough = errors.New("enough")

// viewRows reads a table of all runs through the view, then the summaries of
// loose folders.
func viewRows[T any](v *View, table string, columns []string, row func(columnSet, int) T, of func(*Summary, func(T) bool) bool) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		for i, run := range v.runs {
			err := v.a.readColumns(TablePath(table, run), columns, func(c columnSet) error {
				for k := range c.rows {
					if o, ok := v.owner[c.text("key", k)]; !ok || o != i {
						continue
					}
					if !yield(row(c, k), nil) {
						return errEnough
					}
				}
				return nil
			})
			if errors.Is(err, errEnough) {
				return
			}
			if err != nil {
				yield(none, err)
				return
			}
		}
		for s, err := range v.a.SummariesOf(v.loose) {
			if err != nil {
				yield(none, err)
				return
			}
			if !of(&s, func(r T) bool { return yield(r, nil) }) {
				return
			}
		}
	}
}
