package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// verdict is what one check says of one state of the aircraft.
type verdict struct {
	out    bool
	untold bool
	margin float64 // to the nearest limit, negative outside; NaN for a discrete or when none is known
}

// state is what a check is judged on: values by parameter, with !ok for what
// the data cannot tell, and what goes with the flight.
type state struct {
	read    func(flightdata.Parameter) (float64, bool)
	onset   func(flightdata.Parameter) (float64, bool) // the same at the onset
	planned float64                                    // flap setting of the flight list, NaN when none
	states  func(p flightdata.Parameter, name string) float64
}

// judge judges a check on a state with full knowledge of the limits. It is
// the definition that the truth is made from, written from the meaning of a
// profile and not from the detector.
func judge(c *profile.Check, s *state) verdict {
	switch {
	case c.OneOf != nil:
		return judgeOneOf(c.OneOf, s)
	case c.Range != nil:
		return judgeRange(c.Range, s)
	case c.Band != nil:
		return judgeBand(c.Band, s)
	}
	v, ok := s.read(c.State.Parameter)
	return verdict{untold: !ok, out: ok && v != s.states(c.State.Parameter, c.State.Is), margin: math.NaN()}
}

func byMargin(margin float64) verdict {
	return verdict{out: margin < -1e-9, margin: margin}
}

func judgeOneOf(o *profile.OneOf, s *state) verdict {
	v, ok := s.read(o.Parameter)
	settings := o.Settings
	switch o.Rule {
	case profile.PlannedSetting:
		if math.IsNaN(s.planned) {
			return verdict{untold: true, margin: math.NaN()}
		}
		settings = []float64{s.planned}
	case profile.AsAtOnset:
		at, known := s.onset(o.Parameter)
		ok = ok && known
		settings = []float64{at}
	}
	if !ok {
		return verdict{untold: true, margin: math.NaN()}
	}
	off := math.Inf(1)
	for _, set := range settings {
		off = min(off, math.Abs(v-set))
	}
	return byMargin(o.Tolerance - off)
}

func judgeRange(r *profile.Range, s *state) verdict {
	v, ok := s.read(r.Parameter)
	if r.Minus != "" {
		w, known := s.read(r.Minus)
		v, ok = v-w, ok && known
	}
	if !ok {
		return verdict{untold: true, margin: math.NaN()}
	}
	return byMargin(min(v-r.Min, r.Max-v))
}

// judgeBand tests against every band that could apply: outside their union
// is out, inside their intersection is within, between the two cannot be told.
func judgeBand(b *profile.Band, s *state) verdict {
	v, ok := s.read(b.Parameter)
	if !ok {
		return verdict{untold: true, margin: math.NaN()}
	}
	lowMin, lowMax, highMin, highMax := bandEdges(b, s)
	inner := min(v-lowMax, highMin-v)
	outer := min(v-lowMin, highMax-v)
	if inner < -1e-9 && outer >= -1e-9 {
		return verdict{untold: true, margin: min(-inner, outer)}
	}
	if inner >= -1e-9 {
		return byMargin(inner)
	}
	return byMargin(outer)
}

// bandEdges are the least and the largest lower and upper edge over every
// band that could apply; with everything known each pair is one number.
func bandEdges(b *profile.Band, s *state) (lowMin, lowMax, highMin, highMax float64) {
	lowMin, lowMax, highMin, highMax = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range b.Tables {
		t := &b.Tables[i]
		if !applies(b, t, s) {
			continue
		}
		for _, x := range axisPoints(b, 0, t.X, s) {
			for _, y := range axisPoints(b, 1, t.Y, s) {
				low, high := surface(t.X, t.Y, t.Low, x, y), surface(t.X, t.Y, t.High, x, y)
				lowMin, lowMax = min(lowMin, low), max(lowMax, low)
				highMin, highMax = min(highMin, high), max(highMax, high)
			}
		}
	}
	return lowMin, lowMax, highMin, highMax
}

// applies says whether a table could apply: the selected one, or any when
// the setting is not known or is that of no table.
func applies(b *profile.Band, t *profile.Table, s *state) bool {
	if b.Select == "" {
		return true
	}
	v, ok := s.read(b.Select)
	if !ok {
		return true
	}
	none := true
	for i := range b.Tables {
		if math.Abs(v-b.Tables[i].Setting) <= b.Tolerance {
			none = false
		}
	}
	return none || math.Abs(v-t.Setting) <= b.Tolerance
}

// axisPoints are the values of an axis to test: the known one, or all nodes,
// because the extremes of a bilinear surface lie on them.
func axisPoints(b *profile.Band, axis int, nodes []float64, s *state) []float64 {
	if axis >= len(b.Over) {
		return []float64{0}
	}
	if v, ok := s.read(b.Over[axis]); ok {
		return []float64{v}
	}
	return nodes
}

// surface reads a table at (x, y), bilinear and clamped to the nodes.
func surface(xs, ys []float64, z [][]float64, x, y float64) float64 {
	i, fx := interval(xs, x)
	if len(ys) < 2 {
		return between(z[i][0], z[min(i+1, len(z)-1)][0], fx)
	}
	j, fy := interval(ys, y)
	k := min(i+1, len(z)-1)
	return between(between(z[i][j], z[k][j], fx), between(z[i][j+1], z[k][j+1], fx), fy)
}

func between(a, b, share float64) float64 { return a + float64((b-a)*share) }

// interval is the index of the node below v and the share of the way to the
// next, both clamped.
func interval(nodes []float64, v float64) (int, float64) {
	last := len(nodes) - 1
	if last < 1 || v <= nodes[0] {
		return 0, 0
	}
	for i := range last {
		if v < nodes[i+1] {
			return i, (v - nodes[i]) / (nodes[i+1] - nodes[i])
		}
	}
	return last - 1, 1
}
