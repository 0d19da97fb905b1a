package detect_test

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
	"rollonset/sampledata/synth"
)

// partFlights is how many flights of each difficulty are read both ways. The
// default keeps the suite fast; 300 and more are for a change of the reading.
var partFlights = flag.Int("part-flights", 8, "flights of each difficulty that are read in part and in full")

// A recording of which fast flight was read in part must be judged as the same
// recording read in full: every attempt, instant, finding, measure, verdict and
// look-alike. The simulated flights are short, so each is given a cruise.
func TestPartReadingChangesNoVerdict(t *testing.T) {
	profiles, err := profile.LoadDir("../sampledata/fleet")
	if err != nil {
		t.Fatal(err)
	}
	read, passed := 0, 0
	for _, d := range synth.Difficulties() {
		dir := t.TempDir()
		opt := synth.Options{N: *partFlights, Seed: 503, Difficulty: d, Formats: []synth.Format{synth.CSV}}
		if err := synth.Flights(opt, profiles, dir); err != nil {
			t.Fatal(err)
		}
		list, err := ingest.ReadFlightList(filepath.Join(dir, synth.ListFile))
		if err != nil {
			t.Fatal(err)
		}
		files, err := filepath.Glob(filepath.Join(dir, synth.RecordingsDir, "*.csv"))
		if err != nil {
			t.Fatal(err)
		}
		for i, file := range files {
			for _, v := range partVariants {
				if *partFlights <= 8 && i%len(partVariants) != slices.Index(partVariants, v) && v != straight {
					continue
				}
				n, k := compareReadings(t, file, v, profiles, list, uint64(i))
				read, passed = read+n, passed+k
			}
		}
	}
	t.Logf("%d recordings compared, %d of them read in part", read, passed)
	if passed*8 < read {
		t.Errorf("only %d of %d recordings were read in part: the test says little", passed, read)
	}
}

// partVariant is what the cruise is like, or what is wrong with the recording.
type partVariant string

const (
	straight  partVariant = "straight"
	inverted  partVariant = "air/ground inverted"
	bounce    partVariant = "a row of ground in the cruise"
	lowPass   partVariant = "on the ground in the cruise, fast"
	fastTouch partVariant = "fast until long after the touchdown"
	misread   partVariant = "ground speed recorded in km/h"
	tooSmall  partVariant = "ground speed recorded in m/s"
	silent    partVariant = "air/ground missing in the cruise"
	badCells  partVariant = "cells that are no numbers in the cruise"
)

var partVariants = []partVariant{straight, inverted, bounce, lowPass, fastTouch, misread, tooSmall, silent, badCells}

// compareReadings returns how many recordings were compared, and how many of
// these were read in part.
func compareReadings(t *testing.T, file string, v partVariant, profiles []*profile.Profile, list *ingest.FlightList, seed uint64) (compared, inPart int) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, prof, err := ingest.Open(file, profiles, ingest.Options{Flights: list})
	if err != nil {
		t.Fatal(err)
	}
	long, ok := withCruise(text, prof, v, rand.New(rand.NewPCG(seed, 7)))
	if !ok {
		return 0, 0
	}
	path := filepath.Join(t.TempDir(), filepath.Base(file))
	if err := os.WriteFile(path, long, 0o644); err != nil {
		t.Fatal(err)
	}
	part, _, err := ingest.Open(path, profiles, ingest.Options{Flights: list})
	if err != nil {
		t.Fatal(err)
	}
	whole, _, err := ingest.Open(path, profiles, ingest.Options{Flights: list, Whole: true})
	if err != nil {
		t.Fatal(err)
	}
	if part.Unread != nil {
		inPart = 1
	}
	if diff := cmp.Diff(verdicts(whole, prof), verdicts(part, prof), cmpopts.EquateNaNs(), cmpopts.EquateEmpty(), cmpopts.IgnoreTypes(&profile.Profile{})); diff != "" {
		t.Errorf("%s, %s: read in part it is judged differently (-whole +part):\n%s", filepath.Base(file), v, diff)
	}
	return 1, inPart
}

