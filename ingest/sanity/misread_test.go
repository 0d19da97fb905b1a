package sanity_test

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
	"rollonset/sampledata/synth"
)

// misreading is one way to get a parameter wrong.
type misreading struct {
	name  string
	apply func(s *sheet, p *profile.Profile) bool // false: does not apply
	// wrong says why findings may come out wrong unseen, "" when they must not.
	wrong string
	// always says that it must be noticed on every flight.
	always bool
	// noList reads without the flight list.
	noList bool
}

func factor(p flightdata.Parameter, f float64, words string) misreading {
	return misreading{name: fmt.Sprintf("%s: %s", p, words), apply: func(s *sheet, prof *profile.Profile) bool {
		if !measuredIn(prof, p, words) {
			return false
		}
		return s.numbers(s.columns(prof, p), func(v float64) float64 { return v * f })
	}}
}

// measuredIn says whether the profile reads the parameter in a unit of the kind
// that the words are about: a trim in units is in no radians.
func measuredIn(prof *profile.Profile, p flightdata.Parameter, words string) bool {
	for _, r := range prof.Parameters {
		if r.Parameter != p && r.Parameter.Base() != p {
			continue
		}
		switch {
		case strings.Contains(words, "radians"):
			return r.Unit.Dim() == unit.Angle
		case strings.Contains(words, "%"):
			return r.Unit.Dim() == unit.Ratio
		}
		return true
	}
	return false
}

func inverted(p flightdata.Parameter) misreading {
	return misreading{name: string(p) + ": inverted", apply: func(s *sheet, prof *profile.Profile) bool { return s.invert(prof, p) }}
}

func upsideDown(p flightdata.Parameter) misreading {
	return misreading{name: string(p) + ": measured from the other end", apply: func(s *sheet, prof *profile.Profile) bool {
		top := s.largest(s.columns(prof, p))
		return s.numbers(s.columns(prof, p), func(v float64) float64 { return top - v })
	}}
}

func swapped(a, b flightdata.Parameter) misreading {
	return misreading{name: fmt.Sprintf("%s and %s exchanged", a, b), apply: func(s *sheet, prof *profile.Profile) bool { return s.swap(prof, a, b) }}
}

func same(a, b flightdata.Parameter) misreading {
	return misreading{name: fmt.Sprintf("%s read from the column of %s", b, a), apply: func(s *sheet, prof *profile.Profile) bool { return s.take(prof, a, b) }}
}

func clock(f float64, words string) misreading {
	return misreading{name: "time: " + words, apply: func(s *sheet, prof *profile.Profile) bool {
		if prof.Time.Form != profile.TimeSeconds {
			return false
		}
		return s.numbers([]int{s.column(prof.Time.Columns[0])}, func(v float64) float64 { return v * f })
	}}
}

func (m misreading) sure() misreading { m.always = true; return m }

func (m misreading) but(why string) misreading { m.wrong = why; return m }

