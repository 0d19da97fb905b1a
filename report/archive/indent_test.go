package archive

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawJSON draws a value of any shape, with what strings can hold.
func drawJSON(depth int) *rapid.Generator[any] {
	leaf := rapid.OneOf(
		rapid.Just[any](nil), rapid.Map(rapid.Bool(), func(b bool) any { return b }),
		rapid.Map(rapid.Float64(), func(f float64) any { return f }),
		rapid.Map(rapid.StringOf(rapid.RuneFrom([]rune("ab \"\\{}[],:\n\t<ä"))), func(s string) any { return s }),
	)
	if depth == 0 {
		return leaf
	}
	return rapid.OneOf(
		leaf,
		rapid.Map(rapid.SliceOfN(drawJSON(depth-1), 0, 4), func(l []any) any { return l }),
		rapid.Map(rapid.MapOfN(rapid.String(), drawJSON(depth-1), 0, 4), func(m map[string]any) any { return m }),
	)
}

// TestIndentIsThatOfTheLibrary: to the byte, and what was indented is read as
// the same with and without its indentation.
func TestIndentIsThatOfTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := drawJSON(4).Draw(t, "value")
		var want, got bytes.Buffer
		enc := json.NewEncoder(&want)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(v); err != nil {
			t.Fatal(err)
		}
		if err := writeJSON(&got, v); err != nil {
			t.Fatal(err)
		}
		if got.String() != want.String() {
			t.Fatalf("written\n%s\nthe library writes\n%s", got.String(), want.String())
		}
		var whole, dedented bytes.Buffer
		if err := json.Compact(&whole, want.Bytes()); err != nil {
			t.Fatal(err)
		}
		if err := json.Compact(&dedented, dedent(bytes.Clone(want.Bytes()))); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(whole.Bytes(), dedented.Bytes()) {
			t.Fatalf("without indentation it is %s, not %s", dedented.String(), whole.String())
		}
	})
}

// A line that breaks inside of a string is damage, with or without spaces.
func TestDedentKeepsDamage(t *testing.T) {
	for _, text := range []string{"{\"file\": \"a,\n  b\"}", "{\"file\": \"a\nb\"}"} {
		var into struct {
			File string `json:"file"`
		}
		if err := decodeStrict([]byte(text), &into); err == nil || !strings.Contains(err.Error(), "in string literal") {
			t.Errorf("%q was read as %+v, error %v", text, into, err)
		}
	}
}
