package chart_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollonset/report/chart"
)

// monthExample has what a month picture can have: limits, an infinite one, a
// gap, a ring, a shade, a dated line, an area, a level.
func monthExample() chart.MonthSpec {
	nan, inf := math.NaN(), math.Inf(1)
	return chart.MonthSpec{
		ID: "m", Title: "Flaps <by> month", Description: "five months", First: 12*2031 + 10, Count: 5,
		Shades: []chart.MonthShade{{0, 1, "baseline"}}, Rules: []chart.MonthRule{{2.5, "A"}, {2.6, "B"}},
		Panels: []chart.MonthPanel{
			{Title: "Rate", Low: 0, High: nan, Lines: []chart.MonthLine{
				{Label: "limit", Role: chart.LimitLine, Values: []float64{6, 6.5, nan, 6, 1e6}},
				{Label: "alert", Role: chart.AlertLine, Values: []float64{inf, inf, 7, 7, 7}},
				{Label: "month", Role: chart.MainLine, Values: []float64{1, 2, nan, 8, 3}, Rings: []bool{false, false, false, true, false}},
			}},
			{
				Title: "Margin", Low: nan, High: nan, Height: 60, Levels: []chart.Level{{V: 0, Label: "the limit"}},
				Areas: []chart.MonthArea{{Low: []float64{1, 1, nan, 2, 2}, High: []float64{3, 3, nan, 4, 4}, Label: "90 %"}},
				Lines: []chart.MonthLine{{Label: "median", Role: chart.MainLine, Values: []float64{2, 2, nan, 3, 3}}},
			},
			{Title: "Nothing", Low: nan, High: nan, Empty: "nothing was told", Lines: []chart.MonthLine{{Role: chart.MainLine, Values: []float64{nan, nan, nan, nan, nan}}}},
		},
	}
}

func drawn(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", name, diff)
	}
}

func TestTrendPicturesGolden(t *testing.T) {
	drawn(t, "months.svg", string(chart.Months(monthExample())))
	drawn(t, "intervals.svg", string(chart.Intervals(chart.IntervalSpec{
		ID: "i", Title: "Bases", Description: "two bases", Unit: "per 1,000", Levels: []chart.Level{{V: 4, Label: "all"}},
		Rows: []chart.IntervalRow{{Label: "ZZA", Value: 5, Low: 3, High: 8, Seen: 5.5, Strong: true}, {Label: "ZZB & C", Value: 3, Low: 2, High: math.Inf(1), Seen: math.NaN()}, {Label: "ZZC (1/3)", Value: 4.1, Low: 2, High: 7, Seen: 333}},
	})))
	drawn(t, "needles.svg", string(chart.Needles(chart.NeedleSpec{ID: "n", Title: "Gaps", Description: "three gaps", Name: "Takeoffs", Order: "in order", Values: []float64{100, 0, 250}, Levels: []chart.Level{{V: 900, Label: "exact limit"}, {V: 117, Label: "mean"}}})))
}

// TestMonthsDrawAnything: no figure, however odd, gives a coordinate that is
// none or one outside of the picture, and the same gives the same bytes.
func TestMonthsDrawAnything(t *testing.T) {
	number := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1)}))
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "months")
		list := func(name string) []float64 { return rapid.SliceOfN(number, n, n).Draw(t, name) }
		s := chart.MonthSpec{ID: "m", First: rapid.IntRange(24000, 25000).Draw(t, "first"), Count: n, Panels: []chart.MonthPanel{{
			Low: number.Draw(t, "low"), High: number.Draw(t, "high"), Areas: []chart.MonthArea{{Low: list("a"), High: list("b"), Label: "x"}},
			Lines: []chart.MonthLine{{Role: chart.MainLine, Values: list("main"), Rings: make([]bool, n)}, {Role: chart.LimitLine, Values: list("limit")}},
		}}}
		got := string(chart.Months(s))
		for _, bad := range []string{"NaN", "Inf", `"-0"`} {
			if strings.Contains(got, bad) {
				t.Fatalf("the picture holds %s:\n%s", bad, got)
			}
		}
		if got != string(chart.Months(s)) {
			t.Fatal("the same spec gave two pictures")
		}
	})
}

func TestNoMonthsNoRows(t *testing.T) {
	for _, got := range []chart.SVG{chart.Months(chart.MonthSpec{ID: "m"}), chart.Intervals(chart.IntervalSpec{ID: "i"}), chart.Needles(chart.NeedleSpec{ID: "n"})} {
		if !strings.HasPrefix(string(got), "<svg") || !strings.HasSuffix(string(got), "</svg>") || strings.Contains(string(got), "NaN") {
			t.Errorf("an empty picture is %s", got)
		}
	}
}

// TestNoAxisBelowZero: a rate that was 0 in every month has no axis below it.
func TestNoAxisBelowZero(t *testing.T) {
	s := chart.MonthSpec{ID: "m", First: 24000, Count: 3, Panels: []chart.MonthPanel{{Low: 0, High: math.NaN(), Lines: []chart.MonthLine{{Role: chart.MainLine, Values: []float64{0, 0, 0}}}}}}
	if got := string(chart.Months(s)); strings.Contains(got, ">−0") || strings.Contains(got, ">-0") {
		t.Errorf("a tick lies below 0:\n%s", got)
	}
}
