package evidence

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// Flight is all that an archive holds of one flight's evidence.
type Flight struct {
	Summary archive.Summary
	// Clip are the samples, nil when there was nothing to clip; Profile is the
	// stored copy that judged it.
	Clip    *flightdata.Recording
	Profile *profile.Profile
	// Was are the numbers that the attempts of a de-identified copy have in the
	// original, in order; nil for an original.
	Was []int
}

// Load reads the clip and the profile of a flight and holds the clip to the
// hash in the summary, so that no changed clip is handed on as evidence.
func Load(a *archive.Archive, s archive.Summary) (Flight, error) {
	text, err := a.Profile(s.Profile.SHA256)
	if err != nil {
		return Flight{}, err
	}
	prof, err := profile.Parse(s.Profile.File, text)
	if err != nil {
		return Flight{}, err
	}
	f := Flight{Summary: s, Profile: prof}
	if s.Clip == nil {
		return f, nil
	}
	file := a.Path(path.Join(s.Flight.Folder, s.Clip.File))
	if hash, err := hashFile(file); err != nil {
		return Flight{}, err
	} else if hash != s.Clip.SHA256 {
		return Flight{}, fmt.Errorf("%s has the hash %s, its summary says %s: it was changed; process the recording again", file, hash, s.Clip.SHA256)
	}
	f.Clip, _, err = ingest.Open(file, []*profile.Profile{prof}, ingest.Options{})
	return f, err
}

// Assess runs the detection over the clip.
func (f Flight) Assess() *detect.Assessment { return detect.Assess(f.Clip, f.Profile) }

func hashFile(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", fmt.Errorf("read the clip: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("read %s: %w", file, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
