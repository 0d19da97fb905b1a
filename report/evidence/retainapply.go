package evidence

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"slices"
	"time"

	"rollonset/report/archive"
)

// Retention carries out a plan. It may be killed at any instant: done again,
// it ends in the same archive, counts nothing twice, and loses nothing that
// was to stay.
type Retention struct {
	Archive  *archive.Archive
	Cover    Cover // Key must be set; flights stay whole
	Versions archive.Versions
	Today    time.Time
	// Page writes the page of a reduced flight.
	Page func(io.Writer, Flight) error
	// Failed is called with every flight that could not be reduced; it stays as
	// it is, and is due again the next time.
	Failed func(folder string, err error)
}

// moved says where the flights went: the folder now, "" for aggregated ones.
type moved map[string]string

// Apply does what the plan says, in an order in which every state in between
// is a sound archive: copies first, then the records and tables that name
// them, the log, and last what goes.
func (r Retention) Apply(ctx context.Context, plan []Step) error {
	totals, err := ReadTotals(r.Archive)
	if err != nil {
		return err
	}
	went, log := moved{}, []Gone{}
	for _, folder := range totals.Pending { // counted by a run that was killed
		went[folder] = ""
	}
	for _, step := range plan {
		if err := ctx.Err(); err != nil {
			return err
		}
		if _, done := went[step.Folder]; done || step.Action == Keeping {
			continue
		}
		gone, err := r.step(step, &totals)
		if err != nil {
			r.Failed(step.Folder, err)
			continue
		}
		went[step.Folder] = gone.Now
		log = append(log, gone)
	}
	if len(went) == 0 {
		return r.recoverReviews()
	}
	for folder, now := range went {
		if now == "" && !slices.Contains(totals.Pending, folder) {
			totals.Pending = append(totals.Pending, folder)
		}
	}
	slices.Sort(totals.Pending)
	return r.finish(went, totals, log)
}

// step copies or counts one flight; nothing goes yet.
func (r Retention) step(step Step, totals *Totals) (Gone, error) {
	s, err := r.Archive.Read(step.Folder)
	if err != nil {
		return Gone{}, err
	}
	gone := Gone{Date: r.Today.Format(time.DateOnly), Action: step.Action, Month: step.Month, Rule: step.Rule}
	if step.Action == Aggregate {
		name := r.Cover.Groups.Of(&s)
		if Reduced(&s) { // its names were chosen when it was reduced
			name = Named{Month: Month(s.Flight.Date), Type: typeOf(&s)}
		}
		totals.add(&s, name)
		return gone, nil
	}
	gone.Now, gone.Note, err = r.reduce(s)
	return gone, err
}

// reduce publishes the copy of a flight and gives its folder.
func (r Retention) reduce(s archive.Summary) (folder, note string, err error) {
	cover := r.Cover
	cover.Whole, cover.Rejudge = true, true
	f, err := Load(r.Archive, s)
	if err != nil {
		return "", "", err
	}
	if s.Clip == nil {
		folder, err := r.reduceBare(cover, f)
		return folder, "", err
	}
	copies, err := cover.Deidentify(f, r.Versions, nil)
	if err != nil {
		return "", "", err
	}
	if s.Versions.Detection != r.Versions.Detection {
		note = fmt.Sprintf("judged anew by detection %s, was %s", r.Versions.Detection, s.Versions.Detection)
	}
	words := &Words{}
	words.Add(s)
	if text, err := jsonOf(copies[0].Summary); err != nil || len(words.In(text)) > 0 {
		return "", "", errors.Join(err, fmt.Errorf("the reduced flight would still show %q; look for it in the titles of the profile's checks", words.In(text)))
	}
	if err := r.Archive.KeepProfile(copies[0].Profile); err != nil {
		return "", "", err
	}
	out, err := r.Archive.Publish(copies[0].Assess(), r.Versions, func(w io.Writer, s archive.Summary) error {
		page := copies[0]
		page.Summary = s
		return r.Page(w, page)
	})
	return out.Flight.Folder, note, err
}