// verdicts is the assessment without what only the reading decides.
func verdicts(rec *flightdata.Recording, prof *profile.Profile) *detect.Assessment {
	a := detect.Assess(rec, prof)
	a.Recording, a.Windows = nil, nil
	a.Notes = slices.DeleteFunc(slices.Clone(a.Notes), func(n flightdata.Note) bool { return strings.Contains(n.Text, "passed over") })
	return a
}

// sheet is a CSV recording that is being changed.
type sheet struct {
	form          profile.TimeForm
	rows          [][]string
	time, air     int
	speeds        []cell
	heights       []cell
	ground        int // of speeds, the one over the ground
	airWord, down string
	bounced       bool
}

// cell is a column of numbers: where it is, how much of it a knot or a foot is,
// and for a height the end of its scale, ft, and what it was when the cruise
// began.
type cell struct {
	at             int
	per, top, base float64
	based          bool
}

// withCruise puts some minutes of fast flight into the longest flight of the
// recording; false when it does not fly.
func withCruise(text []byte, prof *profile.Profile, v partVariant, rnd *rand.Rand) ([]byte, bool) {
	s := sheetOf(text, prof)
	from, to := s.longestFlight()
	// A recording that begins in flight is read in full in any case.
	if s.time < 0 || s.air < 0 || s.ground < 0 || to-from < 60 || !s.taxis(from) {
		return nil, false
	}
	mid := from + (to-from)/2
	// The cruise repeats the rows of some seconds, so that every parameter keeps
	// its rate.
	first := mid - 1
	for first > from && s.at(mid-1).Sub(s.at(first-1)) < cruisePattern {
		first--
	}
	if first == from {
		return nil, false
	}
	cycles := int(300*time.Second/cruisePattern) + rnd.IntN(int(400*time.Second/cruisePattern))
	added := time.Duration(cycles) * cruisePattern
	out := slices.Clone(s.rows[:mid])
	for k := range cycles {
		for i := first; i < mid; i++ {
			row := slices.Clone(s.rows[i])
			at := s.at(i).Add(time.Duration(k+1) * cruisePattern)
			s.setTime(row, at)
			s.cruise(row, v, at.Sub(s.at(mid-1)), added, rnd)
			out = append(out, row)
		}
	}
	for i, row := range s.rows[mid:] {
		row = slices.Clone(row)
		s.setTime(row, s.at(mid+i).Add(added))
		if v == fastTouch {
			s.gain(row, 150)
		}
		out = append(out, row)
	}
	s.rows = out
	s.spoil(v)
	var b bytes.Buffer
	for _, row := range s.rows {
		b.WriteString(strings.Join(row, ",") + "\n")
	}
	return b.Bytes(), true
}

func sheetOf(text []byte, prof *profile.Profile) *sheet {
	s := &sheet{form: prof.Time.Form, time: -1, air: -1, ground: -1}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		s.rows = append(s.rows, strings.Split(strings.TrimSuffix(line, "\r"), ","))
	}
	at := func(names []string) int {
		for _, name := range names {
			if k := slices.Index(s.rows[0], name); k >= 0 {
				return k
			}
		}
		return -1
	}
	s.time = at(prof.Time.Columns)
	for _, r := range prof.Parameters {
		k := at(r.Columns)
		if k < 0 {
			continue
		}
		switch r.Parameter {
		case flightdata.AirGround:
			s.air = k
			for _, st := range r.States {
				if st.State == "air" {
					s.airWord = st.Cells[0]
				} else {
					s.down = st.Cells[0]
				}
			}
		case flightdata.GroundSpeed, flightdata.Airspeed:
			if r.Parameter == flightdata.GroundSpeed {
				s.ground = len(s.speeds)
			}
			s.speeds = append(s.speeds, cell{at: k, per: recordedPer(r)})
		case flightdata.PressureAltitude:
			s.heights = append(s.heights, cell{at: k, per: recordedPer(r)})
		case flightdata.RadioHeight:
			s.heights = append(s.heights, cell{at: k, per: recordedPer(r), top: 2500})
		}
	}
	return s
}

