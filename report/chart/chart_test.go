package chart_test

import (
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollonset/report/chart"
)

var update = flag.Bool("update", false, "write the golden files anew")

// ramp is a line that rises by slope per second, a sample every step seconds.
func ramp(from, to, step, start, slope float64) []chart.Point {
	var out []chart.Point
	for i := 0; from+float64(i)*step <= to; i++ {
		t := from + float64(i)*step
		out = append(out, chart.Point{T: t, V: start + slope*max(t, 0)})
	}
	return out
}

func specs() map[string]chart.Spec {
	gappy := ramp(-4, 8, 1, 0, 3)
	gappy[6].Masked, gappy[6].V = true, 900 // far outside: drawn at the edge
	gappy[9].Break = true
	return map[string]chart.Spec{
		"empty": {ID: "c0", Title: "Nothing recorded", From: -1, To: 1},
		"lines": {
			ID: "c1", Title: "Speeds", Description: "Ground speed and airspeed", From: -4, To: 8,
			Strips: []chart.Strip{
				{Title: "Speed", Unit: "kt", MinSpan: 10, Lines: []chart.Line{
					{Label: "ground", Points: gappy},
					{Label: "air", Points: ramp(-4, 8, 0.5, 1, 3.2)},
				}},
				{Title: "Trim", Unit: "units", Empty: "not recorded"},
			},
		},
		"levels-and-bars": {
			ID: "c2", Title: "Flaps & brakes <set>", Description: `lever at "0"`, From: -4, To: 8,
			Strips: []chart.Strip{
				{
					Title: "Flaps", Unit: "deg", Lines: []chart.Line{{Label: "lever", Points: ramp(-4, 8, 1, 0, 0)}},
					Levels: []chart.Level{{V: 10, Label: "setting 10"}, {V: 20, Label: "setting 20"}},
					Bands:  []chart.BandArea{{Low: math.Inf(-1), High: 2, Label: "retracted"}},
				},
				{Bars: []chart.Bar{
					{Label: "parking brake", Spans: []chart.BarSpan{{From: -9, To: 1, State: "set"}, {From: 1, To: 9, Quiet: true}}},
					{Label: "warning", Spans: []chart.BarSpan{{From: 0, To: 2, Masked: true}, {From: 2, To: 2.1, State: "on"}}},
				}},
			},
		},
		"rules": {
			ID: "c3", Title: "Rules", From: -4, To: 8,
			Strips: []chart.Strip{{Title: "Speed", Unit: "kt", Lines: []chart.Line{{Label: "ground", Points: ramp(-4, 8, 1, 0, 3)}}}},
			Rules: []chart.Rule{
				{At: -1, Earliest: -1.5, Latest: -0.5, Label: "thrust advance"},
				{At: 0, Earliest: -0.5, Latest: 0.5, Label: "onset", Strong: true},
				{At: 0.2, Earliest: 0.2, Latest: 0.2, Label: "warning on"},
				{At: 7.9, Earliest: 7.5, Latest: 8.5, Label: "the aircraft stands still"},
				{At: 99, Earliest: 99, Latest: 99, Label: "outside"},
			},
		},
	}
}

// TestStripsGolden holds the pictures against files that a person has looked
// at in a browser.
func TestStripsGolden(t *testing.T) {
	for name, spec := range specs() {
		t.Run(name, func(t *testing.T) {
			got := string(chart.Strips(spec))
			if again := string(chart.Strips(spec)); again != got {
				t.Fatal("the same spec gave two different pictures")
			}
			file := filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatalf("%v; run the test with -update and look at the picture", err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Errorf("picture differs (-want +got):\n%s", diff)
			}
		})
	}
}

// TestNothingBridged: a masked sample and a gap both lift the pen, and the
// masked value stands as a hollow dot at the edge.
func TestNothingBridged(t *testing.T) {
	svg := string(chart.Strips(specs()["lines"]))
	_, path, _ := strings.Cut(svg, `class="line l0" d="`)
	path, _, _ = strings.Cut(path, `"`)
	if n := strings.Count(path, "M"); n != 3 {
		t.Errorf("strokes = %d, want 3 (before the masked sample, up to the gap, after it): %s", n, path)
	}
	if n := strings.Count(svg, "<circle"); n != 1 {
		t.Errorf("hollow dots = %d, want 1", n)
	}
	if !strings.Contains(svg, "not recorded") {
		t.Error("a strip without samples must say so")
	}
}

