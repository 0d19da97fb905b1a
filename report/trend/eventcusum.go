package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// EventSum is a one-sided cumulative sum for events, tuned to find a rate
// that has grown Factor times (2: doubled). It is the log likelihood ratio of
// the grown against the reference rate, held at 0 from below: an event adds
// log Factor, exposure takes away what it would have brought. Counted in
// units of log Factor, an event adds 1. It is Poisson; for events on one
// takeoff in a hundred or fewer the Bernoulli sum of single takeoffs is the
// same to the second digit.
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
// length of each cell hangs on the cell below by a line: a = time + reach*b,
// solved from the top in one pass. (The dense system of gonum's mat gives the
// same, and a test says so; it costs a thousand times as much.)
func (c EventSum) RunLength(ratio float64) float64 {
	step := 1 / (sumCells * c.drift()) // exposure that takes one cell
	chance := jumps(ratio * step)
	time, reach := make([]float64, c.Cells), make([]float64, c.Cells)
	for s := c.Cells - 1; s >= 0; s-- {
		// From s: one step, then at s-1 plus a whole number of events; from 0
		// there is no step down.
		sum, again := 1.0, 0.0
		for k := 1; k < len(chance); k++ {
			upTime, upReach, known := descend(time, reach, s, max(s-1, 0)+k*sumCells, c.Cells)
			if !known {
				continue // at or beyond the signal: the run is over
			}
			sum += chance[k] * upTime
			again += chance[k] * upReach
		}
		if s == 0 {
			return step * sum / (1 - chance[0] - again)
		}
		time[s], reach[s] = sum/(1-again), chance[0]/(1-again)
	}
	return 0 // no cells: signals at once
}

// descend is the mean time from a higher cell down to s, and the probability
// of coming there before the signal; not known for cells beyond it.
func descend(time, reach []float64, s, from, cells int) (t, p float64, known bool) {
	if from >= cells {
		return 0, 0, false
	}
	p = 1
	for cell := from; cell > s; cell-- {
		t += p * time[cell]
		p *= reach[cell]
	}
	return t, p, true
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
