package archive

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

func summaryText(t *testing.T, s Summary) string {
	t.Helper()
	var b bytes.Buffer
	if err := writeJSON(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestSummarise(t *testing.T) {
	golden(t, "summary.golden.json", summaryText(t, Summarise(testAssessment(), versions)))
}

// A recording of which next to nothing is known has no null list, no date
// and no instant that it does not know.
func TestSummariseBare(t *testing.T) {
	a := testAssessment()
	a.Attempts, a.LookAlikes, a.Coverage, a.Notes = nil, nil, nil, nil
	a.Recording = &flightdata.Recording{Source: flightdata.Source{Path: "x.csv"}}
	golden(t, "bare.golden.json", summaryText(t, Summarise(a, versions)))
}

func TestSummariseTouchAndGo(t *testing.T) {
	a := testAssessment()
	a.Attempts = a.Attempts[1:]
	a.Attempts[0].Outcome = takeoff.TouchAndGo
	a.Attempts[0].Findings = nil
	got := Summarise(a, versions).Attempts[0]
	if got.Warning != nil || len(got.Findings) != 0 || got.Findings == nil {
		t.Errorf("warning %v, findings %v; want none of either", got.Warning, got.Findings)
	}
}

// A stretch whose end cannot be told lies somewhere in the judged span: the
// summary must not say that it ended at second 0.
func TestUnknownStretchEnd(t *testing.T) {
	a := testAssessment()
	a.Attempts[0].Findings[0].Stretches = []configuration.Stretch{{From: near(12), Value: nan, Margin: nan}}
	got := Summarise(a, versions).Attempts[0].Findings[0].Stretches[0]
	want := Moment{At: 14.1, Earliest: 11, Latest: 14.1, UTC: "2031-03-07T04:11:14.35Z"}
	if diff := cmp.Diff(want, got.To); diff != "" {
		t.Error(diff)
	}
	if got.Value != nil || got.SpeedTo != nil {
		t.Errorf("value %v, speed %v; want null", got.Value, got.SpeedTo)
	}
}

func TestRounded(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0.1 + 0.2, "0.3"},
		{1.0 / 3, "0.333333"},
		{-1e-9, "0"},
		{math.Copysign(0, -1), "0"},
		{123456.7890123, "123456.789012"},
		{2.675, "2.675"},
		{1e300, "1e+300"},
	} {
		text, err := json.Marshal(rounded(c.v))
		if err != nil || string(text) != c.want {
			t.Errorf("rounded(%v) prints %s (%v), want %s", c.v, text, err, c.want)
		}
	}
	for _, v := range []float64{nan, math.Inf(1), math.Inf(-1)} {
		if got := number(v); got != nil {
			t.Errorf("number(%v) = %v, want nil", v, *got)
		}
	}
}

func TestSeconds(t *testing.T) {
	for _, c := range []struct {
		ns   int64
		want string
	}{
		{0, "0"},
		{300000000, "0.3"},
		{-500000000, "-0.5"},
		{-1500000001, "-1.500000001"},
		{86400123456789, "86400.123456789"},
		{35623456789, "35.623456789"},
		{math.MaxInt64, "9223372036.854776"},
		{math.MinInt64, "-9223372036.854776"},
	} {
		text, err := json.Marshal(seconds(c.ns))
		if err != nil || string(text) != c.want {
			t.Errorf("seconds(%d) prints %s (%v), want %s", c.ns, text, err, c.want)
		}
	}
}

// Up to 11 days a time comes back from the archive to the nanosecond.
func TestSecondsKeepNanoseconds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const days = 11 * 86400 * int64(1e9)
		ns := rapid.Int64Range(-days, days).Draw(t, "ns")
		if got := span.Sec(seconds(ns)); got != span.Instant(ns) {
			t.Fatalf("%d ns came back as %d", ns, got)
		}
	})
}
