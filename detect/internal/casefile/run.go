package casefile

import (
	"path/filepath"
	"testing"

	"rollonset/detect"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// Each reads the case files that match the pattern and calls do in a subtest
// for every case. No file, or a mistake in one, fails the test. read is
// os.ReadFile, which the rooms of detection do not import.
func Each(t *testing.T, pattern string, read func(string) ([]byte, error), do func(*testing.T, *Case)) {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil || len(files) == 0 {
		t.Fatalf("no case files match %s: %v", pattern, err)
	}
	for _, file := range files {
		text, err := read(file)
		if err != nil {
			t.Fatal(err)
		}
		cases, err := Parse(filepath.ToSlash(file), string(text))
		if err != nil {
			t.Error(err)
		}
		for _, c := range cases {
			t.Run(filepath.Base(file)+"/"+c.Name, func(t *testing.T) { do(t, c) })
		}
	}
}

// Build loads the profile of a case and builds its recording.
func (c *Case) Build(t *testing.T, read func(string) ([]byte, error)) (*flightdata.Recording, *profile.Profile) {
	t.Helper()
	prof, err := c.Load(read)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := c.Recording(prof)
	if err != nil {
		t.Fatal(err)
	}
	return rec, prof
}

// Run holds every case of the files to its expectations.
func Run(t *testing.T, pattern string, read func(string) ([]byte, error)) {
	t.Helper()
	Each(t, pattern, read, func(t *testing.T, c *Case) {
		rec, prof := c.Build(t, read)
		for _, p := range c.Check(detect.Assess(rec, prof)) {
			t.Error(p)
		}
	})
}
