package motion

import (
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// The lags that are tried, and what an agreement has to reach.
const (
	firstLag = -100 * time.Millisecond // clocks may disagree the other way as well
	lastLag  = 800 * time.Millisecond
	lagStep  = 10 * time.Millisecond
	// fewest samples of ground speed and least range of speed, kt, that carry
	// a fit of four unknowns.
	fewest, leastRange = 10, 25.0
	// mostSpread, kt, and the scales between which both are taken to tell of
	// one motion; common practice, no published source.
	mostSpread           = 1.0
	leastScale, topScale = 0.9, 1.1
	// leastNoise, kt, is the noise that is assumed at least: the agreement of
	// a handful of rounded samples must not look better than it is.
	leastNoise = 0.1
)

// fit fits speed = start + scale·sum + offset·time at a lag.
type fit struct {
	sums   []flightdata.Point // of the acceleration, kt
	speeds []flightdata.Point // recorded, kt
	pairs  []pair             // both of them at the lag that was tried last

	lag, low, high       time.Duration
	start, scale, offset float64
	spread               float64
}

// pair is a recorded speed, kt, and the sum of the acceleration, kt, when it was
// measured: some seconds from the middle of the sums.
type pair struct{ speed, sum, seconds float64 }

// lags fits at every lag and weighs them; false when there is too little to
// fit, or the two do not agree.
func (f *fit) lags() bool {
	if !f.enough() {
		return false
	}
	type tried struct {
		lag time.Duration
		sse float64
		n   int
	}
	var all []tried
	least, count := math.Inf(1), 0
	for lag := firstLag; lag <= lastLag; lag += lagStep {
		if sse, n := f.at(lag); n >= fewest {
			all = append(all, tried{lag, sse / float64(n), n})
			if sse/float64(n) < least {
				least, count = sse/float64(n), n
			}
		}
	}
	if len(all) == 0 || math.Sqrt(least) > mostSpread {
		return false
	}
	noise := max(least*float64(count)/float64(count-4), leastNoise*leastNoise)
	weights := make([]float64, len(all))
	total, mean := 0.0, 0.0
	for i, t := range all {
		weights[i] = math.Exp(-(t.sse - least) * float64(count) / (2 * noise))
		total += weights[i]
		mean += float64(weights[i] * float64(t.lag))
	}
	// To the millisecond, which no processor computes differently.
	f.lag = time.Duration(mean / total).Round(time.Millisecond)
	f.low, f.high = f.lag, f.lag
	tail, sum := total*0.0025, 0.0
	for i, t := range all {
		before := sum
		sum += weights[i]
		if before <= tail && sum > tail {
			f.low = min(f.low, t.lag-lagStep)
		}
		if before < total-tail && sum >= total-tail {
			f.high = max(f.high, t.lag+lagStep)
		}
	}
	f.at(f.lag)
	return f.scale >= leastScale && f.scale <= topScale
}

func (f *fit) enough() bool {
	if len(f.sums) < 2*fewest || len(f.speeds) < fewest {
		return false
	}
	low, high := f.speeds[0].Value, f.speeds[0].Value
	for _, p := range f.speeds {
		low, high = min(low, p.Value), max(high, p.Value)
	}
	return high-low >= leastRange
}

// at solves the three unknowns at a lag and gives the sum of squares left over
// and the number of samples. The unknowns are kept.
func (f *fit) at(lag time.Duration) (sse float64, n int) {
	var m normal
	f.pairUp(lag)
	for _, p := range f.pairs {
		m.add([3]float64{1, p.sum, p.seconds}, p.speed)
	}
	x, ok := m.solve()
	if !ok {
		return math.Inf(1), 0
	}
	f.start, f.scale, f.offset = x[0], x[1], x[2]
	for _, p := range f.pairs {
		d := p.speed - f.value(p.sum, p.seconds)
		sse += float64(d * d)
	}
	f.spread = math.Sqrt(sse / float64(len(f.pairs)))
	return sse, len(f.pairs)
}

// pairUp finds the sum of every recorded speed at a lag. Both are in the order
// of time, so that one walk along the sums meets all.
func (f *fit) pairUp(lag time.Duration) {
	f.pairs = f.pairs[:0]
	mid, next := f.middle(), 0
	for _, p := range f.speeds {
		at := p.At.Add(-lag)
		for next < len(f.sums) && f.sums[next].At < at {
			next++
		}
		if sum, ok := line(f.sums, next, at); ok {
			f.pairs = append(f.pairs, pair{p.Value, sum, at.Sub(mid).Seconds()})
		}
	}
}

func (f *fit) middle() span.Instant {
	return (f.sums[0].At + f.sums[len(f.sums)-1].At) / 2
}

// value is the fitted speed where the sum of the acceleration is sum, some
// seconds from the middle.
func (f *fit) value(sum, seconds float64) float64 {
	return f.start + float64(f.scale*sum) + float64(f.offset*seconds)
}

// track is the fitted speed at every sample of the acceleration.
func (f *fit) track() []flightdata.Point {
	out := make([]flightdata.Point, len(f.sums))
	mid := f.middle()
	for i, p := range f.sums {
		out[i] = flightdata.Point{At: p.At, Value: f.value(p.Value, p.At.Sub(mid).Seconds())}
	}
	return out
}

// normal are the normal equations of a least-squares fit of three unknowns.
// Every product is rounded before it is added, so that no processor fuses them.
type normal struct {
	a [3][3]float64
	b [3]float64
}

func (m *normal) add(row [3]float64, value float64) {
	for i := range row {
		for j := range row {
			m.a[i][j] += float64(row[i] * row[j])
		}
		m.b[i] += float64(row[i] * value)
	}
}

// solve is Gauss elimination with the largest pivot; false when the samples do
// not tell the unknowns apart.
func (m *normal) solve() (x [3]float64, ok bool) {
	a, b := m.a, m.b
	for k := range 3 {
		best := k
		for i := k + 1; i < 3; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[best][k]) {
				best = i
			}
		}
		a[k], a[best], b[k], b[best] = a[best], a[k], b[best], b[k]
		if !(math.Abs(a[k][k]) > 1e-6) {
			return x, false
		}
		for i := k + 1; i < 3; i++ {
			by := a[i][k] / a[k][k]
			for j := k; j < 3; j++ {
				a[i][j] -= float64(by * a[k][j])
			}
			b[i] -= float64(by * b[k])
		}
	}
	for k := 2; k >= 0; k-- {
		sum := b[k]
		for j := k + 1; j < 3; j++ {
			sum -= float64(a[k][j] * x[j])
		}
		x[k] = sum / a[k][k]
	}
	return x, true
}
