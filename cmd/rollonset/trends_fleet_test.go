package main

import (
	"fmt"
	"iter"
	"math/rand/v2"
	"testing"
	"time"

	"rollonset/report/archive"
)

// fleet is an invented operator for tests: years of takeoffs of three types
// on four bases, written as tables without any recording behind them.
type fleet struct {
	takeoffs int // over three years from January 2031
	seed     uint64
	// What is planted, each with its first day; the zero time for not at all.
	flapsDouble time.Time // the rate of flap events doubles at base ZZC
	trimDrifts  time.Time // trim margins of QX60 shrink by 0.03 units a month
	sensorDies  time.Time // the speedbrake lever of ZZ-Q07 is no longer told
}

var fleetBegin = time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)

// planted is the archive of the issue: three changes and nothing else.
func planted(takeoffs int, seed uint64) fleet {
	return fleet{
		takeoffs: takeoffs, seed: seed, flapsDouble: time.Date(2033, 2, 1, 0, 0, 0, 0, time.UTC),
		trimDrifts: time.Date(2032, 1, 1, 0, 0, 0, 0, time.UTC), sensorDies: time.Date(2033, 4, 1, 0, 0, 0, 0, time.UTC),
	}
}

// fleetChecks are the checks, their rates of events and their margins.
var fleetChecks = []struct {
	name, unit   string
	rate         float64
	low, high    float64
	mean, spread float64 // of the value
}{
	{"flap lever", "deg", 0.004, 9, 21, 15, 1},
	{"speedbrake lever", "deg", 0.0015, 0, 2, 0.6, 0.2},
	{"trim", "units", 0.003, 3, 8, 5.4, 0.35},
	{"parking brake", "", 0.001, 0, 0, 0, 0},
	{"trim placarded", "units", 0.0008, 2, 9, 5.4, 0.35},
}

// write makes an archive of the fleet in a new folder.
func (f fleet) write(t testing.TB, dir string) *archive.Archive {
	t.Helper()
	a, err := archive.Create(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.WriteTables("three-years", f.summaries()); err != nil {
		t.Fatal(err)
	}
	return a
}

func (f fleet) summaries() iter.Seq2[archive.Summary, error] {
	return func(yield func(archive.Summary, error) bool) {
		r := rand.New(rand.NewPCG(f.seed, 6))
		days := int(fleetBegin.AddDate(3, 0, 0).Sub(fleetBegin).Hours() / 24)
		n := 0
		for d := range days {
			day := fleetBegin.AddDate(0, 0, d)
			for ; n*days < (d+1)*f.takeoffs && n < f.takeoffs; n++ {
				if !yield(f.flight(day, n, r), nil) {
					return
				}
			}
		}
	}
}

func (f fleet) flight(day time.Time, n int, r *rand.Rand) archive.Summary {
	tail := r.IntN(36)
	key := fmt.Sprintf("%012x%052d", uint64(n)*2654435761, n)
	date := day.Format(time.DateOnly)
	// Each at its own time: one aircraft makes one attempt at a time.
	start := day.Add(time.Duration(n%1200) * time.Minute)
	s := archive.Summary{
		Schema: archive.SchemaVersion, Key: key,
		Flight: archive.Flight{
			Folder: day.Format("flights/2006/01/02/") + fmt.Sprintf("T%06d", n), Tail: fmt.Sprintf("ZZ-Q%02d", tail),
			Type: []string{"QX40", "QX60", "TJ22"}[tail%3], Aerodrome: []string{"ZZA", "ZZB", "ZZC", "ZZD"}[r.IntN(4)],
			Runway: []string{"09", "27"}[r.IntN(2)], Date: date, StartUTC: start.Format(time.RFC3339),
		},
		Recording: archive.RecordingInfo{File: fmt.Sprintf("T%06d.csv", n), SHA256: fmt.Sprintf("%064d", n)},
		Profile:   archive.ProfileInfo{Name: "QX", Version: "1", SHA256: fmt.Sprintf("%064d", 1)},
		Versions:  archive.Versions{Detection: "1", Program: "test"},
	}
	a := archive.AttemptSummary{Number: 1, ID: archive.AttemptID(key, 1), Outcome: "airborne", Onset: &archive.Moment{At: 60, Earliest: 59, Latest: 60, UTC: start.Add(time.Minute).Format(time.RFC3339)}}
	for i := range fleetChecks {
		f.check(&a, &s.Flight, i, day, r)
	}
	if r.Float64() < 0.0012 {
		f.reject(&a, r)
	}
	s.Attempts = []archive.AttemptSummary{a}
	return s
}

func (f fleet) check(a *archive.AttemptSummary, flight *archive.Flight, i int, day time.Time, r *rand.Rand) {
	c := fleetChecks[i]
	out := archive.FindingSummary{Check: c.name, Title: c.name, Unit: c.unit, Life: true, State: "within limits"}
	after := func(from time.Time) bool { return !from.IsZero() && !day.Before(from) }
	value := c.mean + c.spread*r.NormFloat64()
	if c.name == "trim" && flight.Type == "QX60" && after(f.trimDrifts) {
		value -= 0.03 * day.Sub(f.trimDrifts).Hours() / 24 / 30.4
	}
	// Whether it is out of limits is drawn apart from the value, so that a
	// drift of the value alone brings no event.
	rate := c.rate
	if c.name == "flap lever" && flight.Aerodrome == "ZZC" && after(f.flapsDouble) {
		rate *= 2
	}
	event, lost := r.Float64() < rate, r.Float64() < 0.006
	if c.high > c.low {
		value = min(max(value, c.low), c.high)
		if event {
			value = c.high + 1
		}
		margin := min(value-c.low, c.high-value)
		out.Value, out.LimitLow, out.LimitHigh, out.Margin, out.WorstMargin = &value, &c.low, &c.high, &margin, &margin
	}
	if c.name == "speedbrake lever" && flight.Tail == "ZZ-Q07" && after(f.sensorDies) {
		lost = true
	}
	switch {
	case lost:
		out.State, out.Reason = "cannot be told", "no sample of "+c.name
		out.Value, out.Margin, out.WorstMargin, out.Life = nil, nil, nil, false
	case event:
		out.State, out.Severity, out.Rule = "out of limits", []string{"low", "medium", "high"}[r.IntN(3)], "by speed"
		a.Events = append(a.Events, archive.EventSummary{Kind: "configuration", Check: c.name, Severity: out.Severity, Rule: out.Rule})
	}
	a.Findings = append(a.Findings, out)
}

func (f fleet) reject(a *archive.AttemptSummary, r *rand.Rand) {
	speed := 20 + 90*r.Float64()
	class := "low-speed"
	if speed > 80 {
		class = "high-speed"
	}
	a.Outcome = "rejected"
	a.Reject = &archive.RejectSummary{Class: class, GroundAtCut: &archive.Reading{Value: speed, Low: speed - 1, High: speed + 1}, Severity: "low"}
	a.Events = append(a.Events, archive.EventSummary{Kind: "reject", Check: class, Severity: "low", Rule: "by speed"})
}
