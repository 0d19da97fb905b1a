package batch

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// upFrom is the relative address of the night page from a flight folder.
func upFrom(folder string) string { return toTop(folder) + IndexFile }

func toTop(folder string) string { return strings.Repeat("../", strings.Count(folder, "/")+1) }

// publish writes the tables and the pages of a run and counts what it found,
// each attempt once. All of it is a function of the summaries in the archive.
func publish(a *archive.Archive, pages Pages, run *archive.Run, results []Result) error {
	if _, err := a.WriteTables(run.ID, summaries(results)); err != nil {
		return fmt.Errorf("writing the tables: %w", err)
	}
	view, err := a.ViewWith(run.ID)
	if err != nil {
		return err
	}
	if err := countOnce(run, results, view); err != nil {
		return err
	}
	reviews, err := a.Reviews()
	if err != nil {
		return err
	}
	run.Reviews = reviews.Head
	if err := sightings(a, view, results); err != nil {
		return err
	}
	if run.Fixed, err = a.FixedHashes(); err != nil {
		return err
	}
	hash, err := a.HashFile(archive.SightingsPath())
	if err != nil {
		return err
	}
	run.Fixed = append(run.Fixed, archive.FileHash{File: archive.SightingsPath(), SHA256: hash})
	if run.Tables, err = tableHashes(a, run.ID); err != nil {
		return err
	}
	if pages == NoPages {
		return nil
	}
	return nightPages(a, view, *run, results)
}

// nightPages writes the page of the run that is publishing, and the night page.
func nightPages(a *archive.Archive, view *archive.View, run archive.Run, results []Result) error {
	runs, err := a.RunsByStart()
	if err != nil {
		return err
	}
	runs = append(slices.DeleteFunc(runs, func(r archive.Run) bool { return r.ID == run.ID }), run)
	d, err := drawingOf(a, view, runs)
	if err != nil {
		return err
	}
	d.held = map[string]*archive.Summary{}
	for i := range results {
		if s := results[i].Summary; s != nil {
			d.held[s.Flight.Folder] = s
		}
	}
	if err := d.runPage(run); err != nil {
		return err
	}
	d.nights = nightsOf(a, runs) // with the page that is there now
	return d.index()
}

// countOnce gives every result the summary with the attempts that count, and
// counts anew.
func countOnce(run *archive.Run, results []Result, view *archive.View) error {
	run.Counts = archive.RunCounts{}
	in := seenByFolder(view)
	for i := range results {
		r := &results[i]
		if r.Summary != nil {
			once, err := view.Once(*r.Summary)
			if err != nil {
				return err
			}
			r.Counted = &once
			for _, t := range r.Summary.Attempts {
				if s := view.SeenAs(t.ID); s != nil && !s.Counts(t.ID) {
					run.Counts.Repeated++
				}
			}
			r.Seen = in[r.Folder]
		}
		count(&run.Counts, *r)
	}
	return nil
}

// seenByFolder are the attempts that several recordings hold, by each of the
// flight folders that they lie or go on in.
func seenByFolder(view *archive.View) map[string][]*archive.Seen {
	out := map[string][]*archive.Seen{}
	all := view.Seen()
	for i := range all {
		for _, folder := range all[i].Folders() {
			out[folder] = append(out[folder], &all[i])
		}
	}
	return out
}

// sightings writes the table of attempts in several recordings, and draws the
// pages of their flights anew: those of this run, of which the pages do not
// tell yet, and those for which something else holds than before.
func sightings(a *archive.Archive, view *archive.View, results []Result) error {
	before, err := a.SeenFolders()
	if err != nil {
		before = nil // damaged: it is written anew
	}
	if err := view.WriteSightings(); err != nil {
		return fmt.Errorf("writing the table of sightings: %w", err)
	}
	after, err := a.SeenFolders()
	if err != nil {
		return err
	}
	stale := map[string]bool{}
	for _, r := range results {
		for _, s := range r.Seen {
			for _, folder := range s.Folders() {
				stale[folder] = true // also those that a run which was killed left
			}
		}
	}
	for folder, rows := range before {
		stale[folder] = stale[folder] || after[folder] != rows
	}
	for folder, rows := range after {
		stale[folder] = stale[folder] || before[folder] != rows
	}
	for _, folder := range slices.Sorted(maps.Keys(stale)) {
		s, err := a.Read(folder)
		if !stale[folder] || err != nil {
			continue // a flight that is gone has no page either
		}
		if err := Repage(a, s); err != nil {
			return err
		}
	}
	return nil
}

// tableHashes are the hashes of the tables of a run.
func tableHashes(a *archive.Archive, run string) ([]archive.FileHash, error) {
	var out []archive.FileHash
	for _, table := range archive.Tables() {
		file := archive.TablePath(table, run)
		hash, err := a.HashFile(file)
		if err != nil {
			return nil, err
		}
		out = append(out, archive.FileHash{File: file, SHA256: hash})
	}
	return out, nil
}

// summaries yields the summaries of the results in the order of their flight
// folders, which is the order of the tables.
func summaries(results []Result) iter.Seq2[archive.Summary, error] {
	var sorted []*archive.Summary
	for _, r := range results {
		if r.Summary != nil {
			sorted = append(sorted, r.Summary)
		}
	}
	slices.SortFunc(sorted, func(a, b *archive.Summary) int { return strings.Compare(a.Flight.Folder, b.Flight.Folder) })
	return func(yield func(archive.Summary, error) bool) {
		for _, s := range sorted {
			if !yield(*s, nil) {
				return
			}
		}
	}
}
