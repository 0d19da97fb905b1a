package takeoff_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// TestWhatIsSaidOfASpeedThatIsNoEvidence: what is recorded and not believed, or
// recorded and never valid, is not called unrecorded.
func TestWhatIsSaidOfASpeedThatIsNoEvidence(t *testing.T) {
	series := func(p flightdata.Parameter, m flightdata.Mask) *flightdata.Series {
		s := &flightdata.Series{Parameter: p, Period: time.Second}
		for i := range 100 {
			s.Times = append(s.Times, span.Instant(time.Duration(i)*time.Second))
			s.Values, s.Masks = append(s.Values, 50), append(s.Masks, m)
		}
		return s
	}
	for _, c := range []struct {
		name        string
		ground, air flightdata.Mask
		side        bool
		want        string
	}{
		{"ground speed misread", flightdata.Doubted, flightdata.Good, false, "the recorded ground speed is not believed: movement on the ground is read from the airspeed"},
		{"ground speed misread, airspeed of one side", flightdata.Doubted, flightdata.Good, true, "the recorded ground speed is not believed: movement on the ground is read from the airspeed"},
		{"ground speed misread, airspeed below its floor", flightdata.Doubted, flightdata.BelowFloor, false, "the recorded ground speed is not believed; the recorded airspeed holds no valid sample: no takeoff"},
		{"both misread", flightdata.Doubted, flightdata.Doubted, false, "the recorded ground speed is not believed; the recorded airspeed is not believed: no takeoff"},
	} {
		t.Run(c.name, func(t *testing.T) {
			air := flightdata.Airspeed
			if c.side {
				air = air.Left()
			}
			rec := &flightdata.Recording{
				Span: span.Span{To: span.Instant(99 * time.Second)}, Life: map[flightdata.Parameter]flightdata.Life{}, Doubted: map[flightdata.Parameter]string{},
				Series: map[flightdata.Parameter]*flightdata.Series{flightdata.GroundSpeed: series(flightdata.GroundSpeed, c.ground), air: series(air, c.air)},
			}
			for p, s := range rec.Series {
				if rec.Life[p] = flightdata.Observe(s); s.Masks[0] == flightdata.Doubted {
					rec.Doubted[p] = "of a test"
				}
			}
			found := takeoff.Find(rec, &profile.Profile{Engines: 2, Thrust: profile.ThrustRule{Measure: flightdata.N1, Threshold: 70}})
			if notes := fmt.Sprint(found.Notes); !strings.Contains(notes, c.want) || strings.Contains(notes, "neither speed") {
				t.Errorf("notes %s, want %q", notes, c.want)
			}
		})
	}
}