func TestDataIsEscaped(t *testing.T) {
	svg := string(chart.Strips(chart.Spec{
		ID: "x", Title: "</svg><script>", Description: "<b>", From: 0, To: 1,
		Strips: []chart.Strip{{Title: "<i>", Unit: "&", Lines: []chart.Line{{Label: "<u>", Points: []chart.Point{{T: 0, V: 1}}}}}},
		Rules:  []chart.Rule{{At: 0.5, Earliest: 0.5, Latest: 0.5, Label: "<s>"}},
	}))
	for _, bad := range []string{"<script", "<b>", "<i>", "<u>", "<s>"} {
		if strings.Contains(svg, bad) {
			t.Errorf("%s went through unescaped", bad)
		}
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		most     int
		want     string
	}{
		{-4, 8, 5, "0 5"},
		{0.98, 1.44, 3, "1.0 1.2 1.4"},
		{5, 46, 4, "10 20 30 40"},
		{-1, 1, 5, "−1.0 −0.5 0.0 0.5 1.0"},
		{0, 0.003, 4, "0.000 0.001 0.002 0.003"},
		{980, 1020, 5, "980 990 1000 1010 1020"},
		{0.97, 1.45, 4, "1.0 1.2 1.4"},
		{5, 5, 4, ""},
		{6, 5, 4, ""},
		{math.NaN(), 5, 4, ""},
		{0, math.Inf(1), 4, ""},
	} {
		var labels []string
		for _, tick := range chart.Ticks(c.from, c.to, c.most) {
			labels = append(labels, tick.Label)
		}
		if got := strings.Join(labels, " "); got != c.want {
			t.Errorf("Ticks(%v, %v, %d) = %q, want %q", c.from, c.to, c.most, got, c.want)
		}
	}
}

// TestTickLaws: inside the range, rising, no more than asked for, never "-0",
// labels distinct and true to their value.
func TestTickLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(-1e5, 1e5).Draw(t, "from")
		span := rapid.Float64Range(1e-3, 1e5).Draw(t, "span")
		most := rapid.IntRange(2, 14).Draw(t, "most")
		to := from + span
		ticks := chart.Ticks(from, to, most)
		if len(ticks) > most {
			t.Fatalf("%d ticks, asked for at most %d", len(ticks), most)
		}
		seen := map[string]bool{}
		for i, tick := range ticks {
			if tick.Value < from || tick.Value > to {
				t.Fatalf("%v outside [%v, %v]", tick.Value, from, to)
			}
			if i > 0 && tick.Value <= ticks[i-1].Value {
				t.Fatalf("%v after %v", tick.Value, ticks[i-1].Value)
			}
			if seen[tick.Label] {
				t.Fatalf("label %s twice", tick.Label)
			}
			seen[tick.Label] = true
			back, err := strconv.ParseFloat(strings.Replace(tick.Label, chart.Minus, "-", 1), 64)
			if err != nil || math.Abs(back-tick.Value) > 1e-9*max(1, math.Abs(tick.Value)) {
				t.Fatalf("label %q of %v", tick.Label, tick.Value)
			}
			if back == 0 && strings.Contains(tick.Label, chart.Minus) {
				t.Fatalf("negative zero %q", tick.Label)
			}
		}
		if most >= 3 && len(ticks) < 2 {
			t.Fatalf("only %d ticks on [%v, %v]", len(ticks), from, to)
		}
	})
}

// TestAxisLaw: pixel and value are inverse to each other.
func TestAxisLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := chart.Axis{
			From: rapid.Float64Range(-1e4, 0).Draw(t, "from"), To: rapid.Float64Range(1, 1e4).Draw(t, "to"),
			Lo: rapid.Float64Range(0, 200).Draw(t, "lo"), Hi: rapid.Float64Range(300, 900).Draw(t, "hi"),
		}
		v := rapid.Float64Range(a.From, a.To).Draw(t, "v")
		if back := a.Value(a.Pixel(v)); math.Abs(back-v) > 1e-6 {
			t.Fatalf("%v came back as %v", v, back)
		}
	})
	flat := chart.Axis{From: 2, To: 2, Lo: 7, Hi: 7}
	if flat.Pixel(3) != 7 || flat.Value(9) != 2 {
		t.Error("an axis without extent must stay at its ends")
	}
}