// misreadings are all that are tried, each alone.
func misreadings() []misreading {
	var out []misreading
	add := func(m ...misreading) { out = append(out, m...) }
	const wind = "a small airspeed is below its floor but for seconds, over which wind hides a factor; only the airspeeds of a reject rest on it"
	for _, p := range []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed} {
		list := []misreading{
			factor(p, 1852./3600, "m/s read as kt"), factor(p, 3600./1852, "kt read as m/s"), factor(p, 1.852, "km/h read as kt"),
			factor(p, 1/1.852, "kt read as km/h"), factor(p, 3.6, "km/h read as m/s"), factor(p, 1/3.6, "m/s read as km/h"),
		}
		for _, m := range list {
			if p == flightdata.Airspeed {
				m = m.but(wind)
			}
			add(m)
		}
	}
	add(factor(flightdata.LongAcceleration, 9.80665, "m/s2 read as g"), factor(flightdata.LongAcceleration, 1/9.80665, "g read as m/s2"),
		factor(flightdata.LongAcceleration, -1, "sign"))
	for _, p := range []flightdata.Parameter{flightdata.RadioHeight, flightdata.PressureAltitude} {
		add(factor(p, 0.3048, "m read as ft"), factor(p, 1/0.3048, "ft read as m"))
	}
	add(factor(flightdata.Latitude, math.Pi/180, "radians"), factor(flightdata.Longitude, math.Pi/180, "radians"))
	lb, kg := factor(flightdata.GrossWeight, 1/0.45359237, "lb read as kg"), factor(flightdata.GrossWeight, 0.45359237, "kg read as lb")
	add(lb, kg)
	lb.noList, kg.noList = true, true
	lb.name, kg.name = lb.name+", no plan", kg.name+", no plan"
	add(lb, kg)
	for _, p := range []flightdata.Parameter{flightdata.Pitch, flightdata.Heading, flightdata.FlapLever, flightdata.FlapPosition, flightdata.StabilizerTrim, flightdata.ThrustLever} {
		rad, deg := factor(p, math.Pi/180, "radians read as deg"), factor(p, 180/math.Pi, "deg read as radians")
		if p == flightdata.StabilizerTrim {
			rad, deg = rad.but("a trim that never moves shows no step"), deg.but("a trim within a third of a degree that never moves shows no step")
		}
		switch p {
		case flightdata.Heading:
			const turn = "a turn tells a taxi burst from a reject; the note says that the heading is not believed"
			rad, deg = rad.but(turn), deg.but(turn)
		case flightdata.FlapLever, flightdata.FlapPosition:
			const still = "flaps that never move, or only by a degree, show no step"
			rad, deg = rad.but(still), deg.but(still)
		}
		add(rad, deg)
	}
	for _, p := range []flightdata.Parameter{flightdata.N1, flightdata.Torque, flightdata.CenterOfGravity, flightdata.SpeedbrakeLever} {
		fraction := factor(p, 0.01, "fraction read as %")
		if p == flightdata.SpeedbrakeLever {
			fraction = fraction.but("a lever that moves once and at once shows one step only, and it may be one of 1 %")
		}
		add(fraction, factor(p, 100, "% read as fraction"))
	}
	add(factor(flightdata.BrakePressure, 14.5, "bar for psi"), factor(flightdata.BrakePressure, 1/14.5, "psi for bar"))
	for _, p := range []flightdata.Parameter{
		flightdata.AirGround, flightdata.ParkingBrake, flightdata.ThrustReverser, flightdata.MainGearSteering,
		flightdata.Autobrake, flightdata.TakeoffWarning, flightdata.MasterWarning,
	} {
		m := inverted(p)
		switch p {
		case flightdata.AirGround, flightdata.TakeoffWarning:
			m = m.sure()
		case flightdata.ThrustReverser:
			m = m.but("without reversers reverse thrust counts as forward, so a cut comes late; the note says that they are not believed").sure()
		case flightdata.MainGearSteering:
			m = m.but("a steering that is off centre throughout a recording without a fast roll may really be so")
		}
		add(m)
	}
	const noStop = "a lever that is out from the gate to the end of a recording with neither flight nor stop may have been forgotten"
	add(upsideDown(flightdata.SpeedbrakeLever).but(noStop), upsideDown(flightdata.SpoilerPosition).but(noStop))
	for _, p := range []flightdata.Parameter{flightdata.N1, flightdata.EPR, flightdata.ThrustLever, flightdata.ThrustReverser} {
		add(swapped(p.Engine(1), p.Engine(2)))
	}
	for _, p := range []flightdata.Parameter{flightdata.N1, flightdata.EPR, flightdata.Torque} {
		add(same(p.Engine(1), p.Engine(2)))
	}
	for _, p := range []flightdata.Parameter{flightdata.FlapPosition, flightdata.BrakePressure} {
		add(swapped(p.Left(), p.Right()).but("left and right look alike"), same(p.Left(), p.Right()).but("two flap sensors on one computer may agree to the last bit"))
	}
	add(clock(1000, "ms read as s").sure(), clock(0.001, "s read as ms").sure())
	return out
}

