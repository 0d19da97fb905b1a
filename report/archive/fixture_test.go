package archive

import (
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/detect/reject"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares with testdata/<name>, or writes it under -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got); run with -update if that is meant:\n%s", file, diff)
	}
}

var (
	nan      = math.NaN()
	versions = Versions{Detection: "1", Program: "0.1.0"}
)

func ptr[T any](v T) *T { return &v }

func sec(s float64) span.Instant { return span.Sec(s) }

// near is a moment with a bracket of half a second on either side.
func near(s float64) span.Moment { return span.Within(sec(s), sec(s-0.5), sec(s+0.5)) }

func read(v float64) flightdata.Reading {
	return flightdata.Reading{Value: v, Low: v - 1, High: v + 1, OK: true}
}

// ramp samples a straight line from a to b at every step seconds of [0, end].
func ramp(p flightdata.Parameter, u, name string, step, end, a, b float64) *flightdata.Series {
	s := &flightdata.Series{
		Parameter: p, Unit: unit.Must(u), Period: sec(step).Sub(0),
		Origin: flightdata.Origin{Names: []string{name}, Unit: u},
	}
	for i := 0; float64(i)*step <= end; i++ {
		at := float64(i) * step
		s.Times = append(s.Times, sec(at))
		s.Values = append(s.Values, a+(b-a)*at/end)
	}
	return s
}

func testProfile() *profile.Profile {
	p := &profile.Profile{
		Name: "QX40", Title: "four-engine widebody QX40 of the invented operator Marrow Air", Version: "2031-1",
		Path: "fleet/qx40.yaml", Source: []byte("rollonset: 1\nname: QX40\n"),
		Parameters: []profile.ParameterRule{
			{Parameter: flightdata.GroundSpeed, Unit: unit.Must("kt"), Canonical: unit.Must("kt"), Rate: 1},
			{Parameter: flightdata.FlapLever, Unit: unit.Must("deg"), Canonical: unit.Must("deg"), Rate: 1},
			{Parameter: flightdata.ParkingBrake, Kind: flightdata.Discrete, Rate: 1},
			{Parameter: flightdata.StabilizerTrim, Unit: unit.Must("units"), Canonical: unit.Must("units"), Rate: 0.3},
		},
		Checks: []profile.Check{
			{Name: "flap lever", OneOf: &profile.OneOf{Parameter: flightdata.FlapLever, Settings: []float64{10, 20}}},
			{Name: "trim", Range: &profile.Range{Parameter: flightdata.StabilizerTrim, Min: 2, Max: math.Inf(1)}},
			{Name: "parking brake", State: &profile.State{Parameter: flightdata.ParkingBrake, Is: "released"}},
		},
	}
	sum := sha256.Sum256(p.Source)
	p.SHA256 = hex.EncodeToString(sum[:])
	return p
}

func testRecording() *flightdata.Recording {
	flap := ramp(flightdata.FlapLever, "deg", "FLAP_LVR", 1, 60, 5, 5)
	flap.Masks = make([]flightdata.Mask, len(flap.Times))
	flap.Values[30], flap.Masks[30] = 500, flightdata.OutOfRange
	brake := ramp(flightdata.ParkingBrake, "", "PBRK", 1, 60, 0, 0)
	brake.Kind, brake.States, brake.Origin.Unit = flightdata.Discrete, []string{"released", "set"}, ""
	r := &flightdata.Recording{
		Source: flightdata.Source{
			Path: "/data/2031/ZZ-Q17_20310307T041100_MA12.csv.gz", SHA256: strings.Repeat("ab", 32),
			Bytes: 123456, Format: "CSV gzip", Rows: 61, Columns: 40, Used: 3,
		},
		Identity: flightdata.Identity{Tail: "ZZ-Q17", Type: "QX40", Flight: "MA12", Date: "2031-03-07", From: "file name"},
		Start:    time.Date(2031, 3, 7, 4, 11, 0, 250e6, time.UTC), ClockOrigin: 15060250000000, Clock: "seconds",
		Span: span.Span{From: 0, To: sec(60)},
		Series: map[flightdata.Parameter]*flightdata.Series{
			flightdata.GroundSpeed: ramp(flightdata.GroundSpeed, "kt", "GS", 0.5, 60, 0, 0.3),
			flightdata.FlapLever:   flap, flightdata.ParkingBrake: brake,
		},
		Plan:  &flightdata.Plan{List: "lists/night.csv", Line: 7, PlannedFlap: ptr(10.0), V1: ptr(121.0)},
		Notes: []flightdata.Note{{Place: "column FLAP_LVR, row 32", Text: "One sample is out of range."}},
	}
	r.Windows = span.Of(r.Span)
	r.Life = map[flightdata.Parameter]flightdata.Life{}
	for p, s := range r.Series {
		r.Life[p] = flightdata.Observe(s)
	}
	return r
}

