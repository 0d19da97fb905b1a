package sanity

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
)

// Speeds are compared over windows of this many seconds in which they change
// fast, as in a takeoff roll or a stop.
const window = 12

// Ratios between these agree; beyond the outer ones they disagree; in between
// nothing is said. The nearest wrong unit is 1.85 (km/h for kt); wind does not
// matter for changes of speed, thin air makes 1.2, and the slope of a runway
// and the bias of an accelerometer some 20 %.
const (
	agreeLow, agreeHigh       = 0.7, 1.42
	disagreeLow, disagreeHigh = 0.64, 1.56
)

// tellingChange is the change of speed over a window, kt, that makes it count.
const tellingChange = 25

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
	gs, as, acc := changes(s.raw(flightdata.GroundSpeed)), changes(s.raw(flightdata.Airspeed)), s.pull()
	ground := s.surelyGround()
	everywhere := func(int) bool { return true }
	var seen []witnessed
	add := func(a, b int, ratio float64) {
		if ratio == ratio {
			seen = append(seen, witnessed{a, b, ratio})
		}
	}
	if r := ratioOf(gs, as, everywhere); r == r {
		add(0, 1, r)
	} else {
		add(0, 1, s.byLevel())
	}
	add(0, 2, ratioOf(gs, acc, ground))
	add(1, 2, ratioOf(as, acc, ground))
	add(0, 3, s.byPosition())
	s.outvote(seen)
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
// begins there, per second, without the two largest and two smallest: a spike
// or a jump must not count. NaN where a second is missing.
func changes(g []float64) []float64 {
	out := make([]float64, len(g))
	steps := make([]float64, 0, window)
	for c := range out {
		out[c] = math.NaN()
		if c+window >= len(g) {
			continue
		}
		steps = steps[:0]
		for k := c; k < c+window; k++ {
			steps = append(steps, g[k+1]-g[k])
		}
		out[c] = trimmed(steps)
	}
	return out
}

// trimmed is the mean without the two outermost values on either side, NaN
// when a value is.
func trimmed(v []float64) float64 {
	for _, x := range v {
		if x != x {
			return math.NaN()
		}
	}
	slices.Sort(v)
	sum := 0.0
	inner := v[2 : len(v)-2]
	for _, x := range inner {
		sum += x
	}
	return sum / float64(len(inner))
}

// pull is what the accelerometer says of the change of speed in each window,
// kt per second.
func (s *scene) pull() []float64 {
	g := s.raw(flightdata.LongAcceleration)
	out := make([]float64, len(g))
	values := make([]float64, 0, window)
	for c := range out {
		out[c] = math.NaN()
		if c+window >= len(g) {
			continue
		}
		values = values[:0]
		for k := c; k < c+window; k++ {
			values = append(values, g[k]*knotsPerG)
		}
		out[c] = trimmed(values)
	}
	return out
}

// ratioOf compares a with b over the windows in which a changes fastest, NaN
// when there is no telling change.
func ratioOf(a, b []float64, where func(c int) bool) float64 {
	most := 0.0
	for c := range a {
		if b[c] == b[c] && where(c) {
			most = max(most, math.Abs(a[c])) // NaN is never larger
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
	if n == 0 || max(sumA, math.Abs(sumB))/n*window < tellingChange || sumA/n*window < 4 {
		return math.NaN()
	}
	return sumA / sumB
}

// surelyGround says for a window whether the aeroplane rolls on level wheels in
// it: an accelerometer feels the pull of the earth as soon as the nose rises.
// Everything that is recorded must say so, since one of it may be misread.
func (s *scene) surelyGround() func(c int) bool {
	air, height, pitch := s.hold(flightdata.AirGround), s.hold(flightdata.RadioHeight), s.raw(flightdata.Pitch)
	if !s.usable(flightdata.AirGround) && !s.usable(flightdata.RadioHeight) && !s.usable(flightdata.Pitch) {
		return func(int) bool { return false }
	}
	ok := make([]bool, s.cells)
	for c := range ok {
		ok[c] = !s.stateIs(flightdata.AirGround, air[c], "air") && !(height[c] > 20) && !(math.Abs(pitch[c]) > 4)
	}
	return func(c int) bool {
		for k := c; k <= c+window; k++ {
			if !ok[k] {
				return false
			}
		}
		return true
	}
}

// byLevel compares the two speeds themselves low above the ground, where wind
// and thin air together make no factor of 1.75; for a recording that holds no
// steady change of speed, such as a touch-and-go. It only ever contradicts:
// speeds that agree so roughly prove nothing.
func (s *scene) byLevel() float64 {
	gs, as, height := s.raw(flightdata.GroundSpeed), s.raw(flightdata.Airspeed), s.hold(flightdata.RadioHeight)
	_, most := extent(as)
	var ratios []float64
	for c := range gs {
		if gs[c] == gs[c] && as[c] >= 0.7*most && as[c] > 40 && height[c] < 1500 {
			ratios = append(ratios, gs[c]/as[c])
		}
	}
	if len(ratios) < patience {
		return math.NaN()
	}
	slices.Sort(ratios)
	if r := ratios[len(ratios)/2]; r < 0.57 || r > 1.75 {
		return r
	}
	return math.NaN()
}

// byPosition compares the ground speed with how fast the position moves, over
// the windows with the highest speeds; NaN when nothing moves.
func (s *scene) byPosition() float64 {
	lat, lon := s.hold(flightdata.Latitude), s.hold(flightdata.Longitude)
	gs := s.raw(flightdata.GroundSpeed)
	_, most := extent(gs)
	var ratios []float64
	telling := false
	for c := 0; c+window < s.cells; c += window {
		d := distance(lat[c], lon[c], lat[c+window], lon[c+window]) * 3600 / window
		if d == d && gs[c] >= 0.6*most && gs[c+window] >= 0.6*most {
			telling = telling || d > 30 || most > 60
			if d > 0 {
				ratios = append(ratios, (gs[c]+gs[c+window])/2/d)
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
