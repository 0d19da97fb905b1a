package trend

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Spread is how ordinary takeoffs lie: percentiles of a margin or another
// measure. N is on how many takeoffs it was measured; all NaN with none.
type Spread struct {
	N                       int
	P05, P25, P50, P75, P95 float64
}

// digest tallies values in cells whose width is 1 % of the value, so that memory
// goes with the range of the values and not with their number, and the order
// in which they come is of no account. Its percentiles are right to half a
// cell; between cells they move smoothly, as counts do.
type digest map[int]int

const (
	// digestFloor is the smallest magnitude told from 0, in the unit of the value.
	digestFloor = 1e-3
	digestRatio = 1.01
)

func (d digest) add(value float64) {
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return // not measured; never a margin of zero
	}
	cell := int(math.Round(math.Log(math.Max(1, math.Abs(value)/digestFloor)) / math.Log(digestRatio)))
	if value < 0 {
		cell = -cell
	}
	// Counts are whole numbers, so their sum is the same in every order; a
	// running sum of values would not be.
	d[cell]++
}

func cellValue(cell int) float64 {
	if cell == 0 {
		return 0
	}
	return math.Copysign(digestFloor*math.Pow(digestRatio, math.Abs(float64(cell))), float64(cell))
}

// spread reads the percentiles off.
func (d digest) spread() Spread {
	cells := slices.Sorted(maps.Keys(d))
	values, counts := make([]float64, len(cells)), make([]float64, len(cells))
	out := Spread{}
	for i, cell := range cells {
		values[i], counts[i] = cellValue(cell), float64(d[cell])
		out.N += d[cell]
	}
	at := func(p float64) float64 {
		if out.N == 0 {
			return math.NaN()
		}
		return stat.Quantile(p, stat.LinInterp, values, counts)
	}
	out.P05, out.P25, out.P50, out.P75, out.P95 = at(0.05), at(0.25), at(0.5), at(0.75), at(0.95)
	return out
}
