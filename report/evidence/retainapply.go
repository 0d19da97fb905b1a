package evidence

import (
	"context"
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
// them, the log, and last what goes. The caller holds the locks of the archive
// and of its chains.
func (r Retention) Apply(ctx context.Context, plan []Step) error {
	totals, err := ReadTotals(r.Archive)
	if err != nil {
		return err
	}
	logged, chain, err := ReadRetention(r.Archive)
	if err == nil {
		err = chain.Whole()
	}
	if err != nil {
		return err
	}
	went, log := moved{}, totals.unlogged(chain.Head)
	for _, folder := range totals.Pending { // counted by a run that was killed
		went[folder] = ""
	}
	known := map[string]bool{} // what a run that was killed behind its log had logged
	for _, g := range append(logged, log...) {
		known[g.mark()] = true
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
		if gone.Now == "" || !known[gone.mark()] {
			log = append(log, gone)
		}
	}
	if len(went) == 0 {
		return nil
	}
	totals.pend(went)
	if log, err = r.closed(&totals, logged, log); err != nil {
		return err
	}
	totals.PendingLog, totals.LogHead = log, &chain.Head
	return r.finish(went, totals, log)
}

// pend notes the folders that are counted and not yet removed.
func (t *Totals) pend(went moved) {
	t.Pending = nil
	for folder, now := range went { // those that were pending are among them
		if now == "" {
			t.Pending = append(t.Pending, folder)
		}
	}
	slices.Sort(t.Pending)
}

// closed is the log with the line that holds the counts behind it, unless
// nothing was counted or the log has it already.
func (r Retention) closed(totals *Totals, logged, log []Gone) ([]Gone, error) {
	log = slices.DeleteFunc(log, func(g Gone) bool { return g.Action == Counted })
	if len(totals.Pending) == 0 {
		return log, nil
	}
	line, err := totals.counted(r.Today.Format(time.DateOnly))
	if err != nil {
		return nil, err
	}
	if last := lastCounted(logged); last != nil && slices.Equal(last.Counts, line.Counts) {
		return log, nil
	}
	return append(log, line), nil
}

// lastCounted is the line that holds the counts as they are now, nil for none.
func lastCounted(log []Gone) *Gone {
	for i := len(log) - 1; i >= 0; i-- {
		if log[i].Action == Counted {
			return &log[i]
		}
	}
	return nil
}

// unlogged are the lines of flights that a killed run had counted and not yet
// logged: the log has not moved since.
func (t *Totals) unlogged(head archive.ChainHead) []Gone {
	if t.LogHead == nil || *t.LogHead != head {
		return nil
	}
	return t.PendingLog
}

// mark tells a reduced flight and the day on which it was reduced.
func (g Gone) mark() string { return g.Date + " " + g.Now }

// step copies or counts one flight; nothing goes yet.
func (r Retention) step(step Step, totals *Totals) (Gone, error) {
	s, err := r.Archive.Read(step.Folder)
	if err != nil {
		return Gone{}, err
	}
	gone := Gone{Schema: 1, Date: r.Today.Format(time.DateOnly), Action: step.Action, Month: step.Month, Rule: step.Rule}
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
	view, err := r.Archive.View()
	if err != nil {
		return err
	}
	if err := view.WriteSightings(); err != nil {
		return err
	}
	if len(totals.Pending) > 0 {
		return totals.settled().write(r.Archive)
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
	if err := archive.AppendChain(r.Archive, RetentionFile, r.Today.UTC().Format(time.RFC3339), log); err != nil {
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
