package evidence

import (
	"bytes"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// flights checks every flight folder.
func (v *verifier) flights() {
	folders := v.folders()
	checks := make([]flightCheck, len(folders))
	atHand := v.atHand()
	v.options.each(len(folders), func(i int) {
		c := &checks[i]
		c.v, c.folder, c.atHand = v, folders[i], atHand
		c.run()
	})
	v.keys = map[string]string{}
	for i := range checks {
		c := &checks[i]
		v.out.Differences = append(v.out.Differences, c.found...)
		v.out.Notes = append(v.out.Notes, c.notes...)
		v.out.Clips += c.clips
		v.out.Pages += c.pages
		v.out.Recordings += c.recordings
		v.out.NotAtHand += c.notAtHand
		if !c.complete {
			continue
		}
		v.out.Flights++
		if !c.sound {
			v.bad[c.folder] = true
			continue
		}
		v.keys[c.key] = c.folder
		v.profiles[c.profile] = c.folder
	}
}

// folders are the flight folders in order, those without a summary too.
func (v *verifier) folders() []string {
	var out []string
	for _, f := range v.sorted("flights/") {
		out = append(out, path.Dir(f))
	}
	return slices.Compact(out)
}

// atHand are the files given, by base name.
func (v *verifier) atHand() map[string][]string {
	out := map[string][]string{}
	for _, f := range v.options.Recordings {
		out[filepath.Base(f)] = append(out[filepath.Base(f)], f)
	}
	return out
}

// flightCheck checks one flight folder. Only its own fields are written, so
// that many run at the same time.
type flightCheck struct {
	v      *verifier
	folder string
	atHand map[string][]string

	summary         archive.Summary // only while the flight is checked: an archive has many
	key, profile    string          // of the summary
	complete, sound bool            // there is a summary; it is what it was
	found           []Difference
	notes           []string

	clips, pages, recordings, notAtHand int
}

func (c *flightCheck) differ(file, what string, args ...any) {
	c.found = append(c.found, Difference{path.Join(c.folder, file), fmt.Sprintf(what, args...)})
}

func (c *flightCheck) note(text string, args ...any) {
	c.notes = append(c.notes, fmt.Sprintf(text, args...))
}

func (c *flightCheck) has(file string) bool { return c.v.files[path.Join(c.folder, file)] }

func (c *flightCheck) run() {
	c.page()
	if c.complete = c.has(archive.SummaryFile); !c.complete {
		if _, recorded := c.v.seals[c.folder]; !recorded {
			c.note("%s has no summary: it is being written, or the run was stopped; run `process` again", c.folder)
		}
		return
	}
	if c.sound = c.readSummary(); !c.sound {
		c.note("%s is not checked against its summary, which differs", path.Join(c.folder, archive.ClipFile))
		return
	}
	c.identity()
	c.clip()
	c.recording()
	c.key, c.profile = strings.Clone(c.summary.Key), strings.Clone(c.summary.Profile.SHA256)
	c.summary = archive.Summary{}
}

// readSummary reads the summary and holds it to the hash that a run recorded.
func (c *flightCheck) readSummary() bool {
	text, err := os.ReadFile(c.v.a.Path(path.Join(c.folder, archive.SummaryFile)))
	if err != nil {
		c.differ(archive.SummaryFile, "cannot be read: %v", err)
		return false
	}
	seal, recorded := c.v.seals[c.folder]
	if hash := archive.HashOf(text); recorded && hash != seal.Summary {
		c.differ(archive.SummaryFile, "has the hash %s, the run record says %s", hash, seal.Summary)
		return false
	}
	if c.summary, err = c.v.a.Read(c.folder); err != nil {
		c.differ(archive.SummaryFile, "cannot be read: %v", err)
		return false
	}
	if recorded {
		return true
	}
	// Of this one no run record knows the hash; what can be told is whether it
	// reads as the program writes.
	c.note("%s is in no run record; only its form is checked, replay checks the rest", path.Join(c.folder, archive.SummaryFile))
	var again bytes.Buffer
	if err := archive.EncodeSummary(&again, c.summary); err != nil || !bytes.Equal(again.Bytes(), text) {
		c.differ(archive.SummaryFile, "is not written as the program writes it")
		return false
	}
	return true
}

// identity holds the names of the result to the parts that make them.
func (c *flightCheck) identity() {
	s := &c.summary
	if key := archive.Key(s.Recording.SHA256, s.Profile.SHA256, s.Versions.Detection); key != s.Key {
		c.differ(archive.SummaryFile, "has the key %s; recording, profile and detection version give %s", s.Key, key)
	}
	for i := range s.Attempts {
		if id := archive.AttemptID(s.Key, s.Attempts[i].Number); id != s.Attempts[i].ID {
			c.differ(archive.SummaryFile, "names attempt %d %q, its key gives %q", s.Attempts[i].Number, s.Attempts[i].ID, id)
		}
	}
}

func (c *flightCheck) clip() {
	s := &c.summary
	switch {
	case s.Clip == nil && c.has(archive.ClipFile):
		c.differ(archive.ClipFile, "is there; the summary names none")
		return
	case s.Clip == nil:
		return
	}
	c.clips++
	hash, err := c.v.a.HashFile(path.Join(c.folder, s.Clip.File))
	switch {
	case err != nil:
		c.differ(s.Clip.File, "cannot be read: %v", err)
	case hash != s.Clip.SHA256:
		c.differ(s.Clip.File, "has the hash %s, its summary says %s", hash, s.Clip.SHA256)
	}
}

// page checks the page, which carries its own hash.
func (c *flightCheck) page() {
	if !c.has(archive.PageFile) {
		if seal := c.v.seals[c.folder]; seal.Page {
			c.differ(archive.PageFile, "is missing; a run recorded that it was written")
		}
		return
	}
	c.pages++
	if err := c.v.checkPage(path.Join(c.folder, archive.PageFile)); err != nil {
		c.differ(archive.PageFile, "%v", err)
	}
}

func (v *verifier) checkPage(rel string) error {
	text, err := os.ReadFile(v.a.Path(rel))
	if err != nil {
		return fmt.Errorf("cannot be read: %w", err)
	}
	return archive.CheckPage(text)
}

// recording compares the recording with the summary, where it is at hand.
func (c *flightCheck) recording() {
	info := &c.summary.Recording
	files := c.atHand[info.File]
	if len(files) == 0 {
		c.notAtHand++
		return
	}
	c.recordings++
	var wrong []Difference
	for _, file := range files {
		hash, err := hashFile(file)
		switch {
		case err != nil:
			wrong = append(wrong, Difference{file, "cannot be read: " + err.Error()})
		case hash == info.SHA256:
			return // one of that name is it
		default:
			wrong = append(wrong, Difference{file, fmt.Sprintf("has the hash %s, %s says %s", hash, path.Join(c.folder, archive.SummaryFile), info.SHA256)})
		}
	}
	c.found = append(c.found, wrong...)
}
