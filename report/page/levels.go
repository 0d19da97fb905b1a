package page

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// Level is a value of the profile that the traces of a parameter show as a
// line: an arming threshold, a takeoff setting, a limit.
type Level struct {
	// Parameter is the canonical name without engine; a level on "epr" shows
	// for every engine.
	Parameter flightdata.Parameter
	Value     float64 // canonical unit of the parameter
	Label     string  // with the value in it: "setting 10"
}

// Levels reads off a profile what belongs into the traces: the thrust
// threshold, the listed settings and the finite edges of ranges. A range over
// the difference of two parameters belongs to neither.
func Levels(p *profile.Profile) []Level {
	var out []Level
	add := func(param flightdata.Parameter, v float64, label string) {
		for _, l := range out {
			if l.Parameter == param && l.Value == v {
				return // the surface and the lever share their settings
			}
		}
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			out = append(out, Level{param, v, label})
		}
	}
	add(p.Thrust.Measure, p.Thrust.Threshold, "takeoff threshold "+trimmed(p.Thrust.Threshold))
	for _, c := range p.Checks {
		switch {
		case c.OneOf != nil && c.OneOf.Rule == profile.ListedSettings:
			for _, s := range c.OneOf.Settings {
				add(c.OneOf.Parameter.Base(), s, "setting "+trimmed(s))
			}
		case c.Range != nil && c.Range.Minus == "":
			add(c.Range.Parameter.Base(), c.Range.Min, "at least "+trimmed(c.Range.Min))
			add(c.Range.Parameter.Base(), c.Range.Max, "at most "+trimmed(c.Range.Max))
		}
	}
	return out
}

// trimmed writes a setting as the profile does: 10, not 10.0.
func trimmed(v float64) string {
	if v == math.Trunc(v) {
		return Number(v, 0)
	}
	return Number(v, 2)
}
