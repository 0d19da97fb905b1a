package sanity

import (
	"math"
	"slices"

	"rollonset/ingest/flightdata"
)

// frame is how long speeds are compared for, s, and the change over that time,
// kt, that makes the comparison count. The long one is for a takeoff roll; the
// shorter ones are for rejects at low speed, and only if the longer say nothing,
// because slopes, biases and gusts weigh more in them.
type frame struct {
	window int
	change float64
}

var (
	longFrame  = frame{12, 25}
	shortFrame = frame{6, 18}
	burst      = frame{3, 12} // braking
)

// idle is the change of speed in a second, kt, below which a window cannot hold
// a telling change, whatever is trimmed.
const idle = 1.0

// knotsPerG is the change of speed in a second at 1 g: 9.80665 m/s, in kt.
const knotsPerG = 9.80665 * 3600 / 1852

// steps is the change of a grid from each second to the next, NaN where one of
// them is missing.
func (s *scene) steps(g []float64) []float64 {
	out := s.grid()
	for c := range out[:max(len(g)-1, 0)] {
		out[c] = g[c+1] - g[c]
	}
	if n := len(g); n > 0 {
		out[n-1] = math.NaN()
	}
	return out
}

// pulls is what an accelerometer says of the change of speed in each second, kt.
func (s *scene) pulls(g []float64) []float64 {
	out := s.grid()
	for c, v := range g {
		out[c] = v * knotsPerG
	}
	return out
}

// mean is the mean change per second over the window that begins at c, without
// the outermost sixth on either side: a spike or a jump must not count. NaN
// when a second is missing.
func (f frame) mean(changes []float64, c int) float64 {
	if c+f.window >= len(changes) {
		return math.NaN()
	}
	v := changes[c : c+f.window]
	sum, calm := 0.0, true
	for _, x := range v {
		if x != x {
			return math.NaN()
		}
		sum += x
		calm = calm && math.Abs(x) < idle
	}
	if calm {
		// Nothing to trim, and too little to tell anything: most of a flight is
		// like this, and sorting it would cost more than all the rest.
		return sum / float64(len(v))
	}
	var sorted [16]float64 // of the longest frame and more
	for n, x := range v {
		for ; n > 0 && sorted[n-1] > x; n-- { // so few numbers are sorted fastest so
			sorted[n] = sorted[n-1]
		}
		sorted[n] = x
	}
	inner := sorted[f.trimmed() : f.window-f.trimmed()]
	sum = 0
	for _, x := range inner {
		sum += x
	}
	return sum / float64(len(inner))
}

// atMost is a bound on the size of the mean over the window that begins at c:
// all changes together, shared among the seconds that are not trimmed, and a
// hundredth more for rounding. It tells without sorting that most windows cannot
// count. NaN when a second is missing.
func (f frame) atMost(changes []float64, c int) float64 {
	sum := 0.0
	for _, x := range changes[c : c+f.window] {
		sum += math.Abs(x)
	}
	return 1.01 * sum / float64(f.window-2*f.trimmed())
}

// trimmed is how many seconds of a window do not count on either side.
func (f frame) trimmed() int { return max(1, f.window/6) }

// change is what a parameter says of one window.
type change struct {
	at    int
	value float64
}

// fastest are the windows in which a changes fastest, in time order: those that
// count beside the fastest of all where b tells something too.
//
// Windows in which nothing happens are passed over by a single look, as long
// as the fastest is so fast that they cannot be among those that count.
func (f frame) fastest(a, b []float64, where *stretches) []change {
	seen, most := f.candidates(a, b, where, idle)
	if counts*most <= 1.01*idle {
		seen, most = f.candidates(a, b, where, 0)
	}
	if most == 0 {
		return nil
	}
	return slices.DeleteFunc(seen, func(w change) bool {
		return math.Abs(w.value) < counts*most || !where.have(w.at, f.window)
	})
}

// counts is the share of the fastest change from which a window counts.
const counts = 0.6

