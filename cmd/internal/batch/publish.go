package batch

import (
	"fmt"
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
	if _, err := a.WriteTables(run.ID, a.SummariesOf(foldersOf(results))); err != nil {
		return fmt.Errorf("writing the tables: %w", err)
	}
	view, err := a.ViewWith(run.ID)
	if err != nil {
		return err
	}
	if err := countOnce(a, run, results, view); err != nil {
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
	return nightPages(a, view, *run)
}

// nightPages writes the page of the run that is publishing, and the night page.
func nightPages(a *archive.Archive, view *archive.View, run archive.Run) error {
	runs, err := a.RunsByStart()
	if err != nil {
		return err
	}
	runs = append(slices.DeleteFunc(runs, func(r archive.Run) bool { return r.ID == run.ID }), run)
	d, err := drawingOf(a, view, runs)
	if err != nil {
		return err
	}
	if err := d.runPage(run); err != nil {
		return err
	}
	d.nights = nightsOf(a, runs) // with the page that is there now
	return d.index()
}

// countOnce gives every result the tally of the attempts that count, and counts
// anew. Only flights with an attempt that other recordings hold are looked at:
// all attempts of the others count as they are.
func countOnce(a *archive.Archive, run *archive.Run, results []Result, view *archive.View) error {
	run.Counts = archive.RunCounts{}
	in := seenByFolder(view)
	for i := range results {
		r := &results[i]
		if r.Seen = nil; r.HasFlight() && len(in[r.Folder]) > 0 {
			r.Seen = in[r.Folder]
			s, err := a.Read(r.Folder)
			if err != nil {
				return err
			}
			once, err := view.Once(s)
			if err != nil {
				return err
			}
			r.Tally = tallyOf(&once)
			for _, t := range s.Attempts {
				if seen := view.SeenAs(t.ID); seen != nil && !seen.Counts(t.ID) {
					r.Tally.Counts.Repeated++
				}
			}
		}
		count(&run.Counts, r)
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

// foldersOf are the flight folders of the results, in no order.
func foldersOf(results []Result) []string {
	var out []string
	for i := range results {
		if results[i].HasFlight() {
			out = append(out, results[i].Folder)
		}
	}
	return out
}
