package evidence

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path"
	"strconv"
	"time"

	"rollonset/report/archive"
)

// leftOut stands in a run record in place of what retention took.
const leftOut = "left out by retention"

// rewriteRuns takes the flights that go out of every run record and makes the
// tables of those runs anew from what is there now. The names of recordings
// that could not be read, of which nobody knows the date, go with the first
// flight of their run.
func (r Retention) rewriteRuns(went moved, head archive.ChainHead) error {
	runs, err := r.Archive.RunsByStart()
	if err != nil {
		return err
	}
	// A record that was passed over would keep what it names.
	if ids, err := r.Archive.Runs(); err != nil || len(ids) != len(runs) {
		return errors.Join(err, fmt.Errorf("%d of %d run records cannot be read; `rollonset verify` names them, restore them from a copy", len(ids)-len(runs), len(ids)))
	}
	var changed []bool
	months := map[string]bool{} // of the runs that a flight is taken out of
	for i := range runs {
		yes, err := r.scrub(&runs[i], went)
		if err != nil {
			return err
		}
		changed = append(changed, yes)
		if yes {
			months[monthOf(runs[i].Started)] = true
		}
	}
	blunt(runs, months)
	for i := range runs {
		// The chain of reviews may have begun anew, so every record follows it.
		runs[i].Reviews = head
		if changed[i] {
			if err := r.tables(&runs[i]); err != nil {
				return err
			}
			// The page of a run names what the record no longer does.
			if err := os.Remove(r.Archive.Path(path.Join("runs", runs[i].ID+".html"))); err != nil && !missing(err) {
				return fmt.Errorf("remove the page of run %s: %w", runs[i].ID, err)
			}
		}
		if err := r.Archive.WriteRun(runs[i]); err != nil {
			return err
		}
	}
	return nil
}

// blunt cuts the times of the runs of a month to the month: a batch runs in
// the night after the flights, and would tell their day. The seconds count
// the runs, so that which came first is still known.
func blunt(runs []archive.Run, months map[string]bool) {
	count := map[string]int{}
	for i := range runs {
		run := &runs[i]
		month := monthOf(run.Started)
		if !months[month] {
			continue
		}
		count[month]++
		if t, err := time.Parse(time.RFC3339, monthStart(run.Started)); err == nil {
			run.Started = t.Add(time.Duration(count[month]) * time.Second).Format(time.RFC3339)
			run.Finished = run.Started
		}
	}
}

// monthOf is the month of a time, "" of anything else; monthStart its first
// instant, and the text itself of anything else.
func monthOf(utc string) string {
	t, err := time.Parse(time.RFC3339Nano, utc)
	if err != nil {
		return ""
	}
	return t.UTC().Format(monthOnly)
}

func monthStart(utc string) string {
	if m := monthOf(utc); m != "" {
		return m + "-01T00:00:00Z"
	}
	return utc
}

// scrub replaces the lines of flights that go, and what names files beside
// them; it says whether there were any.
func (r Retention) scrub(run *archive.Run, went moved) (bool, error) {
	changed := false
	for i := range run.Recordings {
		l := &run.Recordings[i]
		now, gone := went[l.Folder]
		if l.Folder == "" || !gone {
			continue
		}
		changed = true
		*l = archive.RecordingLine{File: leftOut, Status: l.Status, Folder: now, Profile: l.Profile}
		if now == "" {
			continue
		}
		s, err := r.Archive.Read(now)
		if err != nil {
			return false, err
		}
		l.File, l.Key, l.Profile = s.Recording.File, s.Key, s.Profile.Name
		if l.Summary, err = hashFile(r.Archive.Path(path.Join(now, archive.SummaryFile))); err != nil {
			return false, err
		}
		_, err = os.Stat(r.Archive.Path(path.Join(now, archive.PageFile)))
		l.Page = err == nil
	}
	if !changed {
		return false, nil
	}
	for i := range run.Recordings {
		if l := &run.Recordings[i]; l.Folder == "" {
			*l = archive.RecordingLine{File: leftOut, Status: l.Status, Profile: l.Profile}
		}
	}
	for i := range run.Missing {
		run.Missing[i] = leftOut
	}
	run.Command, run.FlightList = []string{leftOut}, ""
	return true, nil
}

// tables writes the tables of a run anew and notes their hashes.
func (r Retention) tables(run *archive.Run) error {
	var folders []string
	for _, l := range run.Recordings {
		if l.Folder != "" {
			folders = append(folders, l.Folder)
		}
	}
	if _, err := r.Archive.WriteTables(run.ID, r.Archive.SummariesOf(folders)); err != nil {
		return err
	}
	noted := run.Tables
	run.Tables = nil
	for _, t := range noted { // a record of an older program notes none
		hash, err := hashFile(r.Archive.Path(t.File))
		if err != nil {
			return err
		}
		run.Tables = append(run.Tables, archive.FileHash{File: t.File, SHA256: hash})
	}
	return nil
}

// rewriteReviews begins the chain of reviews anew without the identity of the
// flights that go: decisions about reduced flights are carried over to the
// copies, without their free text, those about aggregated ones end. The first
// line says so and holds the hash that the old chain ended with. Without a
// review of such a flight the chain stays as it is.
func (r Retention) rewriteReviews(places map[string]place) (archive.ChainHead, error) {
	old, err := r.Archive.Reviews()
	if err != nil {
		return archive.ChainHead{}, err
	}
	if err := old.Whole(); err != nil {
		return archive.ChainHead{}, err
	}
	kept, taken, err := r.carriedOver(old.Lines, places)
	if err != nil || taken == 0 {
		return old.Head, err
	}
	note := archive.Review{
		Time: r.Today.UTC().Format(time.RFC3339),
		Note: "the chain begins anew: retention took the identity from " + strconv.Itoa(taken) + " of " + strconv.Itoa(len(old.Lines)) + " decisions; the old chain ended with " + old.Head.SHA256,
	}
	return r.Archive.RenewReviews(old, note, kept)
}

// carriedOver are the lines of the new chain, and how many of the old ones
// were about flights that go.
func (r Retention) carriedOver(lines []archive.Review, places map[string]place) (kept []archive.Review, taken int, err error) {
	for _, l := range lines {
		p, goes := places[l.Recording]
		if !goes {
			kept = append(kept, l)
			continue
		}
		taken++
		if p.now == "" {
			continue
		}
		s, err := r.Archive.Read(p.now)
		if err != nil {
			return nil, 0, err
		}
		shift := 0.0
		if len(p.was.Attempts) > 0 {
			shift = zeroOf(&p.was.Attempts[0]).Seconds()
		}
		l.EventPlace = archive.EventPlace{Tail: s.Flight.Tail, Recording: s.Recording.SHA256, At: decimals(l.At - shift)}
		// An event is reviewed on the morning after, so its day goes too.
		l.Time, l.Reason, l.Event = monthStart(l.Time), leftOut, ""
		for i := range s.Attempts {
			if math.Abs(l.At-zeroOf(&s.Attempts[i]).Seconds()) < 1e-3 { // attempts are minutes apart
				l.Event = s.Attempts[i].ID
			}
		}
		kept = append(kept, l)
	}
	return kept, taken, nil
}
