package reject

import (
	"fmt"
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// metresPerSecond is one knot in m/s, exact by definition (NIST SP 811
// appendix B.8: the nautical mile is 1852 m). ktPerG is standard gravity in
// kt per second.
const (
	metresPerSecond = 1852.0 / 3600
	ktPerG          = 9.80665 / metresPerSecond
)

// distances are measured from the roll start: to the thrust cut, to the peak,
// to the stop, with the bracket that instants and lag leave open.
func (m *measurer) distances() {
	o, from := m.out, m.a.RollStart
	if cut := m.a.ThrustCut; cut.Known {
		o.ToCut = m.track.Distance(from.At, cut.At)
		o.ToCutLow, o.ToCutHigh = m.track.Between(from, cut)
	}
	if m.a.Peak.Known {
		o.ToPeak = m.track.Distance(from.At, m.a.Peak.At)
	}
	stop := m.a.Stop
	if !stop.Known {
		return
	}
	o.ToStop = m.track.Distance(from.At, stop.At)
	o.ToStopLow, o.ToStopHigh = m.track.Between(from, stop)
	if cut := m.a.ThrustCut; cut.Known && cut.At <= stop.At {
		o.CutToStop, o.CutToStopTime = m.track.Distance(cut.At, stop.At), stop.At.Sub(cut.At).Seconds()
	}
	o.PositionToStop = m.betweenPositions(from.At, stop.At)
	if p := m.rec.Plan; p != nil && p.RunwayLengthM != nil {
		o.RunwayLeft = *p.RunwayLengthM - o.ToStop
		o.RunwayLeftIf = FromThreshold
	}
}

// betweenPositions is the straight way between two recorded positions, m, by
// the flat local formula with the WGS 84 radii at mid latitude: it agrees
// with the geodesic to better than a millimetre over a runway, computed
// against Vincenty (1975) in the tests.
func (m *measurer) betweenPositions(from, to span.Instant) float64 {
	lat, lon := m.series(flightdata.Latitude), m.series(flightdata.Longitude)
	a, b, c, d := lat.At(from), lon.At(from), lat.At(to), lon.At(to)
	if !a.OK || !b.OK || !c.OK || !d.OK {
		return math.NaN()
	}
	return Between(a.Value, b.Value, c.Value, d.Value)
}

// Between is the distance in metres between two positions a runway apart,
// degrees, WGS 84.
func Between(lat1, lon1, lat2, lon2 float64) float64 {
	const a, f = 6378137.0, 1 / 298.257223563
	const e2 = f * (2 - f)
	mid := (lat1 + lat2) / 2 * math.Pi / 180
	s := math.Sin(mid)
	w := 1 - float64(e2*s*s)
	meridian := a * (1 - e2) / (w * math.Sqrt(w))
	vertical := a / math.Sqrt(w)
	north := (lat2 - lat1) * math.Pi / 180 * meridian
	east := math.Remainder(lon2-lon1, 360) * math.Pi / 180 * vertical * math.Cos(mid)
	return math.Hypot(north, east)
}

// slowing is the stretch from the peak to the stop, or to the slowest sample
// that the data still holds.
func (m *measurer) slowing() (span.Span, bool) {
	if !m.a.Peak.Known {
		return span.Span{}, false
	}
	to := m.a.End
	if m.a.Stop.Known {
		to = m.a.Stop.At
	}
	return span.Span{From: m.a.Peak.At, To: to}, to > m.a.Peak.At
}

// decelerations: the mean over the slowing stretch from the ground speed; the
// peak as the strongest second of it, from the accelerometer freed of its
// bias where that is recorded, else from the ground speed.
func (m *measurer) decelerations() {
	sp, ok := m.slowing()
	a, b := m.track.At(sp.From), m.track.At(sp.To)
	if !ok || !a.OK || !b.OK {
		return
	}
	end := b.Value
	if m.a.Stop.Known && end < 3 {
		end = 0 // the stop is drawn to zero; the held sample may still read a knot
	}
	m.out.MeanDeceleration = (a.Value - end) / sp.Length().Seconds() / ktPerG
	m.out.PeakDeceleration = m.strongest(sp)
}

func (m *measurer) strongest(sp span.Span) float64 {
	s := m.series(flightdata.LongAcceleration)
	pts := slices.Collect(s.Good(sp))
	if len(pts) < 8 {
		return m.steepest(sp)
	}
	sum := 0.0
	for _, p := range pts {
		sum += p.Value
	}
	// The mean of the freed accelerometer must be the mean of the speed.
	bias := sum/float64(len(pts)) + m.out.MeanDeceleration
	best := math.NaN()
	for i := range pts {
		n, mean := 0, 0.0
		for k := i; k < len(pts) && pts[k].At.Sub(pts[i].At) < time.Second; k++ {
			n, mean = n+1, mean+pts[k].Value
		}
		if d := bias - mean/float64(n); pts[len(pts)-1].At.Sub(pts[i].At) >= time.Second && !(d <= best) {
			best = d
		}
	}
	return best
}

// steepest is the steepest fall of the ground speed over at least two seconds,
// so that one quantum of the speed does not set it.
func (m *measurer) steepest(sp span.Span) float64 {
	pts := slices.Collect(m.series(flightdata.GroundSpeed).Good(sp))
	best := math.NaN()
	for i := range pts {
		for k := i + 1; k < len(pts); k++ {
			if dt := pts[k].At.Sub(pts[i].At); dt >= 2*time.Second {
				if d := (pts[i].Value - pts[k].Value) / dt.Seconds() / ktPerG; !(d <= best) {
					best = d
				}
				break
			}
		}
	}
	return best
}

// energy bounds the brake energy from above: all kinetic energy from the
// brake application on, as if drag and reverse took none.
func (m *measurer) energy() {
	o := m.out
	mass, from := m.mass()
	if math.IsNaN(mass) {
		o.EnergyWhy = "weight neither recorded nor listed"
		return
	}
	applied := m.a.ThrustCut
	for _, a := range o.Actions {
		if a.What == "brakes" {
			applied = a.At
		}
	}
	if !applied.Known {
		o.EnergyWhy = "neither the brake application nor the thrust cut is known"
		return
	}
	gs := m.series(flightdata.GroundSpeed)
	v, end := m.track.At(applied.At), 0.0
	if !v.OK {
		o.EnergyWhy = "ground speed not known at the brake application"
		return
	}
	fast := v.Value
	for p := range gs.Good(span.Span{From: applied.At, To: m.a.End}) {
		fast = max(fast, p.Value)
	}
	if m.a.Peak.Known && applied.At <= m.a.Peak.Latest {
		fast = max(fast, o.PeakGround.Value) // drawn between samples; a bound must hold it
	}
	if m.a.Stop.Known {
		if r := m.track.At(m.a.Stop.At); r.OK && r.Value >= 3 {
			end = r.Value // turned off while moving
		}
	}
	o.Energy = Kinetic(mass, fast) - Kinetic(mass, end)
	o.EnergyWhy = from
	if n := m.prof.Reject.BrakedWheels; n > 0 {
		o.EnergyPerWheel = o.Energy / float64(n)
	}
}

// Kinetic is the kinetic energy, MJ, of a mass in kg at a ground speed in kt.
// It is the brake energy of 14 CFR 25.735 and 23.735 without their rounding of
// the constant.
func Kinetic(massKg, speedKt float64) float64 {
	v := speedKt * metresPerSecond
	return float64(massKg*v*v) / 2 / 1e6
}

func (m *measurer) mass() (float64, string) {
	if r := m.series(flightdata.GrossWeight).At(m.a.RollStart.At); r.OK {
		return r.Value, "weight as recorded"
	}
	if p := m.rec.Plan; p != nil && p.Weight != nil {
		return *p.Weight, "weight from the flight list"
	}
	return math.NaN(), ""
}

// runwayHeading is the median heading of the first seconds of the roll.
func (m *measurer) runwayHeading() (float64, bool) {
	var v []float64
	first := math.NaN()
	for p := range m.series(flightdata.Heading).Good(span.Span{From: m.a.RollStart.At, To: m.a.RollStart.At.Add(8 * time.Second)}) {
		if math.IsNaN(first) {
			first = p.Value
		}
		v = append(v, math.Remainder(p.Value-first, 360))
	}
	if len(v) == 0 {
		return 0, false
	}
	slices.Sort(v)
	return first + v[len(v)/2], true
}

// deviations follows the heading while the aircraft is faster than taxi: the
// largest departure, and how far that took it across the runway.
func (m *measurer) deviations() {
	ref, ok := m.runwayHeading()
	if !ok {
		return
	}
	gs := m.series(flightdata.GroundSpeed)
	last, some := span.Instant(0), false
	off, aside, most, far := 0.0, 0.0, 0.0, 0.0
	for p := range m.series(flightdata.Heading).Good(span.Span{From: m.a.RollStart.At, To: m.a.End + 1}) {
		v := gs.At(p.At)
		if !v.OK || p.At > m.a.ThrustAdvance.At.Add(5*time.Second) && v.Value < m.prof.Attempt.TaxiBelow && m.a.ThrustCut.Known && p.At > m.a.ThrustCut.At {
			break
		}
		off = math.Remainder(p.Value-ref, 360)
		if some {
			aside += float64(v.Value * metresPerSecond * math.Sin(off*math.Pi/180) * p.At.Sub(last).Seconds())
		}
		last, some = p.At, true
		most, far = max(most, math.Abs(off)), max(far, math.Abs(aside))
	}
	m.out.HeadingDeviation, m.out.LateralDeviation = most, far
}

// Describe is the class in words with the figure that set it, for accounts.
func (o *Measures) Describe() string {
	if o.GroundAtCut.OK {
		return fmt.Sprintf("%s, thrust cut at %.0f kt", o.Class, math.Round(o.GroundAtCut.Value))
	}
	return o.Class
}
