package sanity

import (
	"fmt"
	"math"
	"slices"
	"strings"

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

// Ratios between these agree; beyond the outer ones they disagree; in between
// nothing is said. The nearest wrong unit is 1.85 (km/h for kt); wind does not
// matter for changes of speed, thin air makes 1.2, and the slope of a runway
// and the bias of an accelerometer some 20 %.
const (
	agreeLow, agreeHigh       = 0.7, 1.42
	disagreeLow, disagreeHigh = 0.64, 1.56
)

// idle is the change of speed in a second, kt, below which a window cannot hold
// a telling change, whatever is trimmed.
const idle = 1.0

// knotsPerG is the change of speed in a second at 1 g: 9.80665 m/s, in kt.
const knotsPerG = 9.80665 * 3600 / 1852

// witnessed is one comparison: how many times as large a says the motion was
// than b says.
type witnessed struct {
	a, b  int // indices into motion
	ratio float64
}

// motion are what can tell how the aeroplane moves.
var motion = []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed, flightdata.LongAcceleration, flightdata.Latitude}

// speeds compares all that can tell motion, two by two, and doubts those that
// the others outvote.
func (s *scene) speeds() {
	var seen []witnessed
	add := func(a, b int, ratios ...float64) {
		for _, r := range ratios {
			if r == r {
				seen = append(seen, witnessed{a, b, r})
				return
			}
		}
	}
	long, short, brief := s.compared(longFrame), s.compared(shortFrame), s.compared(burst)
	add(0, 1, long[0], short[0], s.byLevel())
	add(0, 2, long[1], short[1], brief[1])
	add(1, 2, long[2], short[2])
	add(0, 3, s.byPosition())
	s.outvote(seen)
}

// compared are the ratios of ground speed to airspeed, and of each to what the
// accelerometer says; NaN where there is nothing to compare.
func (s *scene) compared(f frame) [3]float64 {
	gs, as, acc := f.changes(s.raw(flightdata.GroundSpeed)), f.changes(s.measuredAirspeed()), f.pull(s.raw(flightdata.LongAcceleration))
	ground := s.surelyGround(f)
	where := ground
	if f == longFrame { // gusts do not last that long, nor does it matter where it is
		where = func(int) bool { return true }
	}
	return [3]float64{
		f.ratio(gs, as, where), f.ratio(gs, acc, ground), f.ratio(as, acc, ground),
	}
}

// outvote doubts every parameter that disagrees with another and agrees with
// none, unless the other stands just as alone: then both are doubted.
func (s *scene) outvote(seen []witnessed) {
	backed := make([]bool, len(motion))
	for _, w := range seen {
		if w.ratio >= agreeLow && w.ratio <= agreeHigh {
			backed[w.a], backed[w.b] = true, true
		}
	}
	for _, w := range seen {
		if w.ratio >= disagreeLow && w.ratio <= disagreeHigh {
			continue
		}
		a, b := motion[w.a], motion[w.b]
		switch {
		case backed[w.a] && backed[w.b]:
			// Each has a witness: which one is wrong cannot be told, and a real
			// misreading would have left one of them alone.
		case backed[w.a]:
			s.doubtMotion(b, a, 1/w.ratio)
		case backed[w.b]:
			s.doubtMotion(a, b, w.ratio)
		default:
			s.doubtMotion(a, b, w.ratio)
			s.doubtMotion(b, a, 1/w.ratio)
		}
	}
}

func (s *scene) doubtMotion(p, by flightdata.Parameter, ratio float64) {
	params := []flightdata.Parameter{p}
	what := "as " + string(by) + " says"
	if by == flightdata.Latitude {
		what = "as the positions say"
	}
	if p == flightdata.Latitude {
		params = append(params, flightdata.Longitude)
	}
	s.doubt(fmt.Sprintf("by it the aeroplane moves %s times as fast %s%s", figure(ratio), what, mixUp(p, ratio)),
		"check the unit of "+s.column(p), params...)
}