// recordedPer is how much is recorded for one of the canonical unit.
func recordedPer(r profile.ParameterRule) float64 {
	conv, err := unit.Convert(r.Canonical, r.Unit)
	if err != nil {
		panic(err)
	}
	return conv.Apply(1)
}

// longestFlight is the longest run of rows that begins and goes on with air.
func (s *sheet) longestFlight() (from, to int) {
	start, in := 0, false
	for i, row := range s.rows {
		if i == 0 || s.air < 0 || row[s.air] == "" {
			continue
		}
		air := row[s.air] == s.airWord
		if air && !in {
			start = i
		}
		if in = air; air && i-start > to-from {
			from, to = start, i
		}
	}
	return from, to
}

// taxis says whether the recording has been on the ground before a row.
func (s *sheet) taxis(before int) bool {
	return slices.ContainsFunc(s.rows[min(1, before):before], func(row []string) bool { return row[s.air] == s.down })
}

func (s *sheet) at(i int) time.Time {
	cell := s.rows[i][s.time]
	if v, err := strconv.ParseFloat(cell, 64); err == nil {
		return time.Unix(0, int64(v*1e6+0.5)*1000).UTC()
	}
	t, err := time.Parse(time.RFC3339Nano, cell)
	if err != nil {
		panic(err)
	}
	return t
}

func (s *sheet) setTime(row []string, t time.Time) {
	if s.form == profile.TimeRFC3339 {
		row[s.time] = t.Format("2006-01-02T15:04:05.000000Z07:00")
		return
	}
	row[s.time] = strconv.FormatFloat(float64(t.UnixMicro())/1e6, 'f', 6, 64)
}

// cruisePattern is how long the rows last that the cruise repeats.
const cruisePattern = 16 * time.Second

// cruise makes a row one of the cruise, which is t old and lasts for all:
// faster and higher at first, slower and lower at the end, with what the
// variant has of its own.
func (s *sheet) cruise(row []string, v partVariant, t, all time.Duration, rnd *rand.Rand) {
	left := all - t
	kt := min(150, 2*t.Seconds())
	if v != fastTouch {
		kt = min(kt, 2*left.Seconds())
	}
	s.gain(row, kt)
	s.climb(row, 30*min(t, left).Seconds())
	late := t > all/2 && left > 60*time.Second
	switch {
	case v == bounce && !s.bounced && t > all/2, v == lowPass && late && t%(40*time.Second) < 5*time.Second:
		row[s.air], s.bounced = s.down, true
	case v == silent && late:
		row[s.air] = ""
	case v == badCells && late && rnd.IntN(50) == 0:
		row[s.speeds[len(s.speeds)-1].at] = "#"
	}
}

// gain adds to the speeds, in knots.
func (s *sheet) gain(row []string, kt float64) {
	for _, c := range s.speeds {
		if x, err := strconv.ParseFloat(row[c.at], 64); err == nil {
			row[c.at] = fmt.Sprintf("%.1f", x+kt*c.per)
		}
	}
}

// climb sets the heights, in feet above where the cruise begins, so that they
// join what is before and behind it. A radio height has the end of its scale.
func (s *sheet) climb(row []string, ft float64) {
	for i := range s.heights {
		c := &s.heights[i]
		x, err := strconv.ParseFloat(row[c.at], 64)
		if err != nil {
			continue
		}
		if !c.based {
			c.base, c.based = x, true
		}
		x = c.base + ft*c.per
		if c.top > 0 {
			x = min(x, c.top*c.per)
		}
		row[c.at] = fmt.Sprintf("%.0f", x)
	}
}

// spoil misrecords a whole column.
func (s *sheet) spoil(v partVariant) {
	for _, row := range s.rows[1:] {
		switch v {
		case inverted:
			switch row[s.air] {
			case s.airWord:
				row[s.air] = s.down
			case s.down:
				row[s.air] = s.airWord
			}
		case misread, tooSmall:
			k := s.speeds[s.ground].at
			if x, err := strconv.ParseFloat(row[k], 64); err == nil {
				row[k] = fmt.Sprintf("%.1f", x*map[partVariant]float64{misread: 1.852, tooSmall: 0.5144}[v])
			}
		}
	}
}
