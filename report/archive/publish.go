package archive

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"

	"rollonset/detect"
	"rollonset/ingest/profile"
)

// PageWriter writes the page of a flight. It is given the summary as it will
// lie in the archive.
type PageWriter func(io.Writer, Summary) error

// Publish writes the flight folder of an assessment: the clip, the page if
// page is not nil, then summary.json, then the lookup of Done. The summary
// carries the hash of the clip and comes last, so a folder with a summary is
// complete, whenever the program was killed. A recording without windows gets
// no clip. The profile must have been kept before by KeepProfile.
//
// Publishing the same result again replaces it with the same bytes. A folder
// that holds the result of another key is not touched: that is an error, as
// is any failure to write. Two results of one key must not be published at
// the same time.
func (a *Archive) Publish(asm *detect.Assessment, v Versions, page PageWriter) (Summary, error) {
	return a.PublishAs(asm, Summarise(asm, v), page)
}

// PublishAs is Publish for a summary that Summarise has given of the assessment.
func (a *Archive) PublishAs(asm *detect.Assessment, s Summary, page PageWriter) (Summary, error) {
	dir := a.Path(s.Flight.Folder)
	isNew, err := prepare(dir, ClipFile, PageFile, SummaryFile)
	if err == nil && !isNew {
		err = a.checkFree(s)
	}
	if err != nil {
		return Summary{}, err
	}
	if len(asm.Windows) > 0 {
		h := sha256.New()
		err := writeInto(dir, ClipFile, func(w io.Writer) error { return WriteAssessedClip(io.MultiWriter(w, h), asm, s.Versions) })
		if err != nil {
			return Summary{}, err
		}
		s.Clip = &FileHash{File: ClipFile, SHA256: hex.EncodeToString(h.Sum(nil))}
	}
	if page != nil {
		err := writeInto(dir, PageFile, func(w io.Writer) error { return writeSealed(w, func(w io.Writer) error { return page(w, s) }) })
		if err != nil {
			return Summary{}, err
		}
	}
	if err := writeInto(dir, SummaryFile, func(w io.Writer) error { return writeJSON(w, s) }); err != nil {
		return Summary{}, err
	}
	return s, a.writeKey(s.Key, s.Flight.Folder)
}

// checkFree refuses a folder that holds another result; the eight digits of
// the key in its name make that all but impossible by chance.
func (a *Archive) checkFree(s Summary) error {
	old, err := a.Read(s.Flight.Folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err == nil && old.Key != s.Key:
		return fmt.Errorf("%s already holds the result of %s (key %s), not of %s (key %s); move that folder away and process again",
			a.Path(s.Flight.Folder), old.Recording.File, old.Key, s.Recording.File, s.Key)
	}
	return nil // the same result, or a damaged one, which this one replaces
}

// writeJSON writes a value as JSON that a person can read: indented, keys in
// the order of the fields, map keys sorted, "<" as it is.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// KeepProfile copies the profile to profiles/<sha256>.yaml, once, so that
// every result can be derived again. The bytes must have the hash that the
// profile states.
func (a *Archive) KeepProfile(p *profile.Profile) error {
	sum := sha256.Sum256(p.Source)
	if hash := hex.EncodeToString(sum[:]); hash != p.SHA256 {
		return fmt.Errorf("keep profile %s: its bytes have the hash %s, it states %q; read the profile again", p.Path, hash, p.SHA256)
	}
	return a.keepText(profilePath(p.SHA256), string(p.Source))
}

// Profile reads the copy of a profile by its hash and checks the hash.
func (a *Archive) Profile(hash string) ([]byte, error) {
	if err := checkElement("profile", hash); err != nil {
		return nil, err
	}
	file := a.Path(profilePath(hash))
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("read profile: %w", err)
	}
	sum := sha256.Sum256(text)
	if got := hex.EncodeToString(sum[:]); got != hash {
		return nil, fmt.Errorf("%s has the hash %s: it was changed after it was kept; restore it from a copy", file, got)
	}
	return text, nil
}

func profilePath(hash string) string { return path.Join(profilesDir, hash+".yaml") }
