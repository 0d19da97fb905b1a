package chart

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestRuleLabelsNeverMeet: whatever the instants, no label covers another
// label or the line of another rule, and none leaves the picture.
func TestRuleLabelsNeverMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Spec{From: -10, To: 60}
		for range rapid.IntRange(0, 12).Draw(t, "rules") {
			at := rapid.Float64Range(-12, 62).Draw(t, "at")
			s.Rules = append(s.Rules, Rule{At: at, Earliest: at, Latest: at, Label: strings.Repeat("x", rapid.IntRange(1, 24).Draw(t, "length"))})
		}
		d := newDrawing(s)
		for i, a := range d.placed {
			from, to := a.x+3, a.x+3+textWidth(a.Label)
			if from < d.time.Lo || to > d.width {
				t.Fatalf("label %q from %v to %v leaves the picture of %v", a.Label, from, to, d.width)
			}
			for _, b := range d.placed[i+1:] {
				if b.lane == a.lane && b.x+3 < to {
					t.Fatalf("labels at %v and %v meet on lane %d", a.At, b.At, a.lane)
				}
				if b.lane > a.lane && b.x > from && b.x < to {
					t.Fatalf("the line at %v crosses the label at %v", b.At, a.At)
				}
			}
		}
	})
}

// TestSpreadLaw: labels keep their distance, or share the room evenly, stay
// inside, and keep their order.
func TestSpreadLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wish := rapid.SliceOfN(rapid.Float64Range(-50, 150), 0, 9).Draw(t, "wish")
		out := spread(wish, 0, 100, 12)
		for i := range out {
			if out[i] < -1e-9 || out[i] > 100+1e-9 {
				t.Fatalf("%v outside", out[i])
			}
			for j := range out {
				if wish[i] < wish[j] && out[i] > out[j] {
					t.Fatalf("order of %v and %v lost", wish[i], wish[j])
				}
			}
		}
		least := 12.0
		if n := len(out); n > 1 {
			least = min(least, 100/float64(n-1))
		}
		slices.Sort(out)
		for i := 1; i < len(out); i++ {
			if out[i]-out[i-1] < least-1e-9 {
				t.Fatalf("%v and %v are nearer than %v", out[i-1], out[i], least)
			}
		}
	})
}

// TestPen: relative steps in tenths of a pixel, rest joined, pen lifted.
func TestPen(t *testing.T) {
	for name, c := range map[string]struct {
		points [][2]float64
		want   string
	}{
		"rest":  {[][2]float64{{1, 5}, {2, 5}, {3, 5.02}}, "M1 5h0h2"},
		"slope": {[][2]float64{{0, 0}, {0.5, -0.3}, {1.5, 2}}, "M0 0h0l.5-.3l1 2.3"},
		"one":   {[][2]float64{{-0.04, 7.25}}, "M0 7.3h0"},
	} {
		p := pen{}
		for _, q := range c.points {
			p.to(q[0], q[1])
		}
		if got := p.end(); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestPixelsAreNeverMinusZero(t *testing.T) {
	for v, want := range map[float64]string{-0.01: "0", 0: "0", 12.04: "12", -3.25: "-3.3", 99.95: "100"} {
		if got := px(v); got != want {
			t.Errorf("px(%v) = %q, want %q", v, got, want)
		}
	}
}
