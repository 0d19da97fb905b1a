package ingest_test

import (
	"fmt"
	"os"
	"path/filepath"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// A recording of three rows: ground speed in metres per second, the flap
// lever at half that rate, one cell that holds no number.
const tiny = `TIME,GS,N1_1,N1_2,FLAP,PBRK
4312.0,0.0,24.5,24.0,10,SET
4313.0,0.5,60.0,59.5,,REL
4314.0,?,92.0,92.5,10,REL
`

// What its names mean, and what is to be checked.
const meaning = `
rollonset: 1
name: AB01
title: an invented type
version: "1"
reason: example
types: [AB01]
tails: ["ZZ-A*"]
engines: 2
file_name: "{tail}_{date}T{time}_{flight}"
time: {column: TIME, form: seconds}
parameters:
  ground_speed:  {column: GS, unit: m/s}
  n1.*:          {column: "N1_*", unit: "%"}
  flap_lever:    {column: FLAP, unit: deg}
  parking_brake: {column: PBRK, states: {released: [REL], set: [SET]}}
thrust: {measure: n1}
checks:
  - name: parking brake
    title: parking brake released
    state: {parameter: parking_brake, is: released}
reject: {boundary: 80 kt}
`

// The recipe of the package on a tiny CSV: open it with the profiles and the
// flight list, then ask the recording for values at instants.
func Example() {
	dir, err := os.MkdirTemp("", "rollonset-example-")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "ZZ-A01_20310307T041100_MA12.csv")
	list := filepath.Join(dir, "flights.csv")
	for name, text := range map[string]string{file: tiny, list: "tail,flight,v1_kt\nZZ-A01,MA12,121\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			panic(err)
		}
	}
	prof, err := profile.Parse("ab01.yaml", []byte(meaning))
	if err != nil {
		panic(err)
	}
	flights, err := ingest.ReadFlightList(list)
	if err != nil {
		panic(err)
	}

	rec, used, err := ingest.Open(file, []*profile.Profile{prof}, ingest.Options{Flights: flights})
	if err != nil {
		panic(err)
	}
	fmt.Printf("%s, read with %s: %s of %s, V1 %g kt\n", rec.Source.Format, used.Name, rec.Identity.Flight, rec.Identity.Tail, *rec.Plan.V1)

	at := span.Sec(1) // after the first sample
	utc, _ := rec.UTC(at)
	fmt.Printf("%s, %.1f s on the file's clock\n", utc.Format("15:04:05"), rec.FileClock(at))
	for _, p := range rec.Parameters() {
		s := rec.Get(p)
		r := s.At(at)
		if state := s.State(r.Value); state != "" {
			fmt.Printf("  %-13s %s\n", p, state)
			continue
		}
		fmt.Printf("  %-13s %.2f %s\n", p, r.Value, s.Unit)
	}
	for _, n := range rec.Notes {
		fmt.Println(n)
	}
	// Output:
	// CSV, read with AB01: MA12 of ZZ-A01, V1 121 kt
	// 04:11:01, 4313.0 s on the file's clock
	//   flap_lever    10.00 deg
	//   ground_speed  0.97 kt
	//   n1.1          60.00 %
	//   n1.2          59.50 %
	//   parking_brake released
	// column GS: 1 cell not a number (row 4 holds "?"): masked
}
