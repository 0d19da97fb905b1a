package page_test

import (
	"fmt"
	"math"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
	"rollonset/report/archive"
)

// The fixture is one invented flight of an invented operator: a takeoff that
// began with the flaps up, was warned and rejected, and six minutes later a
// normal one. Its summary is written by hand and its clip by closed-form
// motion, so that both can be checked with a pencil.

var fixtureStart = time.Date(2031, 3, 7, 4, 10, 0, 0, time.UTC)

func f(v float64) *float64 { return &v }

// moment is a moment at t seconds with half a second on both sides.
func moment(t float64) *archive.Moment {
	return &archive.Moment{At: t, Earliest: t - 0.5, Latest: t + 0.5, UTC: fixtureStart.Add(time.Duration(t * 1e9)).Format(time.RFC3339Nano)}
}

func reading(v, spread float64) *archive.Reading {
	return &archive.Reading{Value: v, Low: v - spread, High: v + spread}
}

// finding is a check within its limits.
func finding(check, title, parameter, unit, text, limit string, value, margin *float64) archive.FindingSummary {
	return archive.FindingSummary{
		Check: check, Title: title, State: "within limits", AtOnset: "within limits", Parameter: parameter, Unit: unit,
		Value: value, Text: text, Limit: limit, Margin: margin, WorstMargin: margin, Age: f(0.13), Raw: "X_" + parameter, Life: true,
	}
}

func ordinaryFindings() []archive.FindingSummary {
	trim := finding("trim", "stabilizer trim inside the band for weight and CG", "stabilizer_trim", "units", "4.80 units", "3.60 to 5.60 units", f(4.8), f(0.8))
	trim.LimitLow, trim.LimitHigh, trim.MarginShare = f(3.6), f(5.6), f(0.4)
	steering := finding("main-gear steering", "main-gear steering centered", "main_gear_steering", "", "centered", "centered", nil, nil)
	steering.Life, steering.LifeWhy = false, "the state not centered was never seen"
	return []archive.FindingSummary{
		finding("flap lever", "flap lever in a takeoff setting", "flap_lever", "deg", "10 deg", "10 deg or 20 deg", f(10), f(0.5)),
		trim,
		finding("parking brake", "parking brake released", "parking_brake", "", "released", "released", nil, nil),
		finding("speedbrake lever", "speedbrake lever in its detent", "speedbrake_lever", "%", "0.0 %", "at most 2 %", f(0), f(2)),
		steering,
	}
}

// rejectedAttempt: onset at 60 s with the flaps up, warned, cut at 63.1 s.
func rejectedAttempt() archive.AttemptSummary {
	a := archive.AttemptSummary{
		Number: 1, ID: "0123456789ab-1", Outcome: "rejected", Why: "all engines fell below the threshold and the speed fell to a stop",
		ThrustAdvance: moment(59), Onset: moment(60), RollStart: moment(60.2), ThrustCut: moment(63.1), Peak: moment(63.6), Stop: moment(67.2),
		PeakSpeed: reading(15, 0.5), OnsetSpeed: reading(0, 0), GroundBy: "air_ground", ThrustBy: "epr", Engines: []int{1, 2, 3, 4}, NextMinutes: f(6.2),
		Findings: ordinaryFindings(),
	}
	flap := &a.Findings[0]
	flap.State, flap.AtOnset, flap.Value, flap.Text = "out of limits", "out of limits", f(0), "0 deg"
	flap.Margin, flap.WorstMargin = f(-9.5), f(-9.5)
	flap.Severity, flap.Rule = "medium", "by speed: below 40 kt low; raised one step, margin worse than 4 deg"
	flap.Stretches = []archive.OutOfLimits{{From: *moment(60), To: *moment(63.1), SpeedFrom: reading(0, 0), SpeedTo: reading(14, 1), Ended: "thrust cut", Value: f(0), Margin: f(-9.5)}}
	a.Warning = &archive.WarningSummary{Verdict: "both", Due: []string{"flap lever"}, First: moment(60.8), Ended: moment(64), Delay: f(0.8), Reaction: f(2.3)}
	a.Reject = &archive.RejectSummary{
		Class: "low-speed", FirstAction: &archive.Action{What: "thrust", At: *moment(63.1)},
		Actions:        []archive.Action{{What: "thrust", At: *moment(63.1)}, {What: "brakes", At: *moment(64.4)}},
		GroundAtAction: reading(14, 1), GroundAtCut: reading(14, 1), PeakGround: reading(15, 0.5),
		Cues: []archive.Action{{What: "takeoff warning", At: *moment(60.8)}}, MeanDeceleration: f(0.21), PeakDeceleration: f(0.26),
		ToCut: f(11), ToPeak: f(14), ToStop: f(38), Energy: f(8.1), EnergyPerWheel: f(0.5), HeadingDeviation: f(0.4),
		Severity: "low", Rule: "low-speed reject",
	}
	a.Events = []archive.EventSummary{
		{Kind: "configuration", Check: "flap lever", Severity: "medium", Rule: flap.Rule},
		{Kind: "reject", Check: "low-speed", Severity: "low", Rule: "low-speed reject"},
	}
	return a
}