// tally is what came of one misreading.
type tally struct {
	flights, seen, wrong, untold int
	first                        string // the first wrong finding
}

// TestMisreadingsAreNotBelieved injects each misreading into each flight. A
// finding must be the one of the clean flight or not be told.
func TestMisreadingsAreNotBelieved(t *testing.T) {
	flights, list := fly(t, synth.Options{N: many(t, 6), Seed: 78, Formats: []synth.Format{synth.CSV}})
	judgeAll(t, flights, fleet(t), list)
}

// TestMisreadingsOfOtherOriginAreNotBelieved does the same to the recordings
// that this project did not make.
func TestMisreadingsOfOtherOriginAreNotBelieved(t *testing.T) {
	paths, _ := filepath.Glob(filepath.Join(otherOrigin, "*.csv.gz"))
	if len(paths) == 0 {
		t.Skip("the recordings of other origin are not beside this clone: nothing is checked here")
	}
	if many(t, 1) == 1 {
		paths = []string{paths[0], paths[7]}
	}
	var flights []flown
	for _, p := range paths {
		flights = append(flights, flown{path: p})
	}
	profiles, err := profile.LoadDir("../../sampledata/simulator")
	if err != nil {
		t.Fatal(err)
	}
	judgeAll(t, flights, profiles, nil)
}

