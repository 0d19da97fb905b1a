package batch

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"

	"rollonset/detect"
	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/report/page"
)

// flightPage draws the page of a flight as it lies in the archive. What it says
// of other recordings is what seen holds, which is known when a run publishes.
func flightPage(a *archive.Archive, asm *detect.Assessment, reviews *archive.Reviews, seen []archive.SeenRow) archive.PageWriter {
	return func(w io.Writer, s archive.Summary) error {
		return page.Flight(w, s, asm.Recording.Clip(asm.Windows), page.Options{
			Levels: page.Levels(asm.Profile), Index: upFrom(s.Flight.Folder), Commands: commands(s), Reviews: reviewsOf(&s, reviews),
			Seen: seen, Page: func(folder string) string {
				file := path.Join(folder, archive.PageFile)
				if !a.Has(file) {
					return ""
				}
				return toTop(s.Flight.Folder) + file
			},
		})
	}
}

// reviewsOf are the decisions about the events of a flight as its page shows
// them.
func reviewsOf(s *archive.Summary, reviews *archive.Reviews) []page.Review {
	var out []page.Review
	for _, e := range archive.EventsOf(s, 0, reviews) {
		for _, r := range e.Reviews {
			out = append(out, page.Review{Event: e.Attempt.ID + " " + e.Check, Decision: r.Decision, Role: r.Role, Time: r.Time, Reason: r.Reason})
		}
	}
	return out
}

// reviewState tells the night page what was decided about an event.
func reviewState(reviews *archive.Reviews) func(*archive.Summary, *archive.AttemptSummary, archive.EventSummary) string {
	if len(reviews.Lines) == 0 {
		return nil
	}
	return func(s *archive.Summary, a *archive.AttemptSummary, e archive.EventSummary) string {
		return reviews.Decision(archive.PlaceOf(s, a), e.Kind, e.Check)
	}
}

// Repage draws the page of a flight anew, from its clip and the stored copy of
// its profile, with the reviews and other recordings that there are now. A flight without a page
// stays without one.
func Repage(a *archive.Archive, s archive.Summary) error {
	file := a.Path(path.Join(s.Flight.Folder, archive.PageFile))
	if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) || s.Clip == nil {
		return nil
	}
	unlock, err := lock(a, s.Key[:2]) // as those who publish
	if err != nil {
		return err
	}
	defer unlock()
	reviews, err := a.Reviews()
	if err != nil {
		return err
	}
	f, err := evidence.Load(a, s)
	if err != nil {
		return fmt.Errorf("drawing the page of %s anew: %w", s.Flight.Folder, err)
	}
	seen, err := a.SeenOf(s.Flight.Folder)
	if err != nil {
		return err
	}
	draw := flightPage(a, f.Assess(), reviews, seen)
	return archive.WritePage(file, func(w io.Writer) error { return draw(w, s) })
}