// takeoffAttempt: onset at 432 s, lift-off 40 s later.
func takeoffAttempt() archive.AttemptSummary {
	return archive.AttemptSummary{
		Number: 2, ID: "0123456789ab-2", Outcome: "airborne", Why: "air state lasted",
		ThrustAdvance: moment(431), Onset: moment(432), RollStart: moment(432.2), Rotation: moment(469), LiftOff: moment(472),
		PeakSpeed: reading(156.5, 1), OnsetSpeed: reading(0, 0), GroundBy: "air_ground", ThrustBy: "epr", Engines: []int{1, 2, 3, 4},
		Findings: ordinaryFindings(), Warning: &archive.WarningSummary{Verdict: "neither"},
	}
}

func fixtureSummary(attempts ...archive.AttemptSummary) archive.Summary {
	s := archive.Summary{
		Schema: archive.SchemaVersion, Key: "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef",
		Caution: "This page supports a safety-management process. It releases no aircraft, judges no crew and replaces no approved procedure.",
		Flight: archive.Flight{
			Folder: "flights/2031/03/07/0123456789ab", Tail: "ZZ-Q07", Type: "QX40", Flight: "MA204", Runway: "24", Date: "2031-03-07",
			StartUTC: fixtureStart.Format(time.RFC3339Nano), From: "file name",
		},
		Recording: archive.RecordingInfo{File: "ZZ-Q07_20310307T0410_MA204.csv", SHA256: "aa00", Bytes: 1234567, Format: "CSV", Rows: 4800, Columns: 212, Used: 24, Clock: "seconds", Duration: 600},
		Profile:   archive.ProfileInfo{Name: "QX40", Title: "four-engine widebody", Version: "2031-1", File: "fleet/qx40.yaml", SHA256: "bb00"},
		Versions:  archive.Versions{Detection: "1", Program: "0.1.0"},
		Attempts:  attempts,
		Sensors: []archive.Sensor{
			{Parameter: "ground_speed", Names: []string{"GS"}, Unit: "kt", Samples: 600, Period: 1, Expected: f(1), Low: f(0), High: f(156.5)},
			{Parameter: "airspeed", Names: []string{"CAS", "CAS_2"}, Unit: "kt", Samples: 555, Period: 1, Expected: f(0.5), Masked: map[string]int{"spike": 1, "below the airspeed floor": 44}, Low: f(30), High: f(160)},
			{Parameter: "parking_brake", Names: []string{"PBRK"}, Samples: 600, Period: 1, States: []string{"released", "set"}},
		},
		Notes: []string{"column CAS, row 512: one sample masked as a spike"},
		Clip:  &archive.FileHash{File: "flights/2031/03/07/0123456789ab/clip.parquet", SHA256: "cc00"},
	}
	for _, name := range []string{"flap lever", "trim", "parking brake", "speedbrake lever", "main-gear steering"} {
		c := archive.CheckCoverage{Check: name, Told: len(attempts), Attempts: len(attempts), Life: true}
		if name == "main-gear steering" {
			c.Life, c.LifeWhy = false, "the state not centered was never seen"
		}
		s.Coverage = append(s.Coverage, c)
	}
	return s
}

// rejectThenTakeoff is the flight of the goldens.
func rejectThenTakeoff() archive.Summary { return fixtureSummary(rejectedAttempt(), takeoffAttempt()) }

