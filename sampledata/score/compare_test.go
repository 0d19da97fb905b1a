package score_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
	"rollonset/sampledata/score"
	"rollonset/sampledata/truth"
)

var update = flag.Bool("update", false, "write golden files anew")

var nan = math.NaN()

// reject is the truth of one high-speed reject with a flap out of limits.
func reject() truth.Attempt {
	return truth.Attempt{
		File: "a.csv", Number: 1, Outcome: truth.Rejected,
		ThrustAdvance: 100, Onset: 101, RollStart: 99, Rotation: nan, LiftOff: nan,
		ThrustCut: 120, FirstAction: 119, Peak: 121, Stop: 140, FirstActionBy: "brakes",
		PeakGroundSpeed: 110, GroundSpeedAtCut: 109, DistanceToCut: 600, DistanceToStop: 1200,
		Out: []string{"flaps"}, OutAtOnset: []string{"flaps"}, Untold: []string{"trim"}, Open: []string{"slats"},
		Warning: truth.WarnBoth, RejectClass: truth.HighSpeed, AgainstV1: truth.BeforeV1,
		LookAlikes: []truth.LookAlike{{Kind: truth.TaxiBurst, From: 50, To: 53}}, Scenario: "reject",
	}
}

func moment(at float64) *archive.Moment {
	return &archive.Moment{At: at, Earliest: at - 0.5, Latest: at + 0.5}
}

func number(v float64) *float64 { return &v }

// found is a summary that says just what reject does.
func found() archive.Summary {
	return archive.Summary{
		Recording: archive.RecordingInfo{File: "a.csv"},
		LookAlike: []archive.LookAlike{{Kind: truth.TaxiBurst, From: 50, To: 53}},
		Attempts: []archive.AttemptSummary{{
			Number: 1, Outcome: truth.Rejected,
			ThrustAdvance: moment(100), Onset: moment(101), RollStart: moment(99),
			ThrustCut: moment(120), Peak: moment(121), Stop: moment(140),
			Findings: []archive.FindingSummary{
				{Check: "flaps", State: "out of limits", AtOnset: "out of limits"},
				{Check: "trim", State: "cannot be told", AtOnset: "cannot be told"},
				{Check: "slats", State: "out of limits", AtOnset: "out of limits"},
				{Check: "brake", State: "within limits", AtOnset: "within limits"},
			},
			Warning: &archive.WarningSummary{Verdict: truth.WarnBoth},
			Reject: &archive.RejectSummary{
				Class: truth.HighSpeed, AgainstV1: truth.BeforeV1,
				FirstAction: &archive.Action{What: "brakes", At: *moment(119)},
				PeakGround:  &archive.Reading{Value: 110, Low: 109, High: 111},
				GroundAtCut: &archive.Reading{Value: 109, Low: 108, High: 110},
				ToCut:       number(600), ToStop: number(1200),
			},
		}},
	}
}

func compare(row truth.Attempt, s archive.Summary) score.Report {
	return score.Compare([]truth.Attempt{row}, []archive.Summary{s})
}

func TestPerfect(t *testing.T) {
	r := compare(reject(), found())
	if !r.Perfect() || r.Attempts != 1 || r.Found != 1 {
		t.Errorf("not perfect: %+v", r.Differences)
	}
	for _, m := range r.Measures {
		if m.Max != 0 || m.Held != m.Brackets {
			t.Errorf("%s has an error: %+v", m.Name, m)
		}
	}
	for _, target := range r.Targets() {
		if !target.Met {
			t.Errorf("target not met: %+v", target)
		}
	}
}

