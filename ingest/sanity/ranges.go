package sanity

import (
	"fmt"

	"rollonset/ingest/flightdata"
)

// mostlyOut is the share of samples outside the possible range from which the
// few that are left are not believed either: they are in range by chance.
const mostlyOut = 0.3

// ranges doubts parameters that lie outside the possible range much of the
// time: their unit is another one.
func (s *scene) ranges() {
	for _, p := range s.params {
		n := s.rec.Get(p).MaskCounts()
		judged := n[flightdata.Good] + n[flightdata.OutOfRange] + n[flightdata.TooFast] + n[flightdata.Spike]
		if share := float64(n[flightdata.OutOfRange]) / float64(max(judged, 1)); judged >= 20 && share > mostlyOut {
			s.doubt(fmt.Sprintf("%.0f %% of its samples lie outside what is possible", 100*share), "check the unit of "+s.column(p), p)
		}
	}
}
