package sanity

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
)

// Ratios between these agree; beyond the outer ones they disagree; in between
// nothing is said. The nearest wrong unit is 1.85 (km/h for kt); wind does not
// matter for changes of speed, thin air makes 1.2, and the slope of a runway
// and the bias of an accelerometer some 20 %.
const (
	agreeLow, agreeHigh       = 0.7, 1.42
	disagreeLow, disagreeHigh = 0.64, 1.56
)

// witnessed is one comparison: how many times as large a says the motion was
// than b says.
type witnessed struct {
	a, b  int // indices into motion
	ratio float64
}

// motion are what can tell how the aeroplane moves.
var motion = []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed, flightdata.LongAcceleration, flightdata.Latitude}

// speeds compares all that can tell motion, two by two, and doubts those that
// the others outvote. A later way to compare two is tried only when the ones
// before it say nothing.
func (s *scene) speeds() {
	var seen []witnessed
	add := func(a, b int, ways ...func() float64) {
		for _, way := range ways {
			if r := way(); r == r {
				seen = append(seen, witnessed{a, b, r})
				return
			}
		}
	}
	gs, as := s.raw(flightdata.GroundSpeed), s.measuredAirspeed()
	// What each says of the change of speed in a second, kt.
	byGround, byAir, pull := s.steps(gs), s.steps(as), s.pulls(s.raw(flightdata.LongAcceleration))
	ground := s.surelyGround()
	over := func(f frame, a, b []float64, where *stretches) func() float64 {
		return func() float64 { return f.ratio(a, b, where) }
	}
	add(
		0, 1,
		// Gusts do not last as long as the long frame, nor does it matter where it is.
		over(longFrame, byGround, byAir, nil), over(shortFrame, byGround, byAir, ground),
		func() float64 { return s.byLevel(gs, as) },
	)
	add(0, 2, over(longFrame, byGround, pull, ground), over(shortFrame, byGround, pull, ground), over(burst, byGround, pull, ground))
	add(1, 2, over(longFrame, byAir, pull, ground), over(shortFrame, byAir, pull, ground))
	add(0, 3, func() float64 { return s.byPosition(gs) })
	s.spare = append(s.spare, as, byGround, byAir, pull) // they were made here
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

// measuredAirspeed is the airspeed without the floor at which the computer stands
// while it measures nothing. A wrong unit moves that floor past the one that the
// profile states, so it is found here by its being the least value there is.
func (s *scene) measuredAirspeed() []float64 {
	g := s.grid()
	copy(g, s.raw(flightdata.Airspeed))
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
func (s *scene) byLevel(gs, as []float64) float64 {
	height := s.hold(flightdata.RadioHeight)
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
func (s *scene) byPosition(gs []float64) float64 {
	if !s.usable(flightdata.Latitude) || !s.usable(flightdata.Longitude) {
		return math.NaN()
	}
	lat, lon := s.hold(flightdata.Latitude), s.hold(flightdata.Longitude)
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
