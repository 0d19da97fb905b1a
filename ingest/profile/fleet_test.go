package profile

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const fleet = "../../sampledata/fleet"

func TestFleet(t *testing.T) {
	profiles, err := filepath.Glob(filepath.Join(fleet, "*.yaml"))
	if err != nil || len(profiles) != 3 {
		t.Fatalf("found %d fleet profiles, want 3 (%v)", len(profiles), err)
	}
	for _, path := range profiles {
		t.Run(filepath.Base(path), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			// A sample limit that travels without its caution could be taken for
			// an approved one.
			if !strings.HasPrefix(string(text), "# CAUTION: every figure in this file is invented") {
				t.Error("the first lines do not hold the caution")
			}
			if _, err := Load(path); err != nil {
				t.Errorf("does not load:\n%v", err)
			}
		})
	}
}