// untoldTrim is a takeoff whose trim cannot be judged and whose warning is
// not recorded.
func untoldTrim() archive.Summary {
	a := takeoffAttempt()
	a.Number, a.ID = 1, "fedcba987654-1"
	trim := &a.Findings[1]
	trim.State, trim.AtOnset, trim.Reason = "cannot be told", "cannot be told", "stabilizer_trim not recorded"
	trim.Value, trim.Text, trim.Margin, trim.WorstMargin, trim.MarginShare, trim.LimitLow, trim.LimitHigh, trim.Age = nil, "", nil, nil, nil, nil, nil, nil
	a.Warning = &archive.WarningSummary{Verdict: "cannot be told", Reason: "the warning is not recorded on this aircraft"}
	s := fixtureSummary(a)
	s.Flight.Tail, s.Flight.Flight, s.Flight.Folder = "ZZ-Q09", "MA17", "flights/2031/03/07/fedcba987654"
	s.Coverage[1].Told = 0
	s.Coverage[1].Life, s.Coverage[1].LifeWhy = false, "not recorded"
	s.LookAlike = []archive.LookAlike{{Kind: "run-up", From: 100, To: 140, Why: "no movement for 40 s"}}
	return s
}

const hostile = `</script><script>alert(1)</script><img src=x onerror="alert(2)">'"&`

// hostileNames is a takeoff in which every text that comes from outside is an
// attack.
func hostileNames() archive.Summary {
	a := rejectedAttempt()
	a.ID, a.Why, a.Findings[0].Check, a.Findings[0].Title, a.Findings[0].Text, a.Findings[0].Raw = hostile, hostile, hostile, hostile, hostile, hostile
	a.Reject.Actions[1].What, a.Reject.Cues[0].What, a.Events[0].Rule = hostile, hostile, hostile
	s := fixtureSummary(a)
	s.Flight.Tail, s.Flight.Flight, s.Flight.Runway, s.Flight.Folder = hostile, "javascript:alert(3)", hostile, "javascript:alert(4)"
	s.Recording.File, s.Profile.Title, s.Notes = hostile, hostile, []string{hostile}
	s.Clip.File = "javascript:alert(5)"
	s.Sensors[0].Names = []string{hostile}
	return s
}

// groundSpeed is the fixture's motion: 5 kt/s up to the cut and 4 kt/s down
// from the peak, then 4 kt/s for the takeoff.
func groundSpeed(t float64) float64 {
	switch {
	case t < 60.2:
		return 0
	case t < 63.6:
		return (t - 60.2) * 15 / 3.4
	case t < 67.2:
		return max(0, 15-(t-63.6)*15/3.6)
	case t < 432.2:
		return 0
	}
	return (t - 432.2) * 4
}

func epr(t float64) float64 {
	up := func(from float64) float64 { return 1.01 + 0.4*min(max((t-from)/4, 0), 1) }
	switch {
	case t < 58:
		return 1.01
	case t < 63.1:
		return up(58)
	case t < 430:
		return max(1.0, up(58)-0.3*(t-63.1))
	}
	return up(430)
}

