package takeoff_test

import (
	"os"
	"path/filepath"
	"testing"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
)

// TestCases runs every case file of this folder through the whole detection.
func TestCases(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no case files: %v", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		cases, err := casefile.Parse(filepath.ToSlash(file), string(text))
		if err != nil {
			t.Errorf("%s", err)
		}
		for _, c := range cases {
			t.Run(filepath.Base(file)+"/"+c.Name, func(t *testing.T) {
				prof, err := c.Load(os.ReadFile)
				if err != nil {
					t.Fatal(err)
				}
				rec, err := c.Recording(prof)
				if err != nil {
					t.Fatal(err)
				}
				for _, p := range c.Check(detect.Assess(rec, prof)) {
					t.Error(p)
				}
			})
		}
	}
}
