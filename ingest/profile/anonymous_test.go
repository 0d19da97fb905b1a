package profile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// TestAnonymous: of every profile of the fleet, the copy keeps the rules and
// loses the words.
func TestAnonymous(t *testing.T) {
	files, err := filepath.Glob("../../sampledata/fleet/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no profiles: %v", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		out, err := profile.Anonymous(text, profile.Anonymity{Name: "other", Type: "other", Title: "de-identified"})
		if err != nil {
			t.Fatal(err)
		}
		for _, word := range []string{"Marrow", "#", "CAUTION", "ZZ-", "file_name", "{tail}"} {
			if strings.Contains(string(out), word) {
				t.Errorf("%s: the copy still says %q", file, word)
			}
		}
		was, err := profile.Parse(file, text)
		if err != nil {
			t.Fatal(err)
		}
		is, err := profile.Parse(file, out)
		if err != nil {
			t.Fatal(err)
		}
		diff := cmp.Diff(was, is,
			cmpopts.IgnoreFields(profile.Profile{}, "Name", "Title", "Reason", "Types", "Tails", "SHA256", "Source", "File", "Identity"),
			cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Line" }, cmp.Ignore()),
			cmpopts.EquateComparable(unit.Unit{}), cmpopts.EquateNaNs(), cmpopts.IgnoreUnexported(profile.Band{}))
		if diff != "" {
			t.Errorf("%s: the rules changed (-was +is):\n%s", file, diff)
		}
		if again, err := profile.Anonymous(text, profile.Anonymity{Name: "other", Type: "other", Title: "de-identified"}); err != nil || string(again) != string(out) {
			t.Errorf("%s: twice is not the same: %v", file, err)
		}
	}
	if _, err := profile.Anonymous([]byte("name: x\n"), profile.Anonymity{}); err == nil {
		t.Error("a text that is no profile was taken for one")
	}
}