// testAssessment is a reject with the flaps out of limits and, later, the
// takeoff with the flaps set. Its figures are made up to exercise the layout,
// 0.1+0.2 among them, and need not follow from the samples.
func testAssessment() *detect.Assessment {
	return &detect.Assessment{
		Recording: testRecording(), Profile: testProfile(),
		Attempts: []detect.Attempt{rejectedAttempt(), flownAttempt()},
		LookAlikes: []takeoff.LookAlike{{
			Kind: "taxi burst", Span: span.Span{From: sec(1), To: sec(2.5)}, Why: "The heading turned by 40 deg below 30 kt.",
		}},
		Coverage: []detect.Coverage{
			{Check: "flap lever", Told: 2, Attempts: 2, Life: true},
			{Check: "trim", Told: 0, Attempts: 2, LifeWhy: "not recorded"},
			{Check: "parking brake", Told: 2, Attempts: 2, LifeWhy: "never seen set"},
		},
		Notes:   []flightdata.Note{{Text: "The trim is not recorded."}},
		Windows: span.Of(span.Span{From: sec(5), To: sec(25)}, span.Span{From: sec(30), To: sec(61)}),
	}
}

func rejectedAttempt() detect.Attempt {
	flap := configuration.Finding{
		Check: "flap lever", Title: "flap lever in a takeoff setting", State: configuration.Outside, AtOnset: configuration.Outside,
		Judged: span.Span{From: sec(11), To: sec(14.1)},
		Value:  5, Text: "5 deg", Raw: "FLAP_LVR in deg", Age: 250 * time.Millisecond,
		Limit: "10 or 20 deg, each ±0.5 deg", LimitLow: 9.5, LimitHigh: 20.5, Margin: -4.5, Worst: -4.5, MarginShare: -(0.1 + 0.2),
		Stretches: []configuration.Stretch{{
			From: near(11), To: near(14.1), SpeedFrom: read(0), SpeedTo: read(14), Ended: configuration.ByCut, Value: 5, Margin: -4.5,
		}},
		Life: true, Severity: "low", Rule: "held below 40 kt", ProfileLine: 71,
	}
	return detect.Attempt{
		Attempt: takeoff.Attempt{
			Number: 1, Outcome: takeoff.Rejected, Why: "All engines fell below 1.10 EPR and the speed fell to a stop.",
			ThrustAdvance: near(10), Onset: near(11), RollStart: near(11.2), ThrustCut: near(14.1), Peak: near(14.6), Stop: near(20),
			End: sec(20), GroundBy: "air_ground", ThrustBy: flightdata.EPR, Engines: []int{1, 2, 3, 4}, PeakSpeed: read(15),
		},
		Findings: []configuration.Finding{flap, untoldTrim(11, 14.1), releasedBrake(11, 14.1)},
		Warning: configuration.Warning{
			Verdict: configuration.WarnBoth, Due: []string{"flap lever"}, Untold: []string{"trim"},
			UntoldDue: []string{"trim"}, First: near(11.8), Ended: near(14.4),
			Delay:    &configuration.Delay{At: 800 * time.Millisecond, Earliest: 500 * time.Millisecond, Latest: 1100 * time.Millisecond, Check: "flap lever"},
			Reaction: ptr(2300 * time.Millisecond),
		},
		Reject: &reject.Measures{
			Class: "low-speed", FirstAction: reject.Action{What: "thrust", At: near(14.1)},
			Actions:        []reject.Action{{What: "thrust", At: near(14.1)}, {What: "brakes", At: near(14.5)}},
			Order:          "thrust and brakes: order not resolvable",
			GroundAtAction: read(14), GroundAtCut: read(14), PeakGround: read(15),
			AgainstV1: "before V1", V1: 121, V1From: "flight list",
			Cues:             []reject.Cue{{What: "takeoff warning", At: near(11.8)}},
			MeanDeceleration: 0.1 + 0.2, PeakDeceleration: 1.0 / 3, ToCut: 10.25, ToPeak: 14, ToStop: 38, PositionToStop: nan,
			ToCutLow: 9.5, ToCutHigh: 12.25, ToStopLow: 36, ToStopHigh: 40, CutToStop: 27.75, CutToStopTime: 5.9,
			Energy: nan, EnergyPerWheel: nan, EnergyWhy: "weight not recorded", HeadingDeviation: 0.5, LateralDeviation: nan, RunwayLeft: nan,
			Severity: "low", Rule: "low-speed reject",
		},
		Events: []detect.Event{
			{Kind: detect.ConfigurationEvent, Check: "flap lever", Severity: "low", Rule: "held below 40 kt"},
			{Kind: detect.RejectEvent, Check: "low-speed", Severity: "low", Rule: "low-speed reject"},
		},
		Next: ptr(24 * time.Second),
	}
}

