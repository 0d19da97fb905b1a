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

// farBelow and farAbove are how far outside the tables of the profile a weight
// may lie and still be one that the aeroplane can have, as factors of the
// outermost nodes; an exchange of kg and lb makes 2.2.
const farBelow, farAbove = 0.75, 1.33

// weight compares the recorded weight, the planned one and the tables of the
// profile. What was planned never outvotes what was recorded: when the two are
// a factor of kg and lb apart, only the tables can tell which of them is wrong,
// and without their word neither is used.
func (s *scene) weight() {
	p := flightdata.GrossWeight
	recorded, plan := math.NaN(), s.rec.Plan
	if s.usable(p) {
		recorded = median(s.hold(p))
	}
	planned := math.NaN()
	if plan != nil && plan.Weight != nil && *plan.Weight > 0 {
		planned = *plan.Weight
	}
	lo, hi := s.limitsOver(p)
	fits := func(v float64) bool { return v >= farBelow*lo && v <= farAbove*hi }
	// odd is a weight that the tables explain only as one in another unit.
	odd := func(v float64) bool { return lo > 0 && v == v && !fits(v) && inside(exchanged(v), lo, hi) }
	remedy := "check the unit of " + s.column(p)
	if !unitsApart(recorded, planned) {
		if odd(recorded) && !near(recorded, planned) {
			s.doubt(fmt.Sprintf("%.0f kg lies far outside the tables of the profile (%.0f to %.0f kg) and inside after an exchange of kg and lb", recorded, lo, hi), remedy, p)
		}
		if recorded != recorded && odd(planned) {
			s.dropPlanned(fmt.Sprintf("%.0f kg lies far outside the tables of the profile (%.0f to %.0f kg) and inside after an exchange of kg and lb", planned, lo, hi))
		}
		return
	}
	apart := fmt.Sprintf("%.0f kg recorded and %.0f kg planned are %s times apart, which looks like kg and lb exchanged", recorded, planned, figure(max(recorded/planned, planned/recorded)))
	told := lo > 0 && fits(recorded) != fits(planned)
	switch {
	case told && fits(recorded):
		s.dropPlanned(fmt.Sprintf("%s; the recorded one fits the tables of the profile (%.0f to %.0f kg), the planned one does not", apart, lo, hi))
	case told:
		s.doubt(fmt.Sprintf("%s; the planned one fits the tables of the profile (%.0f to %.0f kg), the recorded one does not", apart, lo, hi), remedy, p)
	default:
		s.doubt(apart+"; nothing tells which is wrong", remedy+" and of the weight in the flight list", p)
		s.dropPlanned(apart + "; nothing tells which is wrong")
	}
}

// unitsApart says whether two weights differ by about the factor of kg and lb.
func unitsApart(a, b float64) bool {
	return math.Abs(math.Abs(math.Log(a/b))-math.Log(poundsPerKilogram)) < 0.25
}

// near says whether two weights are alike: a plan that agrees confirms.
func near(a, b float64) bool { return math.Abs(math.Log(a/b)) < 0.25 }

// exchanged is a weight in the other unit, both ways.
func exchanged(v float64) [2]float64 { return [2]float64{v * poundsPerKilogram, v / poundsPerKilogram} }

func inside(v [2]float64, lo, hi float64) bool {
	return v[0] >= lo && v[0] <= hi || v[1] >= lo && v[1] <= hi
}

// dropPlanned takes the planned weight out of use. The plan of the recording is
// replaced, not changed: the list may hold the same one for others.
func (s *scene) dropPlanned(why string) {
	plan := *s.rec.Plan
	plan.Weight = nil
	s.rec.Plan = &plan
	s.notes = append(s.notes, flightdata.Note{
		Place: fmt.Sprintf("%s, line %d", plan.List, plan.Line),
		Text:  "the planned weight is not used: " + why + "; check the unit of the weight in the flight list",
	})
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