func judgeAll(t *testing.T, flights []flown, profiles []*profile.Profile, list *ingest.FlightList) {
	dir := t.TempDir()
	all := misreadings()
	tallies := make([]tally, len(all))
	for _, f := range flights {
		if f.broken() {
			continue
		}
		clean := readSheet(t, f.path)
		truth := [2]*detect.Assessment{assess(t, clean.write(t, dir), profiles, list), assess(t, clean.write(t, dir), profiles, nil)}
		for i, m := range all {
			s := clean.copy()
			if !m.apply(s, truth[0].Profile) {
				continue
			}
			flightList, want := list, truth[0]
			if m.noList {
				flightList, want = nil, truth[1]
			}
			tallies[i].add(filepath.Base(f.path)+" "+f.scenario, want, assess(t, s.write(t, dir), profiles, flightList))
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%-52s %7s %7s %7s %7s\n", "misreading", "flights", "doubted", "untold", "wrong")
	for i, m := range all {
		c := tallies[i]
		if c.flights == 0 {
			continue
		}
		fmt.Fprintf(&b, "%-52s %7d %7d %7d %7d  %s\n", m.name, c.flights, c.seen, c.untold, c.wrong, c.first)
		if m.always && c.seen < c.flights {
			t.Errorf("%s: noticed on %d of %d flights", m.name, c.seen, c.flights)
		}
		if c.wrong > 0 && m.wrong == "" {
			t.Errorf("%s: %d of %d flights come out wrong, first %s", m.name, c.wrong, c.flights, c.first)
		}
	}
	t.Log("\n" + b.String())
}

func assess(t *testing.T, path string, profiles []*profile.Profile, list *ingest.FlightList) *detect.Assessment {
	t.Helper()
	rec, prof, err := ingest.Open(path, profiles, ingest.Options{Flights: list})
	if err != nil {
		t.Fatal(err)
	}
	return detect.Assess(rec, prof)
}

// add compares a misread flight with the clean one.
func (c *tally) add(name string, want, got *detect.Assessment) {
	c.flights++
	if len(got.Recording.Doubted) > 0 {
		c.seen++
	}
	bad := differs(want, got)
	if bad != "" {
		c.wrong++
		if c.first == "" {
			c.first = name + ": " + bad
		}
		return
	}
	for _, a := range want.Attempts {
		b := find(got, &a)
		if b == nil {
			c.untold++
			return
		}
		for i := range a.Findings {
			if b.Findings[i].State != a.Findings[i].State {
				c.untold++
				return
			}
		}
	}
}

// find is the attempt of got that begins with a, nil when it has none.
func find(got *detect.Assessment, a *detect.Attempt) *detect.Attempt {
	for i := range got.Attempts {
		if d := got.Attempts[i].Onset.At.Sub(a.Onset.At); d < 10*time.Second && d > -10*time.Second {
			return &got.Attempts[i]
		}
	}
	return nil
}

// told says whether any finding of an attempt is.
func told(a *detect.Attempt) bool {
	for _, f := range a.Findings {
		if f.State != configuration.Unknown {
			return true
		}
	}
	return false
}

// mismeasured says which measure of a reject, or which severity, is told and
// is another one. What rests on a doubted parameter has its note.
func mismeasured(a, b *detect.Attempt, doubted map[flightdata.Parameter]string) string {
	if _, ok := doubted[flightdata.GroundSpeed]; ok {
		return ""
	}
	far := func(x, y flightdata.Reading) bool {
		return x.OK && y.OK && math.Abs(x.Value-y.Value) > 3+0.05*math.Abs(x.Value)
	}
	for k := range min(len(a.Findings), len(b.Findings)) {
		x, y := a.Findings[k], b.Findings[k]
		if x.State == configuration.Outside && y.State == configuration.Outside && x.Severity != y.Severity {
			return fmt.Sprintf("%s of severity %s for %s", x.Check, y.Severity, x.Severity)
		}
	}
	if a.Reject == nil || b.Reject == nil {
		return ""
	}
	switch {
	case a.Reject.Class != b.Reject.Class:
		return fmt.Sprintf("reject %s for %s", b.Reject.Class, a.Reject.Class)
	case far(a.Reject.PeakGround, b.Reject.PeakGround) || far(a.Reject.GroundAtCut, b.Reject.GroundAtCut):
		return fmt.Sprintf("peak ground speed %.0f for %.0f kt", b.Reject.PeakGround.Value, a.Reject.PeakGround.Value)
	case far(a.Reject.PeakAir, b.Reject.PeakAir):
		return fmt.Sprintf("peak airspeed %.0f for %.0f kt", b.Reject.PeakAir.Value, a.Reject.PeakAir.Value)
	}
	return ""
}

// differs says which finding of got is neither that of want nor untold. An
// attempt that is not found is wrong unless the recording says what it doubts.
func differs(want, got *detect.Assessment) string {
	for i := range want.Attempts {
		a := &want.Attempts[i]
		b := find(got, a)
		if b == nil {
			if len(got.Recording.Doubted) == 0 {
				return "attempt missed"
			}
			continue
		}
		for k := range min(len(a.Findings), len(b.Findings)) {
			x, y := a.Findings[k], b.Findings[k]
			if y.State != x.State && y.State != configuration.Unknown && x.State != configuration.Unknown {
				return fmt.Sprintf("%s %v for %v", x.Check, y.State, x.State)
			}
		}
		switch {
		case b.Outcome != a.Outcome && b.Outcome != "undetermined":
			return fmt.Sprintf("outcome %s for %s", b.Outcome, a.Outcome)
		case a.Warning.Verdict != b.Warning.Verdict && b.Warning.Verdict != configuration.WarnUnknown &&
			// It lists the checks that could not be told, one of them may be the cause.
			!(b.Warning.Verdict == configuration.WarnOnly && len(b.Warning.Untold) > 0):
			return fmt.Sprintf("warning %s for %s", b.Warning.Verdict, a.Warning.Verdict)
		}
		if why := mismeasured(a, b, got.Recording.Doubted); why != "" {
			return why
		}
	}
	for i := range got.Attempts {
		if b := &got.Attempts[i]; find(want, b) == nil && (b.Outcome != "undetermined" || told(b)) {
			return "attempt invented: " + string(got.Attempts[i].Outcome)
		}
	}
	return ""
}