func flownAttempt() detect.Attempt {
	flap := configuration.Finding{
		Check: "flap lever", Title: "flap lever in a takeoff setting", State: configuration.Within, AtOnset: configuration.Within,
		Judged: span.Span{From: sec(35), To: sec(55)}, Value: 10, Text: "10 deg", Raw: "FLAP_LVR in deg",
		Limit: "10 or 20 deg, each ±0.5 deg", LimitLow: 9.5, LimitHigh: 20.5, Margin: 0.5, Worst: 0.5, MarginShare: nan,
		Life: true, ProfileLine: 71,
	}
	return detect.Attempt{
		Attempt: takeoff.Attempt{
			Number: 2, Outcome: takeoff.Airborne, Why: "The air state lasted.", Rolling: true,
			ThrustAdvance: near(34), Onset: near(35), RollStart: near(35.123456789), Rotation: near(55), LiftOff: near(57), End: sec(57),
			GroundBy: "air_ground", ThrustBy: flightdata.EPR, Engines: []int{1, 2, 3, 4}, PeakSpeed: read(150),
		},
		Findings: []configuration.Finding{flap, untoldTrim(35, 55), releasedBrake(35, 55)},
		Warning:  configuration.Warning{Verdict: configuration.WarnNeither, Untold: []string{"trim"}},
	}
}

func untoldTrim(from, to float64) configuration.Finding {
	return configuration.Finding{
		Check: "trim", Title: "stabilizer trim inside the band", State: configuration.Unknown, AtOnset: configuration.Unknown,
		Reason: "stabilizer_trim: not recorded", Judged: span.Span{From: sec(from), To: sec(to)},
		Value: nan, Limit: "at least 2 units", LimitLow: 2, LimitHigh: math.Inf(1), Margin: nan, Worst: nan, MarginShare: nan,
		LifeWhy: "not recorded", ProfileLine: 110,
	}
}

func releasedBrake(from, to float64) configuration.Finding {
	return configuration.Finding{
		Check: "parking brake", Title: "parking brake released", State: configuration.Within, AtOnset: configuration.Within,
		Judged: span.Span{From: sec(from), To: sec(to)}, Value: 0, Text: "released", Raw: "PBRK",
		Limit: "released", LimitLow: nan, LimitHigh: nan, Margin: nan, Worst: nan, MarginShare: nan,
		LifeWhy: "never seen set", ProfileLine: 131,
	}
}
