package profile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// folder writes profiles into a new folder.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// small is the good profile of the tests, with replacements.
func small(t *testing.T, oldNew ...string) string {
	t.Helper()
	text, err := os.ReadFile("testdata/good/small.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(oldNew); i += 2 {
		if !strings.Contains(string(text), oldNew[i]) {
			t.Fatalf("the good profile has no %q", oldNew[i])
		}
	}
	return strings.NewReplacer(oldNew...).Replace(string(text))
}

func TestLoadDir(t *testing.T) {
	dir := folder(t, map[string]string{
		"b.yml":     small(t, "AB01", "AB02", "ZZ-A*", "ZZ-B*"),
		"a.yaml":    small(t),
		".c.yaml":   "not read",
		"notes.txt": "not read",
	})
	profiles, err := LoadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(profiles) != 2 || profiles[0].Name != "AB01" || profiles[1].Name != "AB02" {
		t.Errorf("got %d profiles, want AB01 and AB02 in this order", len(profiles))
	}
}

func TestLoadDirTellsAllMistakes(t *testing.T) {
	dir := folder(t, map[string]string{
		"a.yaml": small(t, "engines: 2", "engines: 0"),
		"b.yaml": small(t, "max: 2 deg", "max: 200 deg", "name: AB01", "name: AB/01"),
	})
	_, err := LoadDir(dir)
	var mistakes Errors
	if !errors.As(err, &mistakes) || len(mistakes) != 3 {
		t.Fatalf("want three mistakes, got:\n%v", err)
	}
	for i, want := range []string{"a.yaml:8:10", "b.yaml:2:7", "b.yaml:45:47"} {
		if !strings.Contains(mistakes[i].String(), want) {
			t.Errorf("mistake %d is %v, want it at %s", i, mistakes[i], want)
		}
	}
}

func TestLoadDirBetweenProfiles(t *testing.T) {
	for _, c := range []struct {
		name, text, want string
	}{
		{"name taken", small(t, "ZZ-A*", "ZZ-B*"), `b.yaml:2:7: the name "AB01" is taken by `},
		{"tails overlap", small(t, "name: AB01", "name: AB02", "ZZ-A*", `ZZ-B*", "ZZ-?7`), `b.yaml:7:18: tails: an aircraft may be taken by "ZZ-?7" here and by "ZZ-A*" of `},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folder(t, map[string]string{"a.yaml": small(t), "b.yaml": c.text})
			_, err := LoadDir(dir)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestLoadDirWithoutProfiles(t *testing.T) {
	dir := folder(t, map[string]string{"notes.txt": "x"})
	if _, err := LoadDir(dir); err == nil || !strings.Contains(err.Error(), "put a file such as") {
		t.Errorf("an empty folder gives %v", err)
	}
	if _, err := LoadDir(filepath.Join(dir, "nowhere")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing folder gives %v", err)
	}
}

func TestBothMatch(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"ZZ-Q*", "ZZ-J*", false},
		{"ZZ-Q*", "ZZ-*", true},
		{"ZZ-Q*", "*1", true},
		{"ZZ-QA", "ZZ-QA", true},
		{"ZZ-QA", "ZZ-Q?", true},
		{"ZZ-QA", "ZZ-Q??", false},
		{"*A*", "*B*", true},
		{"A*", "", false},
		{"*", "", true},
		{"A?C", "AB*", true},
		{"A?C", "AB", false},
	} {
		if got := bothMatch([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("bothMatch(%q, %q) = %v", c.a, c.b, got)
		}
		if got := bothMatch([]rune(c.b), []rune(c.a)); got != c.want {
			t.Errorf("bothMatch(%q, %q) = %v", c.b, c.a, got)
		}
	}
}
