package profile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// severalMistakes lists the files that hold more than the one mistake they
// are named after, and how many.
var severalMistakes = map[string]int{
	"ten_mistakes": 10,
	"alias":        2, // the anchor and the alias
	"alias_bomb":   17,
}

func TestGoodSmallProfile(t *testing.T) {
	// Every bad file is this one with a mistake in it.
	if _, err := Load("testdata/good/small.yaml"); err != nil {
		t.Fatal(err)
	}
}

// TestMistakes reads one bad file per mistake; what is said about it stands
// beside it.
func TestMistakes(t *testing.T) {
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d bad files: %v", len(files), err)
	}
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".yaml")
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			p, err := Parse(name+".yaml", text)
			var mistakes Errors
			if !errors.As(err, &mistakes) || p != nil {
				t.Fatalf("Parse gave %v, %v; want Errors", p, err)
			}
			want := max(1, severalMistakes[name])
			if len(mistakes) != want {
				t.Errorf("%d mistakes, want %d:\n%v", len(mistakes), want, err)
			}
			golden(t, strings.TrimSuffix(path, ".yaml")+".txt", []byte(err.Error()+"\n"))
		})
	}
}