// fixtureClip samples the motion at the given rate, quantised as a recorder
// does, in one window for each attempt.
func fixtureClip(rate float64) *flightdata.Recording {
	r := &flightdata.Recording{
		Start: fixtureStart, IsClip: true, Clock: "seconds", Span: span.Span{To: span.Sec(600)},
		Windows: span.Of(span.Span{From: span.Sec(20), To: span.Sec(90)}, span.Span{From: span.Sec(400), To: span.Sec(500)}),
		Series:  map[flightdata.Parameter]*flightdata.Series{}, Life: map[flightdata.Parameter]flightdata.Life{},
	}
	add := func(p flightdata.Parameter, rate, quantum float64, value func(float64) float64) *flightdata.Series {
		d, ok := flightdata.Define(p)
		if !ok {
			panic(fmt.Sprintf("fixture: no parameter %s", p))
		}
		s := &flightdata.Series{Parameter: p, Kind: d.Kind, States: d.States, Period: time.Duration(1e9 / rate)}
		if d.Kind == flightdata.Continuous {
			s.Unit = unit.Canonical(d.Dims[0])
		}
		for _, w := range r.Windows {
			for i := math.Ceil(w.From.Seconds() * rate); i/rate < w.To.Seconds(); i++ {
				s.Times = append(s.Times, span.Sec(i/rate))
				s.Values = append(s.Values, math.Round(value(i/rate)/quantum)*quantum)
			}
		}
		s.Masks = make([]flightdata.Mask, len(s.Times))
		r.Series[p] = s
		return s
	}
	between := func(from, to float64) func(float64) float64 {
		return func(t float64) float64 {
			if t >= from && t < to {
				return 1
			}
			return 0
		}
	}
	add(flightdata.GroundSpeed, rate, 0.1, groundSpeed)
	air := add(flightdata.Airspeed, rate, 0.25, func(t float64) float64 { return groundSpeed(t) * 1.02 })
	for i, v := range air.Values {
		if v < 30 {
			air.Masks[i] = flightdata.BelowFloor
		}
	}
	for n := 1; n <= 4; n++ {
		lag := float64(n) * 0.15
		add(flightdata.EPR.Engine(n), rate, 0.001, func(t float64) float64 { return epr(t - lag) })
		add(flightdata.ThrustLever.Engine(n), rate, 0.5, func(t float64) float64 { return 5 + (epr(t+0.5)-1)*100 })
	}
	flap := func(t float64) float64 { return 10 * min(max((t-410)/8, 0), 1) }
	add(flightdata.FlapLever, rate, 1, func(t float64) float64 { return 10 * between(410, 1e9)(t) })
	left := add(flightdata.FlapPosition.Left(), rate/2, 0.1, flap)
	add(flightdata.FlapPosition.Right(), rate/2, 0.1, func(t float64) float64 { return flap(t - 0.3) })
	left.Masks[40] = flightdata.Spike
	left.Values[40] = 39
	add(flightdata.StabilizerTrim, rate, 0.01, func(t float64) float64 { return 4.8 + 0.02*math.Sin(math.Pi*t/6) })
	brake := func(t float64) float64 {
		return 1800*between(20, 58.5)(t) + 1200*between(64.4, 67.5)(t) + 1800*between(400, 431)(t)
	}
	add(flightdata.BrakePressure.Left(), rate, 10, brake)
	add(flightdata.BrakePressure.Right(), rate, 10, func(t float64) float64 { return brake(t) * 0.97 })
	add(flightdata.SpeedbrakeLever, rate, 0.5, func(float64) float64 { return 0 }).Unit = unit.Must("%")
	add(flightdata.ParkingBrake, rate, 1, func(t float64) float64 { return between(20, 57)(t) })
	add(flightdata.AirGround, rate, 1, between(472, 1e9))
	add(flightdata.TakeoffWarning, rate, 1, between(60.8, 64))
	add(flightdata.MasterWarning, rate, 1, between(60.8, 64))
	add(flightdata.MainGearSteering, rate, 1, between(1e9, 2e9))
	for n := 1; n <= 4; n++ {
		add(flightdata.ThrustReverser.Engine(n), rate, 1, between(1e9, 2e9))
	}
	add(flightdata.LongAcceleration, rate, 0.001, func(t float64) float64 { return (groundSpeed(t+0.1) - groundSpeed(t-0.1)) / 0.2 * 0.5144 / 9.80665 })
	add(flightdata.Heading, rate, 0.1, func(t float64) float64 { return 239.4 + 0.3*math.Sin(t/3) })
	// A dropout of the trim sensor: nothing may be drawn across it.
	drop(r.Series[flightdata.StabilizerTrim], 44, 49)
	return r
}

// drop removes the samples in [from, to) seconds.
func drop(s *flightdata.Series, from, to float64) {
	kept := *s
	kept.Times, kept.Values, kept.Masks = nil, nil, nil
	for i, t := range s.Times {
		if t.Seconds() < from || t.Seconds() >= to {
			kept.Times, kept.Values, kept.Masks = append(kept.Times, t), append(kept.Values, s.Values[i]), append(kept.Masks, s.Masks[i])
		}
	}
	*s = kept
}

func fixtureRun() archive.Run {
	return archive.Run{
		Schema: archive.RunSchemaVersion, ID: "20310308-0200", Program: "0.1.0", Detection: "1",
		Started: "2031-03-08T02:00:00Z", Finished: "2031-03-08T02:04:10Z",
		Profiles:   []archive.ProfileInfo{{Name: "QX40", Version: "2031-1"}},
		FlightList: "flights.csv",
		Recordings: []archive.RecordingLine{
			{File: "in/a.csv", Status: "processed"},
			{File: "in/b.csv", Status: "processed"},
			{File: "in/c.csv", Status: "processed"},
			{File: "in/d.csv", Status: "unreadable", Problem: "in/d.csv:1: no time column TIME", Remedy: "name the column under time.column of the profile"},
			{File: "in/e.parquet", Status: "unreadable", Problem: "in/e.parquet: the file ends in the middle of its footer"},
		},
		Missing: []string{"ZZ-Q03 MA311 2031-03-07"},
		Counts:  archive.RunCounts{Received: 5, Processed: 3, Unreadable: 2},
	}
}
