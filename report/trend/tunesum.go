package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A sum whose reference rate is estimated signals falsely more often than
// its run length says whenever the estimate came out low, and twelve events
// leave it uncertain by a third. Tuner finds signals that allow for that.

// Tuner finds the signal of sums of one Factor. It remembers run lengths, for
// a page asks for hundreds of sums that differ in little but their exposure.
// It is not for use by several goroutines.
type Tuner struct {
	Factor float64 // greater than 1
	known  map[[2]int]float64
}

// NewTuner is a Tuner for rates grown factor times.
func NewTuner(factor float64) *Tuner { return &Tuner{factor, map[[2]int]float64{}} }

const (
	// maxSignal bounds the search, in events: a sum that would need more is
	// of no use to anybody.
	maxSignal = 20
	// ratioStep is the grid, in the logarithm, to which true over estimated
	// rate is rounded up; ratioFloor the least that is looked at.
	ratioStep  = 0.02
	ratioFloor = -50 // exp(-1)
)

// FalseChance is the probability that c signals within the exposure that
// brings expected events at the reference rate, when nothing has changed.
// The true over the reference rate is gamma with mean 1 and the given shape,
// about the number of events that the reference rests on; +Inf for a rate
// that is known. Run lengths are taken as exponential, which they nearly are.
func (t *Tuner) FalseChance(c EventSum, expected, shape float64) float64 {
	return t.falseChance(c, expected, ratios(shape))
}

// weighted is a ratio of true over estimated rate with its probability.
type weighted struct {
	ratio, probability float64
}

// ratios stand for the gamma distribution: slices of probability 1/2, 1/4,
// 1/8, … towards the side where the estimate was too low, for there the false
// signals are, each in four parts that are taken at their upper edge. What is
// left, 1 in 65,536, is taken as a signal for certain: a ratio of +Inf.
func ratios(shape float64) []weighted {
	if math.IsInf(shape, 1) {
		return []weighted{{1, 1}}
	}
	const halvings, parts = 16, 4
	g := distuv.Gamma{Alpha: shape, Beta: shape}
	var out []weighted
	left := 1.0
	for range halvings {
		for part := 1; part <= parts; part++ {
			above := left * (1 - float64(part)/(2*parts))
			out = append(out, weighted{g.Quantile(1 - above), left / (2 * parts)})
		}
		left /= 2
	}
	return append(out, weighted{math.Inf(1), left})
}

func (t *Tuner) falseChance(c EventSum, expected float64, nodes []weighted) float64 {
	sum := 0.0
	for _, node := range nodes {
		signals := 1.0
		if !math.IsInf(node.ratio, 1) {
			signals = -math.Expm1(-expected / t.runLength(c, node.ratio))
		}
		sum += node.probability * signals
	}
	return sum
}

// runLength is that of c, for ratio rounded up to the grid.
func (t *Tuner) runLength(c EventSum, ratio float64) float64 {
	step := max(ratioFloor, int(math.Ceil(math.Log(ratio)/ratioStep)))
	key := [2]int{c.Cells, step}
	length, ok := t.known[key]
	if !ok {
		length = c.RunLength(math.Exp(float64(step) * ratioStep))
		t.known[key] = length
	}
	return length
}

// Tune is the sum with the lowest signal whose FalseChance is at most chance.
// ok is false when there is none up to a signal of maxSignal events: then the
// reference rests on too few events to be watched for such a growth.
func (t *Tuner) Tune(expected, chance, shape float64) (c EventSum, ok bool) {
	nodes := ratios(shape)
	tight := func(cells int) bool {
		return t.falseChance(EventSum{t.Factor, cells}, expected, nodes) <= chance
	}
	const most = maxSignal * sumCells
	if !tight(most) {
		return EventSum{}, false
	}
	low, high := 0, most
	for high-low > 1 {
		if middle := (low + high) / 2; tight(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return EventSum{t.Factor, high}, true
}
