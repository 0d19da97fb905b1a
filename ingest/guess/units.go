package guess

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// endings are the ways in which the last words of a name state a unit; what
// unit.Parse knows needs no entry.
var endings = map[string]string{
	"pct": "%", "perc": "%", "percent": "%", "kmh": "km/h", "mps": "m/s", "ms2": "m/s2", "degc": "degC", "degf": "degF",
	"deg": "deg", "rad": "rad", "kt": "kt", "kts": "kt", "ft": "ft", "m": "m", "psi": "psi", "kpa": "kPa", "bar": "bar",
	"kg": "kg", "lb": "lb", "lbs": "lb", "t": "t", "klb": "klb", "g": "g", "units": "units", "frac": "fraction", "c": "degC", "k": "K",
}

// units finds the unit of every guessed number.
func (t *table) units() {
	for i := range t.columns {
		g := &t.guesses[i]
		def, ok := flightdata.Define(g.Parameter)
		if g.Parameter == "" || !ok || def.Kind == flightdata.Discrete {
			continue
		}
		can := possible(def, &t.columns[i])
		if u, where := t.stated(i, def); where != "" {
			g.Unit = u
			g.add("%s the unit %s", where, orNone(u))
			if slices.Contains(can, u) && g.Certainty == Likely {
				g.Certainty = Sure
			}
			if !slices.Contains(can, u) {
				g.Certainty = Perhaps
				g.add("but %s to %s is hardly possible in it", short(t.columns[i].Lo), short(t.columns[i].Hi))
			}
			continue
		}
		t.likeliest(i, def, can)
	}
}

// stated is the unit that the file, brackets or the last word of the name give,
// and where it stands; "" when nothing does.
func (t *table) stated(i int, def flightdata.Definition) (unit.Unit, string) {
	try := func(s string) (unit.Unit, bool) {
		if to, ok := endings[s]; ok {
			s = to
		}
		u, err := unit.Parse(s)
		return u, err == nil && s != "" && slices.Contains(def.Dims, u.Dim()) && u.Dim() != unit.Pure
	}
	if u, ok := try(strings.ToLower(t.columns[i].Unit)); ok {
		return u, "the file states"
	}
	for _, h := range t.names[i].hints {
		if u, ok := try(h); ok {
			return u, "the name states"
		}
	}
	words := split(t.columns[i].Name)
	if len(words) > 1 {
		if u, ok := try(words[len(words)-1]); ok && words[len(words)-1] != lookUp(t.names[i]).words[0] {
			return u, "the name ends in"
		}
	}
	if def.Dims[0] == unit.EPR || def.Dims[0] == unit.Pure {
		return unit.Canonical(def.Dims[0]), "it has only"
	}
	return unit.Unit{}, ""
}

// likeliest guesses the unit of a column that states none.
func (t *table) likeliest(i int, def flightdata.Definition, can []unit.Unit) {
	g, c := &t.guesses[i], &t.columns[i]
	most := max(math.Abs(c.Lo), math.Abs(c.Hi))
	pick, why := can[0].Symbol, usual
	switch def.Dims[0] {
	case unit.Speed:
		pick, why = t.againstAirspeed(i)
	case unit.Acceleration:
		if most > 1.3 {
			pick, why = "m/s2", "more than 1.3 is no acceleration in g"
		}
	case unit.Mass:
		switch {
		case most < 1000:
			pick, why = "t", "the size of it; klb is possible too"
		default:
			pick, why = "kg", "kg and lb cannot be told apart by the size of it"
		}
	case unit.Pressure:
		pick, why = pressure(most)
	case unit.Ratio:
		if most <= 1.1 {
			pick, why = "fraction", "it stays within 1"
		}
	case unit.Trim:
		pick, why = "units", "units and degrees cannot be told apart"
	case unit.Length:
		pick, why = t.againstAltitude(i)
	case unit.Angle:
		if len(def.Dims) > 1 && most > 90 && most < 110 {
			pick, why = "%", "a lever that goes to "+short(most)+" is likely one in percent"
		}
		if def.Circular && most < 6.3 && t.columns[i].Samples > 100 {
			pick, why = "rad", "it stays within 6.3"
		}
	}
	u, err := unit.Parse(pick)
	if err != nil || !slices.Contains(can, u) {
		u = can[0]
	}
	g.Unit = u
	g.add("the unit %s is guessed: %s", orNone(u), why)
	// Two units of the same size, or two scales for one lever.
	if def.Dims[0] == unit.Mass || len(def.Dims) > 1 || def.Dims[0] == unit.Speed && why == usual {
		g.Certainty = Perhaps
	}
}

