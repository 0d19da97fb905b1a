package profile

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// TestBlankValues takes the value from every key of every profile of the fleet,
// one at a time and two of neighbouring keys at once: it is a mistake with a
// place or a profile, and never a fall of the reader.
func TestBlankValues(t *testing.T) {
	value := regexp.MustCompile(`:[ \t]+(\[[^\[\]]*\]|[^\s,{}\[\]#]+)`)
	tried := 0
	files, err := filepath.Glob(fleet + "/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		at := value.FindAllSubmatchIndex(text, -1)
		for i, v := range at {
			blank := append(bytes.Clone(text[:v[2]]), text[v[3]:]...)
			lawful(t, blank)
			tried++
			if i > 0 {
				before := at[i-1]
				two := append(bytes.Clone(blank[:before[2]]), blank[before[3]:]...)
				lawful(t, two)
			}
		}
	}
	if tried < 400 {
		t.Errorf("only %d values were taken away", tried)
	}
}