// mixUps are the units whose exchange gives a factor.
var mixUps = []struct {
	accel  bool
	factor float64
	words  string
}{
	{false, 1852. / 3600, "m/s read as kt"},
	{false, 3600. / 1852, "kt read as m/s"},
	{false, 1.852, "km/h read as kt"},
	{false, 1 / 1.852, "kt read as km/h"},
	{false, 3.6, "km/h read as m/s"},
	{false, 1 / 3.6, "m/s read as km/h"},
	{true, 9.80665, "m/s2 read as g"},
	{true, 1 / 9.80665, "g read as m/s2"},
}

// mixUp names the exchanges that fit, "" when none is near. Several may: a
// factor of 0.51 cannot be told from one of 0.54.
func mixUp(p flightdata.Parameter, ratio float64) string {
	var words []string
	for _, m := range mixUps {
		if m.accel == (p == flightdata.LongAcceleration) && math.Abs(math.Log(ratio/m.factor)) < 0.2 {
			words = append(words, m.words)
		}
	}
	if len(words) == 0 {
		return ""
	}
	return ", which looks like " + strings.Join(words, " or ")
}

// changes is the change of a grid from second to second over each window that
// begins there, per second, without the largest and smallest: a spike or a jump
// must not count. NaN where a second is missing.
func (f frame) changes(g []float64) []float64 {
	out := make([]float64, len(g))
	steps := make([]float64, 0, f.window)
	for c := range out {
		out[c] = math.NaN()
		if c+f.window >= len(g) {
			continue
		}
		steps = steps[:0]
		for k := c; k < c+f.window; k++ {
			steps = append(steps, g[k+1]-g[k])
		}
		out[c] = trimmed(steps)
	}
	return out
}

// trimmed is the mean without the outermost sixth of the values on either side,
// NaN when a value is.
func trimmed(v []float64) float64 {
	sum, most := 0.0, 0.0
	for _, x := range v {
		if x != x {
			return math.NaN()
		}
		sum += x
		most = max(most, math.Abs(x))
	}
	if most < idle {
		// Nothing to trim, and too little to tell anything: most of a flight is
		// like this, and sorting it would cost more than all the rest.
		return sum / float64(len(v))
	}
	slices.Sort(v)
	sum = 0
	out := max(1, len(v)/6)
	inner := v[out : len(v)-out]
	for _, x := range inner {
		sum += x
	}
	return sum / float64(len(inner))
}

// pull is what the accelerometer says of the change of speed in each window,
// kt per second.
func (f frame) pull(g []float64) []float64 {
	out := make([]float64, len(g))
	values := make([]float64, 0, f.window)
	for c := range out {
		out[c] = math.NaN()
		if c+f.window >= len(g) {
			continue
		}
		values = values[:0]
		for k := c; k < c+f.window; k++ {
			values = append(values, g[k]*knotsPerG)
		}
		out[c] = trimmed(values)
	}
	return out
}

// ratio compares a with b over the windows in which a changes fastest, NaN
// when there is no telling change.
func (f frame) ratio(a, b []float64, where func(c int) bool) float64 {
	most := 0.0
	for c := range a {
		// A comparison, because max would hand on a NaN.
		if d := math.Abs(a[c]); d > most && b[c] == b[c] && where(c) {
			most = d
		}
	}
	var sumA, sumB, n float64
	for c := range a {
		if b[c] == b[c] && math.Abs(a[c]) >= 0.6*most && most > 0 && where(c) {
			sign := math.Copysign(1, a[c])
			sumA += a[c] * sign
			sumB += b[c] * sign
			n++
		}
	}
	w := float64(f.window)
	if n == 0 || max(sumA, math.Abs(sumB))/n*w < f.change || sumA/n*w < f.change/6 {
		return math.NaN()
	}
	return sumA / sumB
}

