package casefile_test

import (
	"os"
	"strings"
	"testing"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// TestMistakes: every mistake of a case file is told with file, line and what
// to write instead.
func TestMistakes(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", `x.txt:1: no case: begin one with "case: NAME"`},
		{"before a case", "length: 5s", `x.txt:1: "length: 5s" stands before the first case: begin one with "case: NAME"`},
		{"no name", "case:", "x.txt:1: a case without a name"},
		{"twice", "case: a\ncase: a", `x.txt:2: case "a" stands twice in the file`},
		{"fact alone", "case: a\n  roll start: 5", `x.txt:2: "roll start: 5" is indented, and no "expect" stands above it`},
		{"length", "case: a\nlength: long", `x.txt:2: length "long" is not a time such as 150s`},
		{"like nothing", "case: a\nlike: b", `x.txt:2: like: no case "b" stands above`},
		{"like itself", "case: a\nlike: a", `x.txt:2: like: no case "a" stands above`},
		{"like late", "case: b\ncase: a\nlength: 5s\nlike: b", "x.txt:4: like: put it first in the case"},
		{"without nothing", "case: a\nwithout: n1.1", `x.txt:2: without: the case has no series "n1.1"`},
		{"plan name", "case: a\nplan: v3 120", `x.txt:2: plan: unknown entry "v3"; known: planned_flap, v1`},
		{"plan number", "case: a\nplan: v1 fast", `x.txt:2: plan: "fast" is not a number`},
		{"doubted", "case: a\ndoubted: pitch", `x.txt:2: doubted: write PARAMETER REASON`},
		{"no series", "case: a\nground_speed 0 until 5s", `x.txt:2: "ground_speed 0 until 5s" is neither "key: text" nor a series`},
		{"rate", "case: a\ngs 0 Hz 1 rest", `x.txt:2: gs: rate "0" is not a positive number`},
		{"term", "case: a\ngs 1 Hz 1 forever", `x.txt:2: gs: "1 forever": no term; write VALUE until TIME`},
		{"backwards", "case: a\ngs 1 Hz 1 until 9s, 2 until 5s", `x.txt:2: gs: "2 until 5s": ends at or before its start, 9s`},
		{"after rest", "case: a\ngs 1 Hz 1 rest, 2 for 5s", `x.txt:2: gs: "2 for 5s": stands after "rest"`},
		{"nothing before", "case: a\ngs 1 Hz ..5 in 5s", `x.txt:2: gs: "..5 in 5s": no value before it to go on from`},
		{"in without two", "case: a\ngs 1 Hz 5 in 5s", `x.txt:2: gs: "5 in 5s": "in" needs two values, A..B`},
		{"after a gap", "case: a\ngs 1 Hz gap for 5s, ..5 in 5s", `no value before it to go on from`},
		{"mask", "case: a\ngs 1 Hz 5 rest masked tired", `x.txt:2: gs: "5 rest masked tired": unknown reason for masking`},
		{"two at once", "case: a\nlength: x\nplan: v3 1", "x.txt:3: plan"},
	} {
		_, err := casefile.Parse("x.txt", c.text)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
}

// TestMistakesOfMeaning are those that only the profile shows.
func TestMistakesOfMeaning(t *testing.T) {
	const head = "case: a\nprofile: ../../../testdata/profiles/quad.yaml\n"
	for _, c := range []struct{ name, text, want string }{
		{"no length", head, `testdata/x.txt:1: case "a" has no length; write length: 150s`},
		{"no such parameter", head + "length: 5s\nspeed 1 Hz 1 rest", `testdata/x.txt:4: profile quad maps no parameter "speed"`},
		{"no such state", head + "length: 5s\nair_ground 1 Hz sea rest", `testdata/x.txt:4: air_ground has no state "sea"; known: ground, air`},
		{"a word for a number", head + "length: 5s\nground_speed 1 Hz fast rest", "testdata/x.txt:4: ground_speed takes numbers"},
		{"doubted nothing", head + "length: 5s\ndoubted: pitch it stands on its head", `testdata/x.txt:4: doubted: the case has no series "pitch"`},
		{"no such profile", "case: a\nprofile: nobody\nlength: 5s", `testdata/x.txt:1: no profile "nobody" beside the case or above`},
	} {
		cases, err := casefile.Parse("testdata/x.txt", c.text)
		if err != nil {
			t.Fatal(err)
		}
		prof, err := cases[0].Load(os.ReadFile)
		if err == nil {
			_, err = cases[0].Recording(prof)
		}
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
}

// TestSampling reads the samples of a line back.
func TestSampling(t *testing.T) {
	for _, c := range []struct {
		line   string
		times  []float64
		values []float64
	}{
		{"1 Hz 5 until 2s, ..9 in 2s, rest", []float64{0, 1, 2, 3, 4, 5, 6}, []float64{5, 5, 5, 7, 9, 9, 9}},
		{"1 Hz 0..6 in 6s", []float64{0, 1, 2, 3, 4, 5}, []float64{0, 1, 2, 3, 4, 5}},
		{"0.5 Hz from 1s 3 rest", []float64{1, 3, 5}, []float64{3, 3, 3}},
		{"1 Hz from 500ms steps 0.5 0..1 in 10s", []float64{.5, 1.5, 2.5, 3.5, 4.5, 5.5}, []float64{0, 0, 0.5, 0.5, 0.5, 0.5}},
		{"1 Hz 1 until 2s, 9 once, 1 rest", []float64{0, 1, 2, 3, 4, 5, 6}, []float64{1, 1, 9, 1, 1, 1, 1}},
		{"1 Hz 1 until 2s, gap for 3s, 4 rest", []float64{0, 1, 5, 6}, []float64{1, 1, 4, 4}},
		{"1 Hz -5.5 rest", []float64{0, 1, 2, 3, 4, 5, 6}, []float64{-5.5, -5.5, -5.5, -5.5, -5.5, -5.5, -5.5}},
	} {
		cases, err := casefile.Parse("x.txt", "case: a\nlength: 6s\nvalue "+c.line)
		if err != nil {
			t.Fatal(err)
		}
		s := cases[0].Alone("value")
		if s.Len() != len(c.times) {
			t.Errorf("%s: %v %v", c.line, s.Times, s.Values)
			continue
		}
		for i := range c.times {
			if s.Times[i] != span.Sec(c.times[i]) || s.Values[i] != c.values[i] {
				t.Errorf("%s: sample %d is %g at %g s, want %g at %g s", c.line, i, s.Values[i], s.Times[i].Seconds(), c.values[i], c.times[i])
			}
		}
	}
}

// TestFailuresSpeak changes each expectation of a case that holds into a wrong
// one: every one must fail, at its line, and say what was found.
func TestFailuresSpeak(t *testing.T) {
	text, err := os.ReadFile("testdata/holds.txt")
	if err != nil {
		t.Fatal(err)
	}
	if got := problems(t, string(text)); len(got) != 0 {
		t.Fatalf("the case must hold as it is: %v", got)
	}
	for _, c := range []struct{ right, wrong, want string }{
		{"expect attempt 1: rejected", "expect attempt 1: airborne", "expected airborne, found rejected: thrust cut on the ground"},
		{"expect attempt 1: rejected", "expect no attempt", "expected 0 attempts, found 1: rejected at 60.57 s"},
		{"expect attempt 1: rejected", "expect attempt 2: rejected", "attempt 2 is the 1. of the case"},
		{"expect look-alike: run-up", "expect look-alike: taxi burst", "expected taxi burst, found run-up"},
		{"expect look-alike: run-up", "", "expected 0 look-alikes, found 1: run-up in"},
		{"thrust advance: 60.571 ±0.001", "thrust advance: 60.6 ±0.001", "thrust advance: expected 60.6 ±0.001, found 60.5714 ["},
		{"60.571 in bracket", "62.5 in bracket", "expected 62.5 in bracket, found 60.5714"},
		{"bracket at most 2", "bracket at most 0.1", "expected bracket at most 0.1"},
		{"rotation: unknown", "rotation: 70 ±1", "rotation: expected 70 ±1, found unknown"},
		{"stop: 78 ±0.1", "stop: unknown", "stop: expected unknown, found 78"},
		{"class: low-speed", "class: high-speed", `class: expected high-speed, found "low-speed"`},
		{`why: "speed fell"`, `why: "speed rose"`, `why: expected "speed rose", found "thrust cut`},
		{"distance to stop: 185.2 ±1%", "distance to stop: 190 ±1%", "distance to stop: expected 190 ±1%, found 185"},
		{"actions: thrust; brakes", "actions: brakes; thrust", "actions: expected brakes; thrust, found thrust; brakes"},
		{"cues: takeoff warning", "cues: none", "cues: expected none, found takeoff warning"},
		{"out of limits, margin -4.5", "within limits, margin -4.5", "finding flap lever: expected within limits, found out of limits: value 5 deg, margin -4.5"},
		{"margin -4.5", "margin -4.4", "finding flap lever, margin: expected -4.4, found -4.5"},
		{"severity medium", "severity low", `finding flap lever, severity: expected low, found "medium"`},
		{"margin -4.5", "colour 3", `no fact "colour 3"; known: age, at the onset`},
		{"finding flap lever", "finding slats", `no finding "slats"`},
		{"others: within limits", "others: out of limits", "expected out of limits like the others"},
		{"warning: both", "warning: neither", "warning: expected neither, found both"},
		{"due flap lever", "due trim", "warning, due: expected trim, found flap lever"},
		{"delay 1.4", "delay 9", "warning, delay: expected 9"},
		{"class: low-speed", "classy: yes", `no fact "classy" of this attempt`},
		{`expect note: "a note"`, `expect note: "another"`, `no note "another"`},
		{"stop: 78 ±0.1", "stop: soon", "this is no demand on a figure"},
		{"expect look-alike: run-up", "expect rain", `expect "rain" is not known`},
		{"  findings: 11", "  findings: none", `findings: expected none, found "11"`},
	} {
		if !strings.Contains(string(text), c.right) {
			t.Fatalf("the case has no %q", c.right)
		}
		got := problems(t, strings.Replace(string(text), c.right, c.wrong, 1))
		if !strings.Contains(strings.Join(got, "\n"), c.want) {
			t.Errorf("%q instead of %q: got %v, want %s", c.wrong, c.right, got, c.want)
		}
		for _, p := range got {
			if !strings.HasPrefix(p, "testdata/holds.txt:") || !strings.Contains(p, `case "holds"`) || !strings.Contains(p, "(figures: ours)") {
				t.Errorf("a failure without its place and source: %s", p)
			}
		}
	}
}

var note = flightdata.Note{Text: "a note"}

func problems(t *testing.T, text string) []string {
	t.Helper()
	cases, err := casefile.Parse("testdata/holds.txt", text)
	if err != nil {
		t.Fatal(err)
	}
	rec, prof := cases[0].Build(t, os.ReadFile)
	asm := detect.Assess(rec, prof)
	asm.Notes = append(asm.Notes, note)
	var out []string
	for _, p := range cases[0].Check(asm) {
		out = append(out, p.String())
	}
	return out
}

// FuzzParse: no text makes the reader panic, and what it reads has lines.
func FuzzParse(f *testing.F) {
	text, err := os.ReadFile("testdata/holds.txt")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(text))
	f.Add("case: a\ngs 1 Hz 1..2 in 5s, rest masked spike\nexpect x\n  y")
	f.Fuzz(func(t *testing.T, text string) {
		cases, err := casefile.Parse("x.txt", text)
		if err == nil && len(cases) == 0 {
			t.Fatal("neither a case nor a mistake")
		}
		for _, c := range cases {
			if c.Line < 1 || c.Line > strings.Count(text, "\n")+1 {
				t.Fatalf("case at line %d", c.Line)
			}
		}
	})
}
