package detect_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// lagCase has all of a reject but its motion: levers pulled at 90 s, sampled
// once a second.
const lagCase = `case: reject with a late ground speed
profile: quad
length: 150s
ground_speed       1 Hz  0 rest
longitudinal_acceleration 4 Hz  0 rest
pitch              4 Hz  0 rest
n1.*               1 Hz from 0.4s  25 until 57s, ..95 in 4s, 95 until 90s, ..25 in 3s, rest
thrust_lever.*     1 Hz from 0.6s  5 until 57s, ..60 in 3s, 60 until 90s, ..5 in 0.5s, rest
air_ground         1 Hz  ground rest
heading            1 Hz  90 rest
brake_pressure.*   1 Hz  0 until 91s, 1500 until 112s, 0 rest
gross_weight       0.25 Hz  300000 rest
expect attempt 1: rejected
`

// corners are the acceleration along the runway, g, straight between them: the
// engines give way a tenth of a second after the levers, brakes bite at 91 s.
var corners = []struct{ at, g float64 }{{60, 0}, {61, 0.2}, {90.1, 0.2}, {91, 0.1}, {92, -0.3}, {200, -0.3}}

// moved integrates corners exactly: acceleration in g, speed in m/s, way in m.
func moved(t float64) (g, speed, way float64) {
	const gravity = 9.80665
	for i := 0; i+1 < len(corners) && corners[i].at < t; i++ {
		a, b := corners[i], corners[i+1]
		dt := math.Min(t, b.at) - a.at
		rise := (b.g - a.g) / (b.at - a.at)
		g = a.g + rise*dt
		end := speed + gravity*(a.g*dt+rise*dt*dt/2)
		if end <= 0 && i == len(corners)-2 { // it stops on the last, steady stretch
			stop := speed / (-a.g * gravity)
			return 0, 0, way + speed*stop/2
		}
		way += speed*dt + gravity*(a.g*dt*dt/2+rise*dt*dt*dt/6)
		speed = end
	}
	return g, speed, way
}

// TestLateGroundSpeed measures the same reject from ground speeds of a whole
// knot that come late by nothing, a quarter and half a second: at 115 kt half
// a second is 30 m. Attitude and offset of the accelerometer must not matter.
func TestLateGroundSpeed(t *testing.T) {
	const knot = 1852.0 / 3600
	_, atCut, toCut := moved(90)
	_, fast, _ := moved(91.25) // the acceleration passes zero a quarter into the bite
	_, v92, _ := moved(92)
	stop := 92 + v92/(0.3*9.80665)
	_, _, toStop := moved(stop + 1)
	for _, c := range []struct{ lag, noseUp, offset float64 }{{0, 0, 0}, {0.25, 0, 0.02}, {0.5, 0, -0.02}, {0.5, 4, 0}} {
		t.Run(fmt.Sprintf("%g s, nose %g deg", c.lag, c.noseUp), func(t *testing.T) {
			cases, err := casefile.Parse("testdata/lag", lagCase)
			if err != nil {
				t.Fatal(err)
			}
			rec, prof := cases[0].Build(t, os.ReadFile)
			up := func(at float64) float64 { return c.noseUp * math.Max(0, 1-math.Abs(at-88)/2) } // up and down about 88 s
			rec.Series[flightdata.GroundSpeed] = sampled(rec.Get(flightdata.GroundSpeed), 0.2, func(at float64) float64 {
				_, v, _ := moved(at - c.lag)
				return math.Round(v / knot)
			})
			rec.Series[flightdata.Pitch] = sampled(rec.Get(flightdata.Pitch), 0.1, up)
			rec.Series[flightdata.LongAcceleration] = sampled(rec.Get(flightdata.LongAcceleration), 0.05, func(at float64) float64 {
				g, _, _ := moved(at)
				return math.Round((g+c.offset+math.Sin(up(at)*math.Pi/180))/0.002) * 0.002
			})
			a := detect.Assess(rec, prof).Attempts[0]
			r := a.Reject
			near(t, "thrust cut, s", a.ThrustCut.At.Seconds(), 90, 0.1, a.ThrustCut.Earliest.Seconds(), a.ThrustCut.Latest.Seconds())
			near(t, "stop, s", a.Stop.At.Seconds(), stop, 0.3, a.Stop.Earliest.Seconds(), a.Stop.Latest.Seconds())
			near(t, "ground speed at the cut, kt", r.GroundAtCut.Value, atCut/knot, 0.8, r.GroundAtCut.Low, r.GroundAtCut.High)
			near(t, "peak, kt", r.PeakGround.Value, fast/knot, 0.5, r.PeakGround.Low, r.PeakGround.High)
			near(t, "to the cut, m", r.ToCut, toCut, 0.01*toCut, r.ToCutLow, r.ToCutHigh)
			near(t, "to the stop, m", r.ToStop, toStop, 5, r.ToStopLow, r.ToStopHigh)
			near(t, "from cut to stop, m", r.CutToStop, toStop-toCut, 0.015*toCut, 0, toStop)
			near(t, "from cut to stop, s", r.CutToStopTime, stop-90, 0.3, 0, stop)
		})
	}
}

// sampled is a series at the rate of another, of a value at a time.
func sampled(like *flightdata.Series, from float64, value func(float64) float64) *flightdata.Series {
	out := *like
	out.Times, out.Values, out.Masks = nil, nil, nil
	for at := span.Sec(from); at < span.Sec(150); at = at.Add(like.Period) {
		out.Times, out.Values = append(out.Times, at), append(out.Values, value(at.Seconds()))
	}
	return &out
}

// near wants a figure near its true value, and that value in the bracket.
func near(t *testing.T, what string, got, want, off, low, high float64) {
	t.Helper()
	if !(math.Abs(got-want) <= off) || !(low <= want && want <= high) {
		t.Errorf("%s: %.3f [%.3f, %.3f], want %.3f ± %g in the bracket", what, got, low, high, want, off)
	}
}
