package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// EventSum is a one-sided cumulative sum for events, tuned to find a rate
// that has grown Factor times (2: doubled). It is the log likelihood ratio of
// the grown against the reference rate, held at 0 from below: an event adds
// log Factor, exposure takes away what it would have brought. Counted in
// units of log Factor, an event adds 1.
//
// It takes events as Poisson. Against simulated single takeoffs (Bernoulli)
// the run lengths without change are stated too short by 2 to 3 % at one
// event in 500 takeoffs or rarer, by 10 % at one in 50, by 25 % at one in 20:
// always on the careful side, with fewer false signals than stated.
type EventSum struct {
	Factor float64 // greater than 1
	// Cells is the signal in steps of 1/sumCells of an event: the sum signals
	// when it comes to Signal() or beyond.
	Cells int
}

// sumCells is how finely the sum is cut for its run length: 1/16 of an event.
const sumCells = 16

// Signal is the value of the sum at which it signals, in events.
func (c EventSum) Signal() float64 { return float64(c.Cells) / sumCells }

// drift is what one expected event of exposure takes from the sum.
func (c EventSum) drift() float64 { return (c.Factor - 1) / math.Log(c.Factor) }

// Next is the sum after a stretch that brought events where expected were to
// be expected at the reference rate. When within the stretch the events came
// is not known, so the sum is held at 0 only at its end. It therefore never
// exceeds the sum of single takeoffs, and false signals are at most as
// frequent as RunLength says; for days the difference is nothing, for months
// detection is somewhat slower.
func (c EventSum) Next(sum float64, events int, expected float64) float64 {
	return math.Max(0, sum+float64(events)-expected*c.drift())
}

// RunLength is the mean number of events, expected at the reference rate,
// from a sum of 0 to the signal, when the true rate is ratio times the
// reference: the average run length, in exposure, at ratio 1 and the mean
// time to detection at ratio Factor. Divide by the reference rate for
// takeoffs.
//
// The sum walks down one cell at a time and up by whole events, so the run
// length of each cell hangs on that of the cell below by a line: time + reach
// times the other, solved from the top in one pass. (The dense system of
// gonum's mat gives the same, and a test says so; it costs a thousand times
// as much, and a page asks for thousands.)
func (c EventSum) RunLength(ratio float64) float64 {
	step := 1 / (sumCells * c.drift()) // exposure that takes one cell
	chance := jumps(ratio * step)
	// down is the walk from a cell to the next lower one, block that from a
	// cell down by a whole event.
	down, block := make([]walk, c.Cells), make([]walk, c.Cells)
	for s := c.Cells - 1; s >= 0; s-- {
		// From s: one step, then at s-1 plus a whole number of events, from
		// where the walk comes back to s or signals. From 0 there is no step down.
		sum, again := 1.0, 0.0
		var back walk
		for k, from := 1, max(s-1, 0)+sumCells; k < len(chance) && from < c.Cells; k, from = k+1, from+sumCells {
			if k == 1 {
				back = chain(down, from, s+1)
			} else {
				back = block[from].then(back)
			}
			sum += chance[k] * back.time
			again += chance[k] * back.reach
		}
		if s == 0 {
			return step * sum / (1 - chance[0] - again)
		}
		down[s] = walk{sum / (1 - again), chance[0] / (1 - again)}
		if top := s + sumCells - 1; top < c.Cells {
			block[top] = chain(down, top, s)
		}
	}
	return 0 // no cells: signals at once
}

// walk is a way down: its mean number of steps until it arrives or signals,
// and the probability that it arrives.
type walk struct {
	time, reach float64
}

func (w walk) then(next walk) walk {
	return walk{w.time + w.reach*next.time, w.reach * next.reach}
}

// chain joins the walks of the cells from the upper to the lower one.
func chain(down []walk, upper, lower int) walk {
	w := walk{reach: 1}
	for cell := upper; cell >= lower; cell-- {
		w = w.then(down[cell])
	}
	return w
}

// jumps are the probabilities of 0, 1, 2, … events in one step, as far as
// they matter: what is left out is less than 1e-12 of the whole.
func jumps(mean float64) []float64 {
	p := distuv.Poisson{Lambda: mean}
	out := []float64{p.Prob(0)}
	for k := 1; poissonAtLeast(k, mean) > 1e-12; k++ {
		out = append(out, p.Prob(float64(k)))
	}
	return out
}