// candidates are the windows that may be among them, and the fastest change.
// A window counts only with a second in it that changes by more than least.
func (f frame) candidates(a, b []float64, where *stretches, least float64) (seen []change, most float64) {
	last := -1 // the last second so far in which something happened
	for k, x := range a {
		if !(math.Abs(x) < least) {
			last = k
		}
		c := k + 1 - f.window
		if c < 0 || last < c || f.atMost(a, c) < counts*most {
			continue
		}
		m := f.mean(a, c)
		d := math.Abs(m)
		if !(d >= counts*most) {
			continue
		}
		seen = append(seen, change{c, m})
		if d > most && where.have(c, f.window) && !math.IsNaN(f.mean(b, c)) {
			most = d
			least = max(least, 0.99*counts*most) // no mean is larger than all in it
		}
	}
	return seen, most
}

// ratio compares a with b over the windows in which a changes fastest, NaN
// when there is no telling change. Where a roll has just begun, a second more or
// less matters: the samples of the two fall at other instants of a second, and a
// speed may be late. So the seconds beside must contradict as well.
func (f frame) ratio(a, b []float64, where *stretches) float64 {
	seen := f.fastest(a, b, where)
	r := f.over(a, b, 0, seen)
	if r != r || r >= disagreeLow && r <= disagreeHigh {
		return r
	}
	for _, shift := range []int{-1, 1} {
		if beside := f.over(a, b, shift, seen); !(r < disagreeLow && beside < disagreeLow || r > disagreeHigh && beside > disagreeHigh) {
			return math.NaN()
		}
	}
	return r
}

// over is the ratio over some windows with b shifted by some seconds. Of three
// seconds the trimmed mean is the middle one alone: there the whole change must
// say the same.
func (f frame) over(a, b []float64, shift int, seen []change) float64 {
	var sumA, sumB, allA, allB, n float64
	for _, w := range seen {
		at := w.at + shift
		if at < 0 {
			continue
		}
		if other := f.mean(b, at); other == other {
			sign := math.Copysign(1, w.value)
			sumA += w.value * sign
			sumB += other * sign
			allA += f.sum(a, w.at) * sign
			allB += f.sum(b, at) * sign
			n++
		}
	}
	w := float64(f.window)
	if n == 0 || max(sumA, math.Abs(sumB))/n*w < f.change || sumA/n*w < f.change/6 {
		return math.NaN()
	}
	r := sumA / sumB
	if all := allA / allB; f == burst && !((r < disagreeLow) == (all < disagreeLow) && (r > disagreeHigh) == (all > disagreeHigh)) {
		return math.NaN()
	}
	return r
}

// sum is the whole change over the window that begins at c.
func (f frame) sum(changes []float64, c int) float64 {
	sum := 0.0
	for _, x := range changes[c : c+f.window] {
		sum += x
	}
	return sum
}

// stretches counts, for every second, how many before it do not hold.
type stretches struct{ broken []int32 }

// have says whether the seconds from c to n after it all hold; everything does
// where nothing was asked, nil.
func (s *stretches) have(c, n int) bool {
	return s == nil || c+n+1 < len(s.broken) && s.broken[c+n+1] == s.broken[c]
}

// surelyGround says whether the aeroplane rolls on level wheels: an
// accelerometer feels the pull of the earth as soon as the nose rises.
// Everything that is recorded must say so, since one of it may be misread.
func (s *scene) surelyGround() *stretches {
	if !s.usable(flightdata.AirGround) && !s.usable(flightdata.RadioHeight) && !s.usable(flightdata.Pitch) {
		return &stretches{} // never
	}
	air, height, pitch := s.hold(flightdata.AirGround), s.hold(flightdata.RadioHeight), s.raw(flightdata.Pitch)
	inAir := s.named(flightdata.AirGround, "air")
	out := make([]int32, s.cells+1)
	for c := range s.cells {
		out[c+1] = out[c]
		if inAir.has(air[c]) || height[c] > 20 || math.Abs(pitch[c]) > 4 {
			out[c+1]++
		}
	}
	return &stretches{out}
}
