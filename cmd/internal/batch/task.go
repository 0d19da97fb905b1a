package batch

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/gofrs/flock"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/table"
	"rollonset/report/archive"
	"rollonset/report/page"
)

// one does one recording. The error is one of the archive, which ends the
// run; everything about the recording itself is in the result.
func (r *runner) one(path string) (res Result, err error) {
	res.File = path
	before, err := os.Stat(path)
	if err != nil {
		res.unreadable(fmt.Errorf("%s: %s; check the path", path, reason(err)))
		return res, nil
	}
	if done := r.done(path, &res); done != nil {
		// A page may lack reviews that were made where no page is written, or
		// whose writer was stopped.
		if len(reviewsOf(done, r.reviews)) > 0 {
			return res, Repage(r.job.Archive, *done)
		}
		return res, nil
	}
	if r.unreadAgain(path, &res) {
		return res, nil
	}
	asm, err := r.assess(path, &res)
	if err != nil {
		res.unreadable(err)
		r.remember(path, before, err, &res)
		return res, nil
	}
	if err := stillTheSame(path, before); err != nil {
		res.unreadable(err)
		return res, nil
	}
	start := time.Now()
	s, err := r.publish(asm)
	res.Write = time.Since(start)
	if err != nil {
		return res, fmt.Errorf("writing the result of %s: %w", path, err)
	}
	res.Status = Processed
	res.take(&s)
	return res, r.job.Archive.Seal(&res.RecordingLine)
}

// take fills the result from the summary of the recording, which it does not
// keep.
func (res *Result) take(s *archive.Summary) {
	res.Tally = tallyOf(s)
	res.Key, res.Folder, res.Profile = s.Key, s.Flight.Folder, s.Profile.Name
	if s.Flight.Plan != nil {
		res.Entry = s.Flight.Plan.Entry
	}
}

// unreadable splits an error into problem and remedy where it has one.
func (res *Result) unreadable(err error) {
	res.Status, res.Problem = Unreadable, err.Error()
	var in *ingest.Error
	var tab *table.Error
	switch {
	case errors.As(err, &in):
		res.Remedy = in.Remedy
	case errors.As(err, &tab):
		res.Remedy = tab.Remedy
	}
	if res.Remedy != "" {
		res.Problem = strings.TrimSuffix(res.Problem, "; "+res.Remedy)
	}
	if rest, ok := strings.CutPrefix(res.Problem, res.File+": "); ok {
		res.Problem = res.File + ": " + misnamed(res.File) + rest
	}
}

// stillTheSame makes sure that the file was not being written while it was
// read: a recording that is still being copied is left for the next run.
func stillTheSame(path string, before os.FileInfo) error {
	after, err := os.Stat(path)
	if err != nil || after.Size() != before.Size() || !after.ModTime().Equal(before.ModTime()) {
		return &ingest.Error{File: path, Cause: "it changed while it was read", Remedy: "it is left for the next run; let the copying finish first"}
	}
	return nil
}

// done looks whether the archive already holds the result of the recording,
// made with the same profile, detection and flight-list entry. It fills the
// result and gives the summary when it does, nil otherwise.
func (r *runner) done(path string, res *Result) *archive.Summary {
	if r.fresh {
		return nil
	}
	start := time.Now()
	fp, err := ingest.Identify(path, r.job.Profiles, ingest.Options{Limits: r.job.Limits, Flights: r.job.Flights})
	res.Read += time.Since(start)
	if err != nil {
		return nil // reading it will say why
	}
	folder, ok, err := r.job.Archive.Done(archive.Key(fp.SHA256, fp.Profile.SHA256, r.job.Versions.Detection))
	if err != nil || !ok {
		res.Again = r.judgedBefore(fp)
		return nil
	}
	s, err := r.job.Archive.Read(folder)
	if err != nil {
		res.Again = AgainDamaged
		return nil
	}
	otherName := s.Recording.File != filepath.Base(path)
	if otherName && r.inputs[s.Recording.File] {
		res.Again = r.judgedBefore(fp)
		return nil // perhaps done a moment ago; see publish
	}
	if res.Again = r.entryChanged(&s); res.Again != "" {
		return nil
	}
	if !r.pageThere(&s) {
		res.Again = AgainPage
		return nil
	}
	res.Status, res.Problem = Skipped, "done before"
	if otherName {
		res.Problem = "done before as " + s.Recording.File
	}
	res.take(&s)
	if err := r.job.Archive.Seal(&res.RecordingLine); err != nil {
		*res = Result{RecordingLine: archive.RecordingLine{File: path}}
		return nil
	}
	// What an earlier run recorded of the summary stays, so that a change since
	// then is not covered by this run.
	if l, ok := r.seals[s.Flight.Folder]; ok {
		res.RecordingLine.Summary = l.Summary
	}
	return &s
}

