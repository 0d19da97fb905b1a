package spelling

import (
	"testing"

	"pgregory.net/rapid"
)

func TestDidYouMean(t *testing.T) {
	few := []string{"tail", "title", "types"}
	for _, c := range []struct {
		wrong string
		known []string
		want  string
	}{
		{"tial", few, `did you mean "tail"?`},
		{"TAIL", few, `did you mean "tail"?`},
		{"engines", few, "known here: tail, title, types"},
		{"engines", nil, ""},
		{"zzzzzz", make([]string, 15), ""},
	} {
		if got := DidYouMean(c.wrong, c.known); got != c.want {
			t.Errorf("DidYouMean(%q, %q) = %q, want %q", c.wrong, c.known, got, c.want)
		}
	}
}

// TestDistance holds the laws of a distance and some known values.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"flap_levr", "flap_lever", 1}, {"tial", "tail", 1}, {"abc", "xyz", 3}} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
	word := rapid.StringMatching(`[a-d_]{0,12}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := distance(a, b)
		if d != distance(b, a) || (d == 0) != (a == b) || d > max(len(a), len(b)) || d < max(len(a), len(b))-min(len(a), len(b)) {
			t.Errorf("distance(%q, %q) = %d, back %d", a, b, d, distance(b, a))
		}
	})
}
