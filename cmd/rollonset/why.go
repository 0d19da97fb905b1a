package main

import (
	"fmt"
	"io"
	"path"

	"rollonset/cmd/internal/batch"
	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
	"rollonset/report/why"
)

// showWhy derives the findings again from the clip and the stored profile, and
// prints how they follow.
func showWhy(w io.Writer, a *archive.Archive, found archive.Found) error {
	s := &found.Summary
	if s.Clip == nil {
		return fmt.Errorf("%s holds no takeoff attempt, so there is no clip to explain", s.Recording.File)
	}
	text, err := a.Profile(s.Profile.SHA256)
	if err != nil {
		return err
	}
	prof, err := profile.Parse(s.Profile.File, text)
	if err != nil {
		return err
	}
	rec, prof, err := ingest.Open(a.Path(path.Join(s.Flight.Folder, s.Clip.File)), []*profile.Profile{prof}, ingest.Options{})
	if err != nil {
		return err
	}
	asm := detect.Assess(rec, prof)
	for i := range s.Attempts {
		t := &s.Attempts[i]
		if found.Attempt != nil && found.Attempt.Number != t.Number {
			continue
		}
		fmt.Fprintf(w, "Attempt %d (%s) of %s\n\n", t.Number, t.ID, batch.FlightName(s))
		if err := why.Attempt(w, asm, t.Number); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(w, "\n%s\n", s.Caution)
	return err
}