// Each kind of difference is seen, and is put into its own account.
func TestEachDifference(t *testing.T) {
	type account struct {
		kind                                           string
		misses, falseAlarms, wrongUntold, guessed, any int
	}
	at := func(s *archive.Summary) *archive.AttemptSummary { return &s.Attempts[0] }
	for _, c := range []struct {
		name   string
		change func(row *truth.Attempt, s *archive.Summary)
		what   string // the first difference
		want   account
	}{
		{"missed attempt", func(_ *truth.Attempt, s *archive.Summary) { s.Attempts = nil }, "attempt", account{kind: "attempt", misses: 1}},
		{"invented attempt", func(row *truth.Attempt, _ *archive.Summary) {
			*row = truth.Attempt{File: "a.csv", ThrustAdvance: nan, Onset: nan, RollStart: nan, Rotation: nan, LiftOff: nan, ThrustCut: nan, FirstAction: nan, Peak: nan, Stop: nan, LookAlikes: row.LookAlikes}
		}, "attempt", account{kind: "attempt", falseAlarms: 1}},
		{"found elsewhere", func(_ *truth.Attempt, s *archive.Summary) {
			a := at(s)
			a.ThrustAdvance, a.Onset, a.RollStart, a.ThrustCut, a.Peak, a.Stop = moment(300), moment(301), moment(299), moment(320), moment(321), moment(340)
		}, "attempt", account{kind: "attempt", misses: 1, falseAlarms: 1}},
		{"outcome", func(_ *truth.Attempt, s *archive.Summary) { at(s).Outcome = truth.Airborne }, "outcome", account{kind: "outcome rejected", misses: 1}},
		{"rolling", func(_ *truth.Attempt, s *archive.Summary) { at(s).Rolling = true }, "rolling start", account{kind: "rolling start", falseAlarms: 1}},
		{"finding missed", func(_ *truth.Attempt, s *archive.Summary) { at(s).Findings[0].State = "within limits" }, "check flaps", account{kind: "check flaps", misses: 1}},
		{"finding invented", func(_ *truth.Attempt, s *archive.Summary) { at(s).Findings[3].State = "out of limits" }, "check brake", account{kind: "check brake", falseAlarms: 1}},
		{"wrongly untold", func(_ *truth.Attempt, s *archive.Summary) { at(s).Findings[0].State = "cannot be told" }, "check flaps", account{kind: "check flaps", wrongUntold: 1}},
		{"guessed", func(_ *truth.Attempt, s *archive.Summary) { at(s).Findings[1].State = "within limits" }, "check trim", account{kind: "check trim", guessed: 1}},
		{"no finding", func(_ *truth.Attempt, s *archive.Summary) { at(s).Findings = at(s).Findings[1:] }, "check flaps", account{kind: "check flaps", misses: 1}},
		{"not at the onset", func(_ *truth.Attempt, s *archive.Summary) { at(s).Findings[0].AtOnset = "within limits" }, "flaps at onset", account{kind: "flaps at onset", misses: 1}},
		{"warning missed", func(_ *truth.Attempt, s *archive.Summary) { at(s).Warning.Verdict = truth.WarnNeither }, "warning", account{kind: "warning", misses: 1}},
		{"warning invented", func(row *truth.Attempt, _ *archive.Summary) { row.Warning = truth.WarnNeither }, "warning", account{kind: "warning", falseAlarms: 1}},
		{"warning untold", func(_ *truth.Attempt, s *archive.Summary) { at(s).Warning.Verdict = truth.WarnUnknown }, "warning", account{kind: "warning", wrongUntold: 1}},
		{"warning guessed", func(row *truth.Attempt, _ *archive.Summary) { row.Warning = truth.WarnUnknown }, "warning", account{kind: "warning", guessed: 1}},
		{"no verdict", func(_ *truth.Attempt, s *archive.Summary) { at(s).Warning = nil }, "warning", account{kind: "warning", misses: 1}},
		{"class", func(_ *truth.Attempt, s *archive.Summary) { at(s).Reject.Class = truth.LowSpeed }, "reject class", account{kind: "reject class", misses: 1}},
		{"V1", func(_ *truth.Attempt, s *archive.Summary) { at(s).Reject.AgainstV1 = truth.AfterV1 }, "against V1", account{kind: "against V1", misses: 1}},
		{"first action by", func(_ *truth.Attempt, s *archive.Summary) { at(s).Reject.FirstAction.What = "thrust" }, "first action by", account{kind: "first action by", misses: 1}},
		{"look-alike missed", func(_ *truth.Attempt, s *archive.Summary) { s.LookAlike = nil }, "look-alike", account{kind: "look-alike taxi burst", misses: 1}},
		{"look-alike invented", func(row *truth.Attempt, _ *archive.Summary) { row.LookAlikes = nil }, "look-alike", account{kind: "look-alike taxi burst", falseAlarms: 1}},
		{"instant not told", func(_ *truth.Attempt, s *archive.Summary) { at(s).ThrustCut = nil }, "thrust cut", account{}},
		{"instant invented", func(_ *truth.Attempt, s *archive.Summary) { at(s).LiftOff = moment(130) }, "lift-off", account{}},
		{"no measures", func(_ *truth.Attempt, s *archive.Summary) { at(s).Reject = nil }, "first action", account{kind: "reject", misses: 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			row, s := reject(), found()
			c.change(&row, &s)
			r := compare(row, s)
			if r.Perfect() {
				t.Fatal("perfect, with a difference put in")
			}
			if got := r.Differences[0].What; got != c.what {
				t.Errorf("first difference %q, want %q: %+v", got, c.what, r.Differences)
			}
			for _, k := range r.Kinds {
				got := account{k.Name, k.Misses, k.FalseAlarms, k.WrongUntold, k.Guessed, 0}
				if k.Name == c.want.kind && got != c.want {
					t.Errorf("account %+v, want %+v", got, c.want)
				}
			}
			if r.Scenarios[0].Right != 0 {
				t.Errorf("the scenario counts as right: %+v", r.Scenarios)
			}
		})
	}
}

