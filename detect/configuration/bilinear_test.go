package configuration

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// TestBilinearPublished is the example of the encyclopaedia article "Bilinear
// interpolation": 91, 210, 162, 95 at the corners (20|21, 14|15). Read.
func TestBilinearPublished(t *testing.T) {
	z := [][]float64{{91, 210}, {162, 95}} // a row for each x
	for _, c := range []struct{ x, y, want float64 }{{20, 14.5, 150.5}, {21, 14.5, 128.5}, {20.2, 14.5, 146.1}} {
		if got := bilinear([]float64{20, 21}, []float64{14, 15}, z, c.x, c.y); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("(%g, %g): %g, published %g", c.x, c.y, got, c.want)
		}
	}
}

// The uneven grid of the check values, a row for each x. Computed with gonum
// interp.PiecewiseLinear along x, then along y.
var (
	gridX = []float64{0, 10, 20, 40}
	gridY = []float64{0, 5, 15}
	gridZ = [][]float64{{1, 1.5, 2}, {2, 3, 4.5}, {4, 5, 7}, {8, 10, 15}}
)

func TestBilinearGrid(t *testing.T) {
	for _, c := range []struct{ y, x, want float64 }{
		{0, 0, 1},
		{5, 10, 3},
		{2.5, 5, 1.875},
		{7.5, 15, 4.4375},
		{10, 30, 9.25},
		{15, 40, 15},
		{3, 33, 7.59},
		{-1, 5, 1.5},
		{16, 45, 15}, // outside: the nearest edge
	} {
		if got := bilinear(gridX, gridY, gridZ, c.x, c.y); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("x %g, y %g: %g, want %g", c.x, c.y, got, c.want)
		}
	}
}

// TestOutsideTheTableIsSaid: clamping is allowed only where it is told.
func TestOutsideTheTableIsSaid(t *testing.T) {
	over := []flightdata.Parameter{flightdata.GrossWeight, flightdata.CenterOfGravity}
	tables := []profile.Table{{X: gridX, Y: gridY}}
	for _, c := range []struct {
		x, y axisSpan
		want string
	}{
		{axisSpan{5, true}, axisSpan{5, true}, ""},
		{axisSpan{0, true}, axisSpan{15, true}, ""}, // on the edge is inside
		{axisSpan{-0.5, true}, axisSpan{5, true}, "gross_weight -0.5 lies outside the table (0 to 40)"},
		{axisSpan{45, true}, axisSpan{5, true}, "gross_weight 45 lies outside the table (0 to 40)"},
		{axisSpan{5, true}, axisSpan{16, true}, "center_of_gravity 16 lies outside the table (0 to 15)"},
		{axisSpan{}, axisSpan{5, true}, ""}, // not known is told elsewhere
	} {
		got := clamped(over, []axisSpan{c.x, c.y}, tables)
		if c.want == "" && got != "" || !strings.HasPrefix(got, c.want) {
			t.Errorf("%v, %v: %q, want %q", c.x, c.y, got, c.want)
		}
	}
	both := clamped(over, []axisSpan{{45, true}, {16, true}}, tables)
	for _, p := range over {
		if !strings.Contains(both, string(p)) {
			t.Errorf("both axes outside, and %s is not said: %q", p, both)
		}
	}
}

// TestBilinearLaws: between the nodes of its cell the value lies between the
// corners, and a plane is reproduced.
func TestBilinearLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-10, 60).Draw(t, "x")
		y := rapid.Float64Range(-10, 30).Draw(t, "y")
		got := bilinear(gridX, gridY, gridZ, x, y)
		if got < 1 || got > 15 {
			t.Fatalf("(%g, %g): %g outside every corner", x, y, got)
		}
		plane := make([][]float64, len(gridX))
		for i := range plane {
			for j := range gridY {
				plane[i] = append(plane[i], 3*gridX[i]-2*gridY[j]+1)
			}
		}
		cx, cy := min(max(x, 0), 40), min(max(y, 0), 15)
		if got, want := bilinear(gridX, gridY, plane, x, y), 3*cx-2*cy+1; math.Abs(got-want) > 1e-9 {
			t.Fatalf("plane at (%g, %g): %g, want %g", x, y, got, want)
		}
	})
}

// TestOneAxis: a table over one axis has its values as lists of one.
func TestOneAxis(t *testing.T) {
	z := [][]float64{{2}, {3}, {5}}
	for _, c := range []struct{ x, want float64 }{{0, 2}, {5, 2.5}, {10, 3}, {15, 4}, {20, 5}, {99, 5}} {
		if got := bilinear([]float64{0, 10, 20}, nil, z, c.x, 0); got != c.want {
			t.Errorf("%g: %g, want %g", c.x, got, c.want)
		}
	}
}

func TestNum(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.0001: "0", 1.5: "1.5", 100: "100", 0.1234: "0.123", -2: "-2"} {
		if got := num(v); got != want {
			t.Errorf("num(%g) = %q, want %q", v, got, want)
		}
	}
}