// pageThere says whether the flight has the page that this run would make.
func (r *runner) pageThere(s *archive.Summary) bool {
	if !r.wantsPage(s) {
		return true
	}
	_, err := os.Stat(filepath.Join(r.job.Archive.Path(s.Flight.Folder), archive.PageFile))
	return err == nil
}

// assess reads and assesses one recording; a panic below is this recording's
// error, with the place in the program for a report.
func (r *runner) assess(path string, res *Result) (asm *detect.Assessment, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%s: the program failed on this recording (%v); please report it with the file\n%s", path, p, debug.Stack())
		}
	}()
	start := time.Now()
	rec, prof, err := ingest.Open(path, r.job.Profiles, ingest.Options{Limits: r.job.Limits, Flights: r.job.Flights})
	res.Read += time.Since(start)
	if err != nil {
		return nil, err
	}
	start = time.Now()
	asm = detect.Assess(rec, prof)
	res.Detect = time.Since(start)
	return asm, nil
}

// publish writes the flight folder under the lock of its key, which also
// holds between processes. Of the same bytes under two names in one run the
// first in order of the base names is kept, whoever comes first.
func (r *runner) publish(asm *detect.Assessment) (archive.Summary, error) {
	s := archive.Summarise(asm, r.job.Versions)
	unlock, err := r.lockKey(s.Key)
	if err != nil {
		return s, err
	}
	defer unlock()
	folder, held, err := r.job.Archive.Done(s.Key)
	if err != nil {
		return s, err
	}
	if held {
		old, err := r.job.Archive.Read(folder)
		if err == nil && old.Recording.File < s.Recording.File && r.inputs[old.Recording.File] {
			return old, nil
		}
	}
	out, err := r.job.Archive.PublishAs(asm, s, r.page(asm, &s))
	if err == nil && held && folder != out.Flight.Folder {
		err = r.job.Archive.Drop(folder) // the same bytes under a name that comes later
	}
	return out, err
}

// LocksDir holds the locks of an archive; they are no results.
const LocksDir = ".locks"

// lockKey takes the lock of a key; keys share 256 locks.
func (r *runner) lockKey(key string) (func(), error) { return lock(r.job.Archive, key[:2]) }

func lock(a *archive.Archive, name string) (func(), error) {
	dir := a.Path(LocksDir)
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, err
	}
	l := flock.New(filepath.Join(dir, name))
	if err := l.Lock(); err != nil {
		return nil, fmt.Errorf("locking %s: %w", l.Path(), err)
	}
	return func() { _ = l.Unlock() }, nil
}

func (r *runner) wantsPage(s *archive.Summary) bool {
	return r.job.Pages == AllPages || r.job.Pages == EventPages && page.WorthAPage(*s)
}

// page is the page writer for a flight, nil when it gets none.
func (r *runner) page(asm *detect.Assessment, s *archive.Summary) archive.PageWriter {
	if !r.wantsPage(s) {
		return nil
	}
	return flightPage(r.job.Archive, asm, r.reviews, nil)
}

// commands are what a reader can run to see the same facts again. The page
// does not name the archive's place: an archive may be moved.
func commands(s archive.Summary) []page.Command {
	out := []page.Command{}
	for _, a := range s.Attempts {
		out = append(out, page.Command{For: fmt.Sprintf("attempt %d in a terminal", a.Number), Line: "rollonset show ARCHIVE " + a.ID})
	}
	return append(out, page.Command{For: "derive it again from the recording", Line: fmt.Sprintf("rollonset process %s --profiles PROFILES --archive NEW", s.Recording.File)})
}
