package batch

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path"
	"slices"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// IndexFile is the night page, at the top of the archive; TrendsFile is the
// trend page beside it.
const (
	IndexFile  = "index.html"
	TrendsFile = "trends.html"
)

// RunPage is the page of a run, relative to the archive: IndexFile shows one
// night, and the others stay where they are.
func RunPage(id string) string { return "runs/" + id + ".html" }

// trendsLink is the address of the trend page from the night page, "" while
// there is none.
func trendsLink(a *archive.Archive) string {
	if _, err := os.Stat(a.Path(TrendsFile)); err != nil {
		return ""
	}
	return TrendsFile
}

// Relink writes the night page anew, with the links and reviews that now hold.
// An archive without a night page or without a run stays as it is.
func Relink(a *archive.Archive) error {
	d, err := newDrawing(a)
	if err != nil || len(d.nights) == 0 || !a.Has(IndexFile) {
		return err
	}
	return d.index()
}

// quickNight is how many recordings a run may have for its night page to be
// drawn within about a second.
const quickNight = 2000

// Reviewed is Relink after a review of events of some flights, for which a
// person waits; the pages of runs with those flights are drawn anew as well.
// The page of a run of very many recordings, such as that of a first year read
// at once, is left for the next run.
func Reviewed(a *archive.Archive, folders ...string) error {
	d, err := newDrawing(a)
	if err != nil || len(d.nights) == 0 || !a.Has(IndexFile) {
		return err
	}
	for _, n := range d.nights {
		of := slices.ContainsFunc(n.Run.Recordings, func(l archive.RecordingLine) bool { return slices.Contains(folders, l.Folder) })
		if !of || len(n.Run.Recordings) > quickNight || !a.Has(RunPage(n.Run.ID)) {
			continue
		}
		if err := d.runPage(n.Run); err != nil {
			return err
		}
	}
	if len(d.shown().Run.Recordings) > quickNight {
		return nil
	}
	return d.index()
}

// NightNow is the text of the night page as it would be drawn now, for one who
// may not write it; nil when the page on the disk is to be shown instead: there
// is none, or the run is too large to be drawn while a person waits.
func NightNow(a *archive.Archive) ([]byte, error) {
	if _, err := os.Stat(a.Path(IndexFile)); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	d, err := newDrawing(a)
	if err != nil || len(d.nights) == 0 || len(d.shown().Run.Recordings) > quickNight {
		return nil, err
	}
	var text bytes.Buffer
	err = d.draw(&text, d.shown().Run, d.indexOptions())
	return text.Bytes(), err
}

// drawing is what all night pages of an archive are drawn from.
type drawing struct {
	a       *archive.Archive
	view    *archive.View
	reviews *archive.Reviews
	nights  nights
}

func newDrawing(a *archive.Archive) (*drawing, error) {
	runs, err := a.RunsByStart()
	if err != nil {
		return nil, err
	}
	view, err := a.View()
	if err != nil {
		return nil, err
	}
	return drawingOf(a, view, runs)
}

func drawingOf(a *archive.Archive, view *archive.View, runs []archive.Run) (*drawing, error) {
	reviews, err := a.Reviews()
	if err != nil {
		return nil, err
	}
	return &drawing{a: a, view: view, reviews: reviews, nights: nightsOf(a, runs)}, nil
}

// listed is how many runs the night page lists: a quarter of nights.
const listed = 92

// index writes the night page.
func (d *drawing) index() error { return d.write(IndexFile, d.shown().Run, d.indexOptions()) }

func (d *drawing) shown() *page.RunLink { return &d.nights[d.nights.shown()] }

func (d *drawing) indexOptions() page.NightOptions {
	o := d.options()
	shown, last := d.nights.shown(), d.nights.last()
	if shown != last {
		o.Later = &d.nights[last]
	}
	for i, n := range d.nights {
		if i != shown {
			o.Runs = append(o.Runs, n)
		}
	}
	if n := len(o.Runs); n > listed {
		o.Runs, o.Older = o.Runs[:listed], n-listed
	}
	return o
}

// runPage writes the page of one run.
func (d *drawing) runPage(run archive.Run) error {
	o := d.options()
	o.Up = "../"
	return d.write(RunPage(run.ID), run, o)
}

func (d *drawing) write(file string, run archive.Run, o page.NightOptions) error {
	err := archive.WritePage(d.a.Path(file), func(w io.Writer) error { return d.draw(w, run, o) })
	if err != nil {
		return fmt.Errorf("writing %s: %w", file, err)
	}
	return nil
}

func (d *drawing) options() page.NightOptions {
	return page.NightOptions{Caution: archive.Caution, Trends: trendsLink(d.a), Review: reviewState(d.reviews), HasPage: func(s archive.Summary) bool {
		_, err := os.Stat(d.a.Path(path.Join(s.Flight.Folder, archive.PageFile)))
		return err == nil
	}}
}

// draw draws the page of a run from the summaries in the archive, each attempt
// once.
func (d *drawing) draw(w io.Writer, run archive.Run, o page.NightOptions) error {
	in := map[string]bool{}
	var folders []string
	for _, r := range run.Recordings {
		if r.Folder != "" {
			folders, in[r.Folder] = append(folders, r.Folder), true
		}
	}
	for _, s := range d.view.Seen() {
		if slices.ContainsFunc(s.Folders(), func(f string) bool { return in[f] }) {
			o.Seen = append(o.Seen, s)
		}
	}
	return page.Night(w, run, d.once(folders), o)
}

// once yields the summaries of flight folders, each folder once and in order,
// with the attempts that count.
func (d *drawing) once(folders []string) iter.Seq2[archive.Summary, error] {
	return func(yield func(archive.Summary, error) bool) {
		for _, folder := range slices.Compact(slices.Sorted(slices.Values(folders))) {
			s, err := d.a.Read(folder)
			if err == nil {
				s, err = d.view.Once(s)
			}
			if !yield(s, err) {
				return
			}
		}
	}
}
