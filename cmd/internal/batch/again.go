package batch

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"syscall"

	"rollonset/ingest"
	"rollonset/ingest/table"
	"rollonset/report/archive"
)

// Why a recording was done again although an earlier run had done it.
const (
	AgainEntryNew     = "its flight-list entry is new"
	AgainEntryGone    = "its flight-list entry is gone"
	AgainEntryChanged = "its flight-list entry changed"
	AgainProfile      = "its profile changed"
	AgainDetection    = "the detection version changed"
	AgainBoth         = "its profile and the detection version changed"
	AgainUnreadable   = "it could not be read before"
	AgainPage         = "its page was missing"
	AgainDamaged      = "its result was damaged"
)

// history is what earlier runs of the archive tell a new one.
type history struct {
	// unread are the recordings that the latest run that was given them could
	// not read, by path.
	unread map[string]archive.RecordingLine
	// judged are the profiles and detection versions that results were made
	// with, the latest first, each pair once.
	judged []judgement
}

// judgement is what a result was made with.
type judgement struct{ profile, detection string }

// historyOf reads it off run records, the earliest first.
func historyOf(runs []archive.Run) history {
	h := history{unread: map[string]archive.RecordingLine{}}
	for _, run := range runs {
		for _, l := range run.Recordings {
			delete(h.unread, l.File)
			if l.Status == Unreadable && l.Tried != "" {
				if l.Since == "" {
					l.Since = run.ID
				}
				h.unread[l.File] = l
			}
		}
	}
	for _, run := range slices.Backward(runs) {
		for _, p := range run.Profiles {
			if j := (judgement{p.SHA256, run.Detection}); !slices.Contains(h.judged, j) {
				h.judged = append(h.judged, j)
			}
		}
	}
	return h
}

// unreadAgain says whether the recording is one that could not be read and
// would not be now: neither it nor anything that its reading depends on
// changed. The result is then that of the earlier run.
func (r *runner) unreadAgain(path string, res *Result) bool {
	was, known := r.history.unread[path]
	if !known {
		return false
	}
	if now, err := r.tried(path); err != nil || now != was.Tried {
		res.Again = AgainUnreadable
		return false
	}
	res.RecordingLine = archive.RecordingLine{
		File: path, Status: Unreadable, Problem: was.Problem, Remedy: was.Remedy, Tried: was.Tried, Since: was.Since,
	}
	return true
}

// remember notes what a recording was tried with that could not be read, so
// that the next run need not try the same. What may pass by itself is tried
// again: an error of the system, a file that is being written, and a failure
// of the program, which is no fact of the recording.
func (r *runner) remember(path string, before os.FileInfo, why error, res *Result) {
	var in *ingest.Error
	var tab *table.Error
	var system syscall.Errno
	var place *fs.PathError
	lasting := errors.As(why, &in) || errors.As(why, &tab)
	if !lasting || errors.As(why, &system) || errors.As(why, &place) {
		return
	}
	tried, err := r.tried(path)
	if err != nil || stillTheSame(path, before) != nil {
		return
	}
	res.Tried = tried
}

// tried is a hash of all that decides whether a recording can be read: its
// bytes and name, the profiles, the entry that the flight list has under its
// name, the limits, and the versions of detection and program.
func (r *runner) tried(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	bytes := sha256.New()
	if _, err := io.Copy(bytes, f); err != nil {
		return "", err
	}
	var profiles []string
	for _, p := range r.job.Profiles {
		profiles = append(profiles, p.SHA256)
	}
	slices.Sort(profiles)
	entry := ""
	if e := r.job.Flights.Named(filepath.Base(path)); e != nil {
		entry = e.Hash()
	}
	all := sha256.New()
	fmt.Fprintf(all, "%x %q %q %q %+v %+v", bytes.Sum(nil), filepath.Base(path), profiles, entry, r.job.Limits, r.job.Versions)
	return hex.EncodeToString(all.Sum(nil)), nil
}

// judgedBefore says why a recording whose result is not there has to be done
// although an earlier run did it, "" when none did.
func (r *runner) judgedBefore(fp ingest.Fingerprint) string {
	for _, j := range r.history.judged {
		profile, detection := j.profile != fp.Profile.SHA256, j.detection != r.job.Versions.Detection
		if !profile && !detection {
			continue // the result that is not there
		}
		if _, ok, err := r.job.Archive.Done(archive.Key(fp.SHA256, j.profile, j.detection)); err != nil || !ok {
			continue
		}
		switch {
		case profile && detection:
			return AgainBoth
		case profile:
			return AgainProfile
		}
		return AgainDetection
	}
	return ""
}

// entryChanged says what became of the entry of the flight list that the
// result was made with, "" when it is still joined.
func (r *runner) entryChanged(s *archive.Summary) string {
	was, is := "", ""
	if s.Flight.Plan != nil {
		was = s.Flight.Plan.Entry
	}
	if r.job.Flights != nil {
		id, start := s.Flight.Identity()
		if e, _ := r.job.Flights.Match(s.Recording.File, id, start); e != nil {
			is = e.Hash()
		}
	}
	switch {
	case was == is:
		return ""
	case was == "":
		return AgainEntryNew
	case is == "":
		return AgainEntryGone
	}
	return AgainEntryChanged
}
