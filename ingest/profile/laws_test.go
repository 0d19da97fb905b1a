package profile

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"rollonset/ingest/unit"
)

// lawful checks what holds for every text whatever: a profile or Errors,
// never both; every mistake lies in the file, shows the line it lies in, and
// stands in order; what is read can be explained on a page of 80 columns.
func lawful(t interface{ Errorf(string, ...any) }, text []byte) {
	p, err := Parse("x.yaml", text)
	if err == nil {
		explainable(t, p)
		return
	}
	var mistakes Errors
	if !errors.As(err, &mistakes) || len(mistakes) == 0 || len(mistakes) > maxProblems || p != nil {
		t.Errorf("got %v and an error of type %T", p, err)
	}
	lines := splitLines(string(bytes.TrimPrefix(text, []byte("\uFEFF"))))
	for i, m := range mistakes {
		if m.Line < 0 || m.Line > len(lines) || m.Line > 0 && (m.Source != lines[m.Line-1] || m.Column < 1) {
			t.Errorf("a place outside of the file: %+v", m)
		}
		if strings.ContainsFunc(m.String(), invisible) || !utf8.ValidString(m.Text) {
			t.Errorf("a message that could steer a terminal: %q", m.String())
		}
		if i > 0 && (m.Line < mistakes[i-1].Line || m.Line == mistakes[i-1].Line && m.Column < mistakes[i-1].Column) {
			t.Errorf("not in order: %v before %v", mistakes[i-1], m)
		}
	}
}

func explainable(t interface{ Errorf(string, ...any) }, p *Profile) {
	var b bytes.Buffer
	if err := Explain(&b, p); err != nil {
		t.Errorf("Explain: %v", err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		// A line is too wide only where one word or one table cell is.
		if utf8.RuneCountInString(line) > pageWidth && len(strings.Fields(line)) > 6 {
			t.Errorf("too wide: %q", line)
		}
	}
}

// originals are the texts that the laws and the fuzz target start from.
func originals(t testing.TB) [][]byte {
	t.Helper()
	var out [][]byte
	for _, pattern := range []string{fleet + "/*.yaml", "testdata/good/*.yaml", "testdata/bad/*.yaml"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("no files %s: %v", pattern, err)
		}
		for _, path := range files {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, text)
		}
	}
	return out
}

func FuzzParse(f *testing.F) {
	for _, text := range originals(f) {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 1<<16 {
			return // the bound on size has its own test
		}
		lawful(t, text)
	})
}

var numeral = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// edit changes a text as a person at the keyboard might.
func edit(t *rapid.T, lines []string) []string {
	i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
	j := rapid.IntRange(0, len(lines)-1).Draw(t, "other line")
	switch rapid.IntRange(0, 5).Draw(t, "edit") {
	case 0:
		return slices.Delete(lines, i, i+1)
	case 1:
		return slices.Insert(lines, i, lines[j])
	case 2:
		lines[i], lines[j] = lines[j], lines[i]
	case 3: // another number
		lines[i] = numeral.ReplaceAllStringFunc(lines[i], func(string) string {
			return fmt.Sprint(rapid.OneOf(rapid.IntRange(-3, 40), rapid.IntRange(-1e6, 1e9)).Draw(t, "number"))
		})
	case 4: // another word
		if words := strings.Fields(lines[j]); len(words) > 0 {
			w := rapid.SampledFrom(words).Draw(t, "word")
			if own := strings.Fields(lines[i]); len(own) > 0 {
				lines[i] = strings.Replace(lines[i], rapid.SampledFrom(own).Draw(t, "own word"), w, 1)
			}
		}
	default: // a slip of the finger
		if c := []rune(lines[i]); len(c) > 0 {
			k := rapid.IntRange(0, len(c)-1).Draw(t, "at")
			lines[i] = string(c[:k]) + rapid.SampledFrom([]string{"", "x", " ", ":", "[", "}", `"`, "%", "é", "-"}).Draw(t, "typed") + string(c[k+1:])
		}
	}
	return lines
}

// TestEditedProfiles edits the fleet's profiles at random: whatever comes
// out is read or refused by the laws above.
func TestEditedProfiles(t *testing.T) {
	files, err := filepath.Glob(fleet + "/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		text, err := os.ReadFile(rapid.SampledFrom(files).Draw(t, "file"))
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(string(text), "\n")
		for range rapid.IntRange(1, 4).Draw(t, "edits") {
			if len(lines) > 1 {
				lines = edit(t, lines)
			}
		}
		lawful(t, []byte(strings.Join(lines, "\n")))
	})
}

// TestUnitsOfALimit writes one limit in every unit of its kind: the program
// must work with the same value, to the rounding of the text.
func TestUnitsOfALimit(t *testing.T) {
	base, err := os.ReadFile("testdata/good/small.yaml")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(unit.Of(unit.Mass)).Draw(t, "unit")
		kg := float64(rapid.IntRange(1000, 29999).Draw(t, "kg"))
		c, err := unit.Convert(unit.Must("kg"), u)
		if err != nil {
			t.Fatal(err)
		}
		written := fmt.Sprintf("[%.9f %s, 30 t]", c.Apply(kg), u)
		p, err := Parse("x.yaml", bytes.ReplaceAll(base, []byte("[20 t, 30 t]"), []byte(written)))
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Checks[1].Band.Tables[0].X[0]; math.Abs(got-kg) > 1e-5 {
			t.Errorf("%s is read as %v kg, want %v", written, got, kg)
		}
	})
}
