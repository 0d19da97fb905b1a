package synth

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/profile"
)

// Entry is one line of the flight list. NaN figures are not listed.
type Entry struct {
	Tail, Flight, Aerodrome, Runway, Type string
	Start                                 time.Time // UTC of the start of the recording
	PlannedFlap, Trim                     float64   // in the units of the profile
	V1, VR                                float64   // kt
	Weight                                float64   // kg
	CG                                    float64   // % MAC
	Length                                float64   // of the runway, m
	Departure                             bool      // figures for takeoff belong to a departure only
}

// listHeader names the columns of flights.csv with their units.
var listHeader = []string{
	"tail", "date", "start", "flight", "aerodrome", "runway",
	"planned_flap_deg", "v1_kt", "vr_kt", "weight_kg", "cg_pct", "trim", "runway_length_m",
}

// writeList writes flights.csv.
func writeList(entries []Entry) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{listHeader}
	for _, e := range entries {
		rows = append(rows, []string{
			e.Tail, e.Start.Format(time.DateOnly), e.Start.Format(time.RFC3339), e.Flight, e.Aerodrome, e.Runway,
			figure(e.PlannedFlap, 1), figure(e.V1, 0), figure(e.VR, 0), figure(e.Weight, 0), figure(e.CG, 1), figure(e.Trim, 2), figure(e.Length, 0),
		})
	}
	if err := w.WriteAll(rows); err != nil {
		panic("synth: a buffer refused a row: " + err.Error()) // bytes.Buffer never fails
	}
	return b.Bytes()
}

func figure(v float64, decimals int) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// aerodromes are invented; no real place indicator begins with ZZM.
var aerodromes = []struct {
	code   string
	length float64
}{{"ZZMA", 3800}, {"ZZMB", 3400}, {"ZZMC", 2900}, {"ZZMD", 4000}, {"ZZME", 3150}}

// tailsPerType is how many aircraft of each type Marrow Air has. Flights of
// one tail are tailsPerType × spacing apart at least, longer than a recording.
const (
	tailsPerType = 9
	spacing      = 10 * time.Minute
)

// entry is the line of the flight list that belongs to flight number index.
func (f *flight) entry(index int) Entry {
	place := aerodromes[f.rnd.pick(len(aerodromes))]
	e := Entry{
		Tail: tail(f.p, 1+index%tailsPerType), Type: f.p.Name,
		Flight:    fmt.Sprintf("MRW%03d", 100+index%900),
		Aerodrome: place.code, Runway: fmt.Sprintf("%02d", int(f.runway)/10),
		Start: day.Add(time.Duration(index) * spacing).Add(time.Duration(f.rnd.pick(240)) * time.Second),
		Trim:  math.NaN(), PlannedFlap: math.NaN(), V1: math.NaN(), VR: math.NaN(), Weight: math.NaN(), CG: math.NaN(),
		Length: place.length, Departure: f.departs(),
	}
	if !e.Departure {
		return e
	}
	e.PlannedFlap, e.V1, e.VR, e.Trim = f.planned, f.sim.v1Air(), f.sim.vrAir(), math.Round(f.plannedTrim*100)/100
	if !f.noPlan {
		e.Weight, e.CG = math.Round(f.sim.body.mass/100)*100, math.Round(f.sim.cg*10)/10
	}
	return e
}

// tail is the n-th tail that the profile takes: its first pattern with the
// open part replaced by a number.
func tail(p *profile.Profile, n int) string {
	pattern := "ZZ-X*"
	if len(p.Tails) > 0 {
		pattern = p.Tails[0]
	}
	number := fmt.Sprintf("%02d", n)
	if strings.ContainsRune(pattern, '*') {
		return strings.Replace(pattern, "*", number, 1)
	}
	for _, d := range number {
		pattern = strings.Replace(pattern, "?", string(d), 1)
	}
	return pattern
}

// fileName fills the profile's pattern in.
func fileName(p *profile.Profile, e *Entry) string {
	pattern := p.File.Pattern
	if pattern == "" {
		pattern = "{type}_{tail}_{date}T{time}"
	}
	return strings.NewReplacer(
		"{tail}", e.Tail, "{type}", e.Type, "{flight}", e.Flight,
		"{date}", e.Start.Format("20060102"), "{time}", e.Start.Format("150405"),
		"{aerodrome}", e.Aerodrome, "{runway}", e.Runway, "{any}", "FDR",
	).Replace(pattern)
}
