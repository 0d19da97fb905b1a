package synth

import "math/rand/v2"

// random is the source of chance of one flight. The generator and the way
// numbers are drawn from it are fixed by the language and by this file, so
// the same seed gives the same flight everywhere.
type random struct{ r *rand.Rand }

// newRandom is the source of flight index under a seed.
func newRandom(seed, index uint64) random {
	return random{rand.New(rand.NewPCG(seed, index))}
}

// between is a number in [low, high).
func (r random) between(low, high float64) float64 {
	return low + float64((high-low)*r.r.Float64())
}

// pick is an index below n.
func (r random) pick(n int) int { return r.r.IntN(n) }

// chance is true with probability p.
func (r random) chance(p float64) bool { return r.r.Float64() < p }

// noise is a number around zero with standard deviation 1 that is never
// beyond 3.5: the sum of twelve uniform numbers, without any function whose
// last bit could differ between processors.
func (r random) noise() float64 {
	sum := -6.0
	for range 12 {
		sum += r.r.Float64() // a whole number scaled by 2^-53: exact, fused or not
	}
	return min(max(sum, -3.5), 3.5)
}
