package ingest_test

import (
	"math"
	"time"
)

// What the flight of the shapes is recorded at: eight rows a second.
const (
	shapeRate = 8
	shapeStep = time.Second / shapeRate
)

// shapeProfile reads the plain form of the flight. Every shape replaces some
// of its lines.
const shapeProfile = `rollonset: 1
name: AB01
title: an invented type for tests
version: "1"
reason: test
types: [AB01]
tails: ["ZZ-A*"]
engines: 2
time: {column: TIME, form: seconds}
parameters:
  ground_speed:    {column: GS, unit: kt, rate: 1}
  n1.1:            {column: N1_1, unit: "%", rate: 1}
  n1.2:            {column: N1_2, unit: "%", rate: 1}
  pitch:           {column: PITCH, unit: deg, rate: 4}
  flap_lever:      {column: FLAP, unit: deg, rate: 0.5}
  gross_weight:    {column: GW, unit: kg, rate: 0.25}
  air_ground:      {column: WOW, rate: 1, states: {ground: [GND], air: [AIR]}}
  parking_brake:   {column: PBRK, rate: 1, states: {released: [REL], set: [SET]}}
  takeoff_warning: {column: WARN, rate: 1, states: {off: ["NO"], on: ["YES"]}}
thrust: {measure: n1}
checks:
  - name: flap lever
    title: flap lever in a takeoff setting
    one_of: {parameter: flap_lever, settings: [10 deg, 20 deg], tolerance: 0.5 deg}
    warning_due: true
    basis: 14 CFR 25.703(a)(1)
  - name: parking brake
    title: parking brake released
    state: {parameter: parking_brake, is: released}
    speeds: {from: 0 kt, to: 100 kt}
warning: {parameter: takeoff_warning, within: 3 s}
reject: {boundary: 80 kt}
`

// shapeStart is chosen so that midnight, and the end of February in a leap
// year, falls on the onset of the first roll exactly (check-values 11.3).
var shapeStart = time.Date(2032, 2, 28, 23, 59, 0, 625_000_000, time.UTC)

// shapeFlight is a taxi, a first try given up with the flaps up, and a takeoff,
// in the plain shape: a row each eighth of a second, each parameter at its own
// rate and phase. Values have at most three decimals.
func shapeFlight() (*sheet, []time.Time) {
	const seconds = 240
	s := &sheet{}
	var times []time.Time
	for i := range seconds * shapeRate {
		times = append(times, shapeStart.Add(time.Duration(i)*shapeStep))
	}
	s.columns = append(s.columns, sheetColumn{name: "TIME", kind: "number", unit: "s", cells: clockCells(times, func(t time.Time) any {
		return 5000.25 + t.Sub(shapeStart).Seconds()
	})})
	// every is how many rows lie between samples, phase the first of them.
	add := func(name, unit, kind string, every, phase int, value func(at float64) any) {
		cells := make([]any, len(times))
		for i := phase; i < len(cells); i += every {
			cells[i] = value(float64(i) / shapeRate)
		}
		s.columns = append(s.columns, sheetColumn{name: name, unit: unit, kind: kind, cells: cells})
	}
	number := func(f func(at float64) float64) func(at float64) any {
		return func(at float64) any { return math.Round(f(at)*1000) / 1000 }
	}
	word := func(f func(at float64) bool, yes, no string) func(at float64) any {
		return func(at float64) any {
			if f(at) {
				return yes
			}
			return no
		}
	}
	n1 := func(at float64) float64 {
		switch {
		case at < 53.625, at >= 75 && at < 150:
			return 22.5
		case at < 75:
			return math.Min(92, 22.5+(at-53.625)*10) // 70 % at the sample at 58.375 s
		}
		return math.Min(93, 22.5+(at-149)*13.9)
	}
	add("GS", "kt", "number", shapeRate, 2, number(func(at float64) float64 {
		switch {
		case at < 60:
			return 8
		case at < 75:
			return 8 + (at-60)*4.25
		case at < 110:
			return math.Max(2.5, 71.75-(at-75)*4.5)
		case at < 155:
			return 2.5
		}
		return math.Min(165, 2.5+(at-155)*4.125)
	}))
	add("N1_1", "%", "number", shapeRate, 3, number(n1))
	add("N1_2", "%", "number", shapeRate, 6, number(func(at float64) float64 { return n1(at) - 0.125 }))
	add("PITCH", "deg", "number", shapeRate/4, 0, number(func(at float64) float64 { return math.Max(-0.25, math.Min(12, (at-193)*2.5)) }))
	add("FLAP", "deg", "number", 2*shapeRate, 9, number(func(at float64) float64 {
		if at < 112 {
			return 0
		}
		return 10
	}))
	add("GW", "kg", "number", 4*shapeRate, 17, number(func(at float64) float64 { return 62500 - math.Floor(at/4)*2.5 }))
	add("WOW", "", "text", shapeRate, 5, word(func(at float64) bool { return at > 197 }, "AIR", "GND"))
	add("PBRK", "", "text", shapeRate, 5, word(func(at float64) bool { return at < 20 }, "SET", "REL"))
	add("WARN", "", "text", shapeRate, 5, word(func(at float64) bool { return at > 61 && at < 76 }, "YES", "NO"))
	add("SPARE", "", "text", shapeRate, 1, word(func(at float64) bool { return at > 30 }, "x, y", "z"))
	s.column("SPARE").cells[1] = "a"
	return s, times
}
