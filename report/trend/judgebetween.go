package trend

import (
	"maps"
	"math"
	"slices"
)

// between are the takeoffs between the events of a series.
func (j *judge) between(s *series) Between {
	out := Between{Since: math.NaN(), Chance: math.NaN()}
	var at []float64 // takeoffs up to each event
	told, events := 0.0, 0
	for _, day := range slices.Sorted(maps.Keys(s.days)) {
		t := s.days[day]
		n := j.events(*t)
		for k := range n {
			at = append(at, told+(float64(k)+0.5)/float64(n)*float64(t.Told))
		}
		told += float64(t.Told)
		events += n
	}
	if events == 0 {
		return out
	}
	out.Since = math.Floor(told - at[len(at)-1])
	out.Chance = math.Exp(out.Since * math.Log1p(-float64(events)/told))
	if events < 2 {
		return out
	}
	gaps := make([]float64, 0, events-1)
	for i := 1; i < len(at); i++ {
		gaps = append(gaps, math.Max(0, math.Round(at[i]-at[i-1])-1))
	}
	out.Chart, out.Times = GeometricChart(gaps), TestEventTimes(at, told)
	out.Gaps = gaps[max(0, len(gaps)-200):]
	return out
}
