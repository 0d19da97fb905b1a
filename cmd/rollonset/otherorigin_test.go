package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rollonset/report/archive"
)

// otherOrigin are recordings that this project did not make, with their truth:
// a flight-dynamics simulation with a scripted pilot. They lie beside the
// clone where they are present and are no part of the repository.
const otherOrigin = "../../../shared/recordings"

// TestRecordingsOfOtherOrigin processes them with profiles written for them
// and holds attempts, outcomes, findings, instants and speeds to their truth.
func TestRecordingsOfOtherOrigin(t *testing.T) {
	truths := otherTruth(t)
	paths, err := filepath.Glob(filepath.Join(otherOrigin, "*.csv.gz"))
	if err != nil {
		t.Fatal(err)
	}
	args := append([]string{"process", "--profiles", "../../sampledata/simulator", "--archive", t.TempDir(), "--format", "json", "--pages", "none"}, paths...)
	var out, errs bytes.Buffer
	if code := run(context.Background(), args, strings.NewReader(""), &out, &errs); code != exitDone {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	dec := json.NewDecoder(&out)
	n := 0
	for {
		var line struct {
			File    string
			Summary *archive.Summary
		}
		err := dec.Decode(&line)
		if err == io.EOF {
			break
		}
		if err != nil || line.Summary == nil {
			t.Fatalf("%s: %v", line.File, err)
		}
		n++
		t.Run(filepath.Base(line.File), func(t *testing.T) { compareOther(t, truths[filepath.Base(line.File)], line.Summary) })
	}
	if n != len(truths) {
		t.Errorf("%d recordings, the truth has %d", n, len(truths))
	}
}

// otherTruth reads the truth table, rows by file.
func otherTruth(t *testing.T) map[string][]map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(otherOrigin, "truth.csv"))
	if err != nil {
		t.Skipf("the recordings of other origin are not beside this clone (%v): nothing is checked here", err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]map[string]string{}
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, cell := range row {
			m[rows[0][i]] = cell
		}
		out[m["file"]] = append(out[m["file"]], m)
	}
	return out
}

func compareOther(t *testing.T, truth []map[string]string, s *archive.Summary) {
	used := map[int]bool{}
	for _, want := range truth {
		if want["count"] == "none" {
			continue
		}
		i := slices.IndexFunc(s.Attempts, func(a archive.AttemptSummary) bool {
			at := clock(s, a.Onset)
			return at >= num(t, want["onset_earliest"]) && at <= num(t, want["onset_latest"])+3
		})
		switch {
		case i >= 0:
			used[i] = true
			compareAttempt(t, want, s, &s.Attempts[i])
		case want["count"] == "yes":
			t.Errorf("attempt %s is missed", want["attempt"])
		}
	}
	for i, a := range s.Attempts {
		if !used[i] {
			t.Errorf("attempt at %.1f s (%s) is invented", clock(s, a.Onset), a.Outcome)
		}
	}
}

// clock is a moment on the file's own clock.
func clock(s *archive.Summary, m *archive.Moment) float64 {
	if m == nil {
		return math.NaN()
	}
	return s.Recording.ClockStart + m.At
}

func num(t *testing.T, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatalf("%q in the truth: %v", cell, err)
	}
	return v
}

// findingsOf maps the words of their truth to our checks.
var findingsOf = map[string][]string{
	"flap": {"flap lever", "flaps"}, "flap_in_transit": {"flaps"},
	"trim": {"trim"}, "spdbrk": {"speedbrake lever"}, "pbrk": {"parking brake"},
}

func compareAttempt(t *testing.T, want map[string]string, s *archive.Summary, a *archive.AttemptSummary) {
	if want["start"] == "touch_and_go" {
		if a.Outcome != "touch-and-go" {
			t.Errorf("outcome %s, want touch-and-go", a.Outcome)
		}
		return
	}
	if a.Outcome != want["outcome"] {
		t.Errorf("outcome %s (%s), want %s", a.Outcome, a.Why, want["outcome"])
	}
	var expect, got []string
	for _, word := range strings.FieldsFunc(want["out_at_onset"], func(r rune) bool { return r == '+' }) {
		expect = append(expect, findingsOf[word]...)
	}
	for _, f := range a.Findings {
		if f.State == "out of limits" {
			got = append(got, f.Check)
		}
		if f.State == "cannot be told" {
			t.Errorf("%s cannot be told: %s", f.Check, f.Reason)
		}
	}
	if !slices.Equal(got, expect) {
		t.Errorf("out of limits %v, want %v", got, expect)
	}
	// One sample period and 0.25 s of ground-speed lag is the noise floor that
	// their description states; the period is 1/8 s or 1 s.
	floor := 0.25 + s.Sensors[0].Period
	near := func(name string, m *archive.Moment, column string) {
		if want[column] == "" {
			return
		}
		if d := clock(s, m) - num(t, want[column]); !(math.Abs(d) <= floor) {
			t.Errorf("%s is %.2f s off, more than %.2f s", name, d, floor)
		}
	}
	near("lift-off", a.LiftOff, "t_liftoff")
	near("thrust cut", a.ThrustCut, "t_thrust_cut")
	if a.Reject != nil {
		speed := func(name string, r *archive.Reading, column string, slack float64) {
			if r == nil || math.Abs(r.Value-num(t, want[column])) > slack {
				t.Errorf("%s is %+v, want %s ± %.1f kt", name, r, want[column], slack)
			}
		}
		// A knot of quantum, and what the bracket of the cut leaves at 5 kt/s.
		speed("ground speed at the cut", a.Reject.GroundAtCut, "gs_at_cut", 1+5*floor)
		speed("peak ground speed", a.Reject.PeakGround, "gs_peak", 1)
		if math.Abs(clock(s, a.Stop)-num(t, want["t_end"])) > 1+floor {
			t.Errorf("stop at %.2f s, want %s", clock(s, a.Stop), want["t_end"])
		}
	}
	if rolling := want["start"] == "rolling"; a.Rolling != rolling {
		t.Errorf("rolling start %v, want %v", a.Rolling, rolling)
	}
}