// surelyGround says for a window whether the aeroplane rolls on level wheels in
// it: an accelerometer feels the pull of the earth as soon as the nose rises.
// Everything that is recorded must say so, since one of it may be misread.
func (s *scene) surelyGround(f frame) func(c int) bool {
	air, height, pitch := s.hold(flightdata.AirGround), s.hold(flightdata.RadioHeight), s.raw(flightdata.Pitch)
	if !s.usable(flightdata.AirGround) && !s.usable(flightdata.RadioHeight) && !s.usable(flightdata.Pitch) {
		return func(int) bool { return false }
	}
	ok := make([]bool, s.cells)
	for c := range ok {
		ok[c] = !s.stateIs(flightdata.AirGround, air[c], "air") && !(height[c] > 20) && !(math.Abs(pitch[c]) > 4)
	}
	return func(c int) bool {
		for k := c; k <= c+f.window; k++ {
			if !ok[k] {
				return false
			}
		}
		return true
	}
}

// measuredAirspeed is the airspeed without the floor at which the computer stands
// while it measures nothing. A wrong unit moves that floor past the one that the
// profile states, so it is found here by its being the least value there is.
func (s *scene) measuredAirspeed() []float64 {
	g := s.raw(flightdata.Airspeed)
	lo, hi := extent(g)
	for c, v := range g {
		if lo > 5 && v <= lo+0.02*(hi-lo) {
			g[c] = math.NaN()
		}
	}
	return g
}

// byLevel compares the two speeds themselves low above the ground, where wind
// and thin air together make no factor of 1.75; for a recording that holds no
// steady change of speed, such as a touch-and-go. It only ever contradicts:
// speeds that agree so roughly prove nothing.
func (s *scene) byLevel() float64 {
	gs, as, height := s.raw(flightdata.GroundSpeed), s.measuredAirspeed(), s.hold(flightdata.RadioHeight)
	_, most := extent(as)
	var ratios []float64
	for c := range gs {
		if gs[c] == gs[c] && as[c] >= 0.7*most && max(as[c], gs[c]) > 50 && height[c] < 1500 {
			ratios = append(ratios, gs[c]/as[c])
		}
	}
	if len(ratios) < briefly {
		return math.NaN()
	}
	slices.Sort(ratios)
	if r := ratios[len(ratios)/2]; r < 0.57 || r > 1.75 {
		return r
	}
	return math.NaN()
}

// briefly is how many seconds of level comparison count.
const briefly = 5

// positionWindow is the time between two positions that are compared, s: long
// enough to be far above the resolution of a recorded position.
const positionWindow = 12

// byPosition compares the ground speed with how fast the position moves, over
// the windows with the highest speeds; NaN when nothing moves.
func (s *scene) byPosition() float64 {
	lat, lon := s.hold(flightdata.Latitude), s.hold(flightdata.Longitude)
	gs := s.raw(flightdata.GroundSpeed)
	_, most := extent(gs)
	var ratios []float64
	telling := false
	for c := 0; c+positionWindow < s.cells; c += positionWindow {
		d := distance(lat[c], lon[c], lat[c+positionWindow], lon[c+positionWindow]) * 3600 / positionWindow
		if d == d && gs[c] >= 0.6*most && gs[c+positionWindow] >= 0.6*most {
			telling = telling || d > 30 || most > 60
			if d > 0 {
				ratios = append(ratios, (gs[c]+gs[c+positionWindow])/2/d)
			}
		}
	}
	if len(ratios) < 3 || !telling {
		return math.NaN()
	}
	slices.Sort(ratios)
	return ratios[len(ratios)/2]
}

// distance between two near positions, NM: a minute of latitude is one.
func distance(lat1, lon1, lat2, lon2 float64) float64 {
	north := lat2 - lat1
	east := math.Remainder(lon2-lon1, 360) * math.Cos((lat1+lat2)/2*math.Pi/180)
	return 60 * math.Hypot(north, east)
}

// figure prints a ratio or a time as a person would say it.
func figure(v float64) string {
	if math.Abs(v) >= 100 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.2g", v)
}