// What may be either way is no difference.
func TestOpen(t *testing.T) {
	for name, change := range map[string]func(row *truth.Attempt, s *archive.Summary){
		"optional attempt not found": func(row *truth.Attempt, s *archive.Summary) { row.Optional, s.Attempts = true, nil },
		"check left open":            func(_ *truth.Attempt, s *archive.Summary) { s.Attempts[0].Findings[2].State = "within limits" },
		"warning left open":          func(row *truth.Attempt, _ *archive.Summary) { row.Warning = "" },
		"V1 not resolvable":          func(_ *truth.Attempt, s *archive.Summary) { s.Attempts[0].Reject.AgainstV1 = "not resolvable" },
		"order not resolvable": func(_ *truth.Attempt, s *archive.Summary) {
			s.Attempts[0].Reject.Order, s.Attempts[0].Reject.FirstAction.What = "thrust and brakes", "thrust"
		},
		"too short to list": func(row *truth.Attempt, s *archive.Summary) {
			row.LookAlikes[0].Kind, s.LookAlike = truth.TooShort, nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			row, s := reject(), found()
			change(&row, &s)
			if r := compare(row, s); !r.Perfect() {
				t.Errorf("%+v", r.Differences)
			}
		})
	}
}

// A recording of the truth without a summary is no success, and a summary
// without truth is counted.
func TestUnreadAndUnknown(t *testing.T) {
	s := found()
	s.Recording.File = "b.csv"
	r := compare(reject(), s)
	if r.Perfect() || r.Unread != 1 || r.Unknown != 1 || r.Missed != 1 {
		t.Errorf("unread %d, unknown %d, missed %d", r.Unread, r.Unknown, r.Missed)
	}
}

