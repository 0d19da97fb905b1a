package configuration

import (
	"testing"

	"rollonset/ingest/flightdata"
)

// The flight list may stand in for a weight or a center of gravity that was
// not recorded. It must not stand in for the flaps: that they were set as
// planned is what is being asked.
func TestFlightListStandsInForWeightOnly(t *testing.T) {
	planned := 10.0
	r := &ruler{rec: &flightdata.Recording{Plan: &flightdata.Plan{PlannedFlap: &planned, Weight: &planned, CG: &planned, Trim: &planned}}}
	for p, want := range map[flightdata.Parameter]bool{
		flightdata.GrossWeight: true, flightdata.CenterOfGravity: true,
		flightdata.FlapLever: false, flightdata.FlapPosition: false, flightdata.StabilizerTrim: false,
	} {
		if got, why := r.over(p, 0); got.known != want || why == "" {
			t.Errorf("%s: known %v (%s), want %v", p, got.known, why, want)
		}
	}
}
