package evidence

import (
	"math"
	"slices"
	"strconv"

	"rollonset/detect/configuration"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// useful says whether a copy carries a parameter: those of the core set but
// the position, and those that the profile's checks read. What an operator
// records beyond that may be anything.
func useful(p flightdata.Parameter, prof *profile.Profile) bool {
	switch p.Base() {
	case flightdata.Latitude, flightdata.Longitude:
		return false
	}
	if _, core := flightdata.Define(p); core {
		return true
	}
	for i := range prof.Checks {
		if slices.Contains(prof.Checks[i].Reads(), p) {
			return true
		}
	}
	return prof.Warning != nil && prof.Warning.Parameter == p
}

// reference is what is subtracted from headings and heights.
type reference struct{ heading, height flightdata.Reading }

// references reads the heading and the height at the zero of time.
func references(rec *flightdata.Recording, zero span.Instant) reference {
	return reference{nearestTo(rec.Get(flightdata.Heading), zero), nearestTo(rec.Get(flightdata.PressureAltitude), zero)}
}

// nearestTo is the reading at t or else that of a good sample before or after.
func nearestTo(s *flightdata.Series, t span.Instant) flightdata.Reading {
	if r := s.At(t); r.OK {
		return r
	}
	if p, ok := s.Last(t); ok {
		return flightdata.Reading{Value: p.Value, OK: true}
	}
	p, ok := s.Next(t)
	return flightdata.Reading{Value: p.Value, OK: ok}
}

// The steps to which weather is rounded in a copy for others: the least that
// leaves dozens of hours of a month at any place with the same figures.
// Common practice, no published source.
const (
	speedStep       = 5  // kt
	directionStep   = 30 // deg
	temperatureStep = 5  // degC
)

// series is the copy of a series on the new clock, headings relative to the
// runway and heights to its surface; nil when there is no good sample to be
// relative to.
func (c Cover) series(old *flightdata.Series, ref reference, zero span.Instant) *flightdata.Series {
	change := func(v float64) float64 { return v }
	switch old.Parameter.Base() {
	case flightdata.Heading:
		if !ref.heading.OK {
			return nil
		}
		change = func(v float64) float64 { return turned(v, ref.heading.Value) }
	case flightdata.PressureAltitude:
		if !ref.height.OK {
			return nil
		}
		change = func(v float64) float64 { return decimals(v - ref.height.Value) }
	case flightdata.WindDirection:
		if !ref.heading.OK {
			return nil
		}
		change = func(v float64) float64 { return turned(c.coarse(turned(v, ref.heading.Value), directionStep), 0) }
	case flightdata.WindSpeed:
		change = func(v float64) float64 { return c.coarse(v, speedStep) }
	case flightdata.OutsideAirTemp:
		change = func(v float64) float64 { return c.coarse(v, temperatureStep) }
	}
	s := *old
	s.Unread = shiftedSet(old.Unread, zero)
	s.Times, s.Values = make([]span.Instant, len(old.Times)), make([]float64, len(old.Values))
	for i, t := range old.Times {
		s.Times[i] = t - zero
	}
	for i, v := range old.Values {
		s.Values[i] = change(v)
	}
	return &s
}

// coarse rounds weather unless it may stay exact.
func (c Cover) coarse(v, step float64) float64 {
	if c.ExactWeather {
		return v
	}
	return nearest(v, step)
}

func nearest(v, step float64) float64 { return math.Round(v/step) * step }

// turned is a direction relative to another, from 0 to 360.
func turned(v, ref float64) float64 {
	d := decimals(math.Mod(math.Mod(v-ref, 360)+360, 360))
	if d == 360 {
		return 0
	}
	return d
}

// decimals drops the noise of a subtraction, six places as in the archive.
// NaN stays.
func decimals(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', 6, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// life is the proof of life of the copy. How many samples the whole recording
// had would tell the length of the flight, and the span of its weights the
// length of the leg, so both are taken from the clip; which states were seen
// is kept.
func life(whole flightdata.Life, s *flightdata.Series) flightdata.Life {
	l := flightdata.Observe(s)
	l.States = whole.States
	if whole.Samples == 0 {
		return flightdata.Life{}
	}
	if l.Samples == 0 { // it lived, only not in the clip
		l.Samples = 1
	}
	return l
}

// keepLife gives back the whole recording's span of values to those few
// parameters whose check would otherwise be told to watch a dead sensor, or a
// dead one a living.
func keepLife(rec, whole *flightdata.Recording, prof *profile.Profile) {
	for i := range prof.Checks {
		check := &prof.Checks[i]
		p := check.Watched()
		if _, ok := rec.Life[p]; !ok {
			continue
		}
		was, wasWhy := configuration.Alive(whole, check)
		if is, isWhy := configuration.Alive(rec, check); was == is && wasWhy == isWhy {
			continue
		}
		l := rec.Life[p]
		l.Lo, l.Hi = whole.Life[p].Lo, whole.Life[p].Hi
		rec.Life[p] = l
	}
}