// pressure guesses the unit of a brake pressure by its peak.
func pressure(most float64) (string, string) {
	switch {
	case most > 6500:
		return "kPa", "a peak above 6500 is too much in psi"
	case most > 400:
		return "psi", "the peak is too much for bar"
	}
	return "bar", "the peak is small for psi"
}

// againstAirspeed compares how fast two speeds change at their fastest: in one
// unit they change alike, whatever the wind.
func (t *table) againstAirspeed(i int) (string, string) {
	mine := t.steepest(i)
	for k, g := range t.guesses {
		if k == i || g.Parameter != flightdata.Airspeed && g.Parameter != flightdata.GroundSpeed || g.Parameter == t.guesses[i].Parameter {
			continue
		}
		other := t.steepest(k)
		if !(mine > 0) || !(other > 0) {
			continue
		}
		for _, u := range []struct {
			symbol string
			factor float64
		}{{"kt", 1}, {"m/s", 1852. / 3600}, {"km/h", 1.852}} {
			// The other one is taken for knots unless it states something else.
			in := u.factor / inKnots(g.Unit)
			// The peaks must say the same, or the one of the two was dead.
			peak := t.columns[i].Hi / t.columns[k].Hi / in
			if r := mine / other / in; r > 0.75 && r < 1.33 && peak > 0.65 && peak < 1.8 {
				return u.symbol, "it changes " + times(mine/other) + " as " + string(g.Parameter)
			}
		}
	}
	return "kt", usual
}

// usual is the reason of a guess that nothing but habit speaks for.
const usual = "the usual unit"

// inKnots is how many of a unit of speed make a knot; 1 for no unit yet.
func inKnots(u unit.Unit) float64 {
	conv, err := unit.Convert(u, unit.Must("kt"))
	if err != nil {
		return 1
	}
	return conv.Factor
}

// againstAltitude tells feet from metres by how fast the other height changes,
// which is taken for feet.
func (t *table) againstAltitude(i int) (string, string) {
	k := t.find(flightdata.PressureAltitude)
	if k < 0 || k == i {
		return "ft", usual
	}
	mine, other := t.steepest(i), t.steepest(k)
	switch r := mine / other; {
	case !(mine > 0) || !(other > 0):
	case r > 0.25 && r < 0.37:
		return "m", "it changes " + times(r) + " as pressure_altitude"
	case r > 0.7 && r < 1.4:
		return "ft", "it changes as fast as pressure_altitude"
	}
	return "ft", usual
}

// steepest is the fastest rise of a column over some 12 seconds, per second,
// without the steepest tenth: a jump is no rise. 0 when there is none.
func (t *table) steepest(i int) float64 {
	v := t.columns[i].Course
	if len(v) == 0 || t.step <= 0 {
		return 0
	}
	over := max(int(12/t.step.Seconds()), 1)
	var rises []float64
	for c := 0; c+over < len(v); c++ {
		if d := float64(v[c+over] - v[c]); d > 0 {
			rises = append(rises, d/(float64(over)*t.step.Seconds()))
		}
	}
	if len(rises) == 0 {
		return 0
	}
	slices.Sort(rises)
	return rises[len(rises)-1-min(len(rises)/100, 3)]
}

// times says a ratio in words.
func times(r float64) string {
	if r > 0.95 && r < 1.05 {
		return "as fast"
	}
	return strconv.FormatFloat(r, 'f', 2, 64) + " times as fast"
}

func orNone(u unit.Unit) string {
	if u.Symbol == "" {
		return "none"
	}
	return u.Symbol
}
