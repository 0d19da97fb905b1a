package profile

import (
	"strings"
	"testing"
)

// TestLanguageIsTheDocumentation: what the program prints holds every example
// that the tests run, whole and in order, and nothing of the Go around it.
func TestLanguageIsTheDocumentation(t *testing.T) {
	text := Language()
	rest := text
	for i, e := range examples(t) {
		// In the comment each line of an example stands behind a tab.
		var b strings.Builder
		for line := range strings.Lines(e) {
			if line != "\n" {
				b.WriteByte('\t')
			}
			b.WriteString(line)
		}
		at := strings.Index(rest, b.String())
		if at < 0 {
			t.Fatalf("example %d is missing:\n%s", i+1, e)
		}
		rest = rest[at+b.Len():]
	}
	for _, bad := range []string{"package profile", "/*", "*/", "LoadDir"} {
		if strings.Contains(text, bad) {
			t.Errorf("the text holds %q, which is not the user's", bad)
		}
	}
	for line := range strings.Lines(text) {
		if len(line) > 130 {
			t.Errorf("a line is too long: %s", line)
		}
	}
}