// Errors, brackets and distributions of a measure, by nearest rank: errors of
// 0.01 … 1.00 s have p50 0.50, p95 0.95, p99 0.99; brackets of ±0.5 s hold
// the first half of them.
func TestMeasures(t *testing.T) {
	var rows []truth.Attempt
	var sums []archive.Summary
	for i := 1; i <= 100; i++ {
		row, s := reject(), found()
		row.File = strings.Repeat("x", i)
		s.Recording.File = row.File
		s.Attempts[0].ThrustCut = moment(120 + float64(i)/100)
		rows, sums = append(rows, row), append(sums, s)
	}
	r := score.Compare(rows, sums)
	for _, m := range r.Measures {
		if m.Name != "thrust cut" {
			continue
		}
		got := []float64{m.P50, m.P95, m.P99, m.Max, m.Width}
		for i, want := range []float64{0.50, 0.95, 0.99, 1, 1} {
			if math.Abs(got[i]-want) > 1e-9 {
				t.Errorf("figure %d is %v, want %v", i, got[i], want)
			}
		}
		if m.N != 100 || m.Brackets != 100 || m.Held != 50 {
			t.Errorf("n %d, brackets %d, held %d", m.N, m.Brackets, m.Held)
		}
	}
	if len(r.Worst) != 5 || r.Worst[0].Got != 121 || r.Worst[0].File != strings.Repeat("x", 100) {
		t.Errorf("worst cases %+v", r.Worst)
	}
	if !r.Perfect() {
		t.Error("an error of a measure is no wrong statement")
	}
	met := true
	for _, target := range r.Targets() {
		met = met && target.Met
	}
	if met {
		t.Error("every target met with a p95 of 0.95 s")
	}
}

// Two attempts of one file are matched by time, not by number.
func TestMatchByTime(t *testing.T) {
	first, second := reject(), reject()
	second.Number = 2
	for _, f := range []*float64{&second.ThrustAdvance, &second.Onset, &second.RollStart, &second.ThrustCut, &second.FirstAction, &second.Peak, &second.Stop} {
		*f += 200
	}
	second.LookAlikes = nil
	s := found()
	late := found().Attempts[0]
	late.ThrustAdvance, late.Onset, late.RollStart = moment(300), moment(301), moment(299)
	late.ThrustCut, late.Peak, late.Stop = moment(320), moment(321), moment(340)
	late.Reject.FirstAction.At = *moment(319)
	s.Attempts = []archive.AttemptSummary{late, s.Attempts[0]}
	if r := score.Compare([]truth.Attempt{first, second}, []archive.Summary{s}); !r.Perfect() || r.Found != 2 {
		t.Errorf("%+v", r.Differences)
	}
}

// A touch-and-go is found and its checks are not judged.
func TestTouchAndGo(t *testing.T) {
	row, s := reject(), found()
	row.Outcome, row.LiftOff = truth.TouchAndGo, 118
	s.Attempts[0].Outcome, s.Attempts[0].Findings, s.Attempts[0].Warning, s.Attempts[0].Reject = truth.TouchAndGo, nil, nil, nil
	s.Attempts[0].LiftOff = moment(118)
	if r := compare(row, s); !r.Perfect() {
		t.Errorf("%+v", r.Differences)
	}
}

// The text that a person reads, and the names of the JSON.
func TestWrite(t *testing.T) {
	row, s := reject(), found()
	s.Attempts[0].Findings[0].State = "within limits"
	s.Attempts[0].ThrustCut = moment(120.9)
	r := compare(row, s)
	var b bytes.Buffer
	if err := r.Write(&b); err != nil {
		t.Fatal(err)
	}
	const golden = "testdata/report.txt"
	if *update {
		if err := os.WriteFile(golden, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), b.String()); d != "" {
		t.Error(d)
	}
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{`"false_alarms":`, `"wrong_untold":`, `"median_width":`, `"differences":`} {
		if !strings.Contains(string(text), key) {
			t.Errorf("JSON lacks %s", key)
		}
	}
}

// A JSON number cannot be NaN: a report without any attempt has none.
func TestEmptyReportIsJSON(t *testing.T) {
	if _, err := json.Marshal(score.Compare(nil, nil)); err != nil {
		t.Error(err)
	}
}

// failing refuses everything.
type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrClosed }

func TestWriteKeepsTheError(t *testing.T) {
	r := compare(reject(), found())
	if err := r.Write(failing{}); err == nil {
		t.Error("no error from a writer that refuses")
	}
}
