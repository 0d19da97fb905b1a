package evidence

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// ReplayBundle derives the findings of every flight of a bundle again, from
// the clip and the profile in it, and compares them with the summary in it. It
// says nothing about hashes; CheckBundle does. The clips are unpacked into a
// temporary folder, which is taken away again.
func ReplayBundle(file string) (folders []string, results []Replayed, err error) {
	b, err := openBundle(file)
	if err != nil {
		return nil, nil, err
	}
	dir, err := os.MkdirTemp("", "rollonset-bundle-")
	if err != nil {
		return nil, nil, fmt.Errorf("unpack %s: %w", file, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	for _, e := range b.manifest.Events {
		if slices.Contains(folders, e.Folder) {
			continue
		}
		f, err := b.flight(e.Folder, dir)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %s: %w", file, e.Folder, err)
		}
		r, err := f.Replay(0)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %s: %w", file, e.Folder, err)
		}
		folders, results = append(folders, e.Folder), append(results, r)
	}
	return folders, results, nil
}

// flight loads a flight of the bundle.
func (b *opened) flight(folder, dir string) (Flight, error) {
	in := func(name string) []byte { return b.files[path.Join(folder, name)] }
	var f Flight
	if err := json.Unmarshal(in(archive.SummaryFile), &f.Summary); err != nil {
		return f, fmt.Errorf("%s cannot be read: %w", archive.SummaryFile, err)
	}
	var err error
	if f.Profile, err = profile.Parse(f.Summary.Profile.File, in(bundleProfile)); err != nil {
		return f, err
	}
	clip := filepath.Join(dir, archive.ClipFile)
	if err := os.WriteFile(clip, in(archive.ClipFile), 0o600); err != nil {
		return f, fmt.Errorf("unpack: %w", err)
	}
	f.Clip, _, err = ingest.Open(clip, []*profile.Profile{f.Profile}, ingest.Options{})
	return f, err
}