// reduceBare writes the copy of a flight that has no clip, since nothing was
// found on it. It has no page either.
func (r Retention) reduceBare(cover Cover, f Flight) (folder string, err error) {
	prof, err := cover.profile(f)
	if err != nil {
		return "", err
	}
	if err := r.Archive.KeepProfile(prof); err != nil {
		return "", err
	}
	out := cover.bare(f.Summary, r.Versions, archive.ProfileInfoOf(prof))
	text, err := jsonOf(out)
	if err != nil {
		return "", err
	}
	file := r.Archive.Path(path.Join(out.Flight.Folder, archive.SummaryFile))
	return out.Flight.Folder, archive.WriteFile(file, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// finish makes the archive forget: counts, records, tables, reviews, log, and
// then the folders themselves.
func (r Retention) finish(went moved, totals Totals, log []Gone) error {
	if len(totals.Pending) > 0 {
		if err := totals.write(r.Archive); err != nil {
			return err
		}
	}
	places := map[string]place{}
	for folder, now := range went {
		if s, err := r.Archive.Read(folder); err == nil {
			places[s.Recording.SHA256] = place{was: s, now: now}
		} else if !missing(err) {
			return err
		}
	}
	head, err := r.rewriteReviews(places)
	if err != nil {
		return err
	}
	if err := r.rewriteRuns(went, head); err != nil {
		return err
	}
	if err := r.appendLog(log); err != nil {
		return err
	}
	if err := r.removePages(went); err != nil {
		return err
	}
	for _, p := range places {
		if err := r.forget(p.was); err != nil {
			return err
		}
	}
	if len(totals.Pending) > 0 {
		totals.Pending = nil
		return totals.write(r.Archive)
	}
	return nil
}

// place is where a flight was and is.
type place struct {
	was archive.Summary
	now string
}

// forget removes a flight: its folder, the folders of its day that are empty
// then, and the lookup of its key.
func (r Retention) forget(s archive.Summary) error {
	if err := r.Archive.Drop(s.Flight.Folder); err != nil {
		return err
	}
	for dir := path.Dir(s.Flight.Folder); dir != "flights" && dir != "."; dir = path.Dir(dir) {
		if os.Remove(r.Archive.Path(dir)) != nil {
			break // not empty, other flights of the day are in it
		}
	}
	if err := os.Remove(r.Archive.Path(path.Join("keys", s.Key[:2], s.Key))); err != nil && !missing(err) {
		return fmt.Errorf("forget %s: %w", s.Key, err)
	}
	return nil
}

// appendLog adds what went to the log.
func (r Retention) appendLog(log []Gone) error {
	if len(log) == 0 {
		return nil
	}
	f, err := os.OpenFile(r.Archive.Path(RetentionFile), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o640)
	if err != nil {
		return fmt.Errorf("log of retention: %w", err)
	}
	for _, g := range log {
		line, lineErr := json.Marshal(g)
		_, writeErr := f.Write(append(line, '\n'))
		if err = errors.Join(err, lineErr, writeErr); err != nil {
			break
		}
	}
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("log of retention: %w", err)
	}
	return nil
}

// rootPages are the pages of the whole archive; process and trends write them
// anew.
var rootPages = []string{"index.html", "trends.html"}

// removePages removes those pages of the whole archive that show a flight
// that goes.
func (r Retention) removePages(went moved) error {
	for _, name := range rootPages {
		text, err := os.ReadFile(r.Archive.Path(name))
		if missing(err) {
			continue
		}
		if err != nil {
			return fmt.Errorf("look through %s: %w", name, err)
		}
		words := &Words{}
		for folder := range went {
			if s, err := r.Archive.Read(folder); err == nil {
				words.Add(s)
			}
		}
		if len(words.In(text)) == 0 {
			continue
		}
		if err := os.Remove(r.Archive.Path(name)); err != nil {
			return fmt.Errorf("remove %s: %w", name, err)
		}
	}
	return nil
}
