package profile

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files")

// golden compares with a file that a person reads and approves.
func golden(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s differs (-want +got); run with -update to accept:\n%s", path, d)
	}
}

func TestExplain(t *testing.T) {
	for _, path := range []string{fleet + "/qx40.yaml", fleet + "/tj22.yaml", fleet + "/tp08.yaml", "testdata/good/full.yaml", "testdata/good/shapes.yaml", "testdata/good/long.yaml"} {
		name := strings.TrimSuffix(filepath.Base(path), ".yaml")
		t.Run(name, func(t *testing.T) {
			p, err := Load(path)
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := Explain(&b, p); err != nil {
				t.Fatal(err)
			}
			for i, line := range bytes.Split(b.Bytes(), []byte("\n")) {
				if n := utf8.RuneCount(line); n > pageWidth {
					t.Errorf("line %d is %d wide: %s", i+1, n, line)
				}
			}
			golden(t, filepath.Join("testdata", "explain", name+".txt"), b.Bytes())
		})
	}
}
