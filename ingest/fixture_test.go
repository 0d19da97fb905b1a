package ingest_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares with testdata/<name>, or writes it under -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", filepath.FromSlash(name))
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

// twin is a small profile of an invented type. Tests change a line of it.
const twin = `
rollonset: 1
name: AB01
title: an invented type for tests
version: "1"
reason: test
types: [AB01]
tails: ["ZZ-A*"]
engines: 2
file_name: "{tail}_{date}T{time}_{flight}"
time: {column: [TIME, CLOCK], form: seconds}
no_sample: ["***"]
parameters:
  ground_speed: {column: [GS_1, GS_2], unit: m/s, rate: 1}
  airspeed: {column: IAS, unit: kt, floor: 30 kt}
  n1.*: {column: "N1_*", unit: "%"}
  heading: {column: HDG, unit: deg}
  flap_lever: {column: FLAP, unit: deg}
  stabilizer_trim: {column: TRIM, unit: units, range: [-2 units, 12 units]}
  parking_brake: {column: PBRK, states: {released: ["0", "REL"], set: ["1", "SET", "ON"]}}
  gross_weight: {column: GW, unit: lb}
thrust: {measure: n1, threshold: 70 %}
checks:
  - name: parking brake
    title: parking brake released
    state: {parameter: parking_brake, is: released}
reject: {boundary: 80 kt}
`

// parse reads a profile, with pairs of old and new text replaced in it first.
func parse(t testing.TB, text string, oldNew ...string) *profile.Profile {
	t.Helper()
	for i := 0; i < len(oldNew); i += 2 {
		if !strings.Contains(text, oldNew[i]) {
			t.Fatalf("the profile does not hold %q", oldNew[i])
		}
	}
	p, err := profile.Parse("ab01.yaml", []byte(strings.NewReplacer(oldNew...).Replace(text)))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// put writes a file into a folder of its own.
func put(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// open reads a recording that must be readable.
func open(t testing.TB, path string, opt ingest.Options, profiles ...*profile.Profile) *flightdata.Recording {
	t.Helper()
	r, _, err := ingest.Open(path, profiles, opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// fill gives a recording the columns that the profile cannot do without, in
// front of the ones that a test is about. rows are lines of the latter.
func fill(header string, rows ...string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "TIME,GS_1,N1_1,N1_2,%s\n", header)
	for i, row := range rows {
		fmt.Fprintf(&b, "%d,10,20,20,%s\n", i, row)
	}
	return b.Bytes()
}

// show writes a series as a person would: time, value and, if it has one, the
// mask of each sample.
func show(s *flightdata.Series) string {
	var b strings.Builder
	for i := range s.Len() {
		value := fmt.Sprintf("%.6g", s.Values[i])
		if s.Kind == flightdata.Discrete {
			value = s.State(s.Values[i])
		}
		if s.Masks != nil && s.Masks[i] != flightdata.Good {
			value = "(" + s.Masks[i].String() + ")"
		}
		fmt.Fprintf(&b, " %g:%s", s.Times[i].Seconds(), value)
	}
	return strings.TrimPrefix(b.String(), " ")
}

// notes are the notes of a recording, a line each, without those on
// parameters that the small files of these tests leave out.
func notes(r *flightdata.Recording) string {
	var lines []string
	for _, n := range r.Notes {
		if !strings.Contains(n.Text, "is not in the file") && !strings.Contains(n.Text, "the tail is not known") {
			lines = append(lines, n.String())
		}
	}
	return strings.Join(lines, "\n")
}

// recordings lists the recordings that synth made in a folder.
func recordings(t testing.TB, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, synth.RecordingsDir, "*"))
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// madeFlights makes n flights of the fleet, as CSV, and gives their folder.
func madeFlights(t testing.TB, n int, profiles []*profile.Profile) string {
	t.Helper()
	dir := t.TempDir()
	opt := synth.Options{N: n, Seed: 3, Formats: []synth.Format{synth.CSV}}
	if err := synth.Flights(opt, profiles, dir); err != nil {
		t.Fatal(err)
	}
	return dir
}
