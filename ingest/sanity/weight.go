package sanity

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/flightdata"
)

// poundsPerKilogram is the factor that an exchange of kg and lb makes.
const poundsPerKilogram = 1 / 0.45359237

// weight doubts a gross weight that is 2.2 times the planned one, or outside
// the tables of the profile and inside them after an exchange of kg and lb.
func (s *scene) weight() {
	p := flightdata.GrossWeight
	if !s.usable(p) {
		return
	}
	w := median(s.hold(p))
	if w != w {
		return
	}
	remedy := "check the unit of " + s.column(p)
	if plan := s.rec.Plan; plan != nil && plan.Weight != nil && *plan.Weight > 0 {
		r := w / *plan.Weight
		if math.Abs(math.Log(r/poundsPerKilogram)) < 0.25 || math.Abs(math.Log(r*poundsPerKilogram)) < 0.25 {
			s.doubt(fmt.Sprintf("it is %s times the planned weight, which looks like kg and lb exchanged", figure(r)), remedy, p)
		}
		return
	}
	lo, hi := s.limitsOver(p)
	inside := func(v float64) bool { return v >= lo && v <= hi }
	if !(lo > 0) || w >= 0.75*lo && w <= 1.33*hi {
		return
	}
	if inside(w*poundsPerKilogram) || inside(w/poundsPerKilogram) {
		s.doubt(fmt.Sprintf("%.0f kg lies far outside the tables of the profile (%.0f to %.0f kg) and inside after an exchange of kg and lb", w, lo, hi), remedy, p)
	}
}

// limitsOver are the outermost nodes of the profile's tables over p.
func (s *scene) limitsOver(p flightdata.Parameter) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range s.prof.Checks {
		b := s.prof.Checks[i].Band
		if b == nil {
			continue
		}
		for _, t := range b.Tables {
			for axis, nodes := range [][]float64{t.X, t.Y} {
				if axis < len(b.Over) && b.Over[axis] == p && len(nodes) > 0 {
					lo, hi = min(lo, nodes[0]), max(hi, nodes[len(nodes)-1])
				}
			}
		}
	}
	return lo, hi
}

// median of the values that are there, NaN for none. A weight stands still for
// minutes, so what is sorted are the stretches at one value.
func median(g []float64) float64 {
	type stretch struct {
		value float64
		long  int
	}
	var found []stretch
	n := 0
	for _, x := range g {
		if x != x {
			continue
		}
		n++
		if k := len(found); k > 0 && found[k-1].value == x {
			found[k-1].long++
			continue
		}
		found = append(found, stretch{x, 1})
	}
	slices.SortFunc(found, func(a, b stretch) int { return cmp.Compare(a.value, b.value) })
	before := 0
	for _, f := range found {
		if before += f.long; before > n/2 {
			return f.value
		}
	}
	return math.NaN()
}
