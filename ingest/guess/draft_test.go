package guess_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/ingest"
	"rollonset/ingest/guess"
	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
)

// otherOrigin are recordings that this project did not make, with their truth;
// they lie beside the clone where they are present.
const otherOrigin = "../../../shared/recordings"

// edit is what a person does to a draft: the text that the pattern finds is
// replaced, everywhere.
type edit struct{ from, to, why string }

// edits turn the draft of any recording of a subfleet into its profile. They
// are the limits that no recording holds; nothing of the map needs a change.
var edits = map[string][]edit{
	"twin": {
		{`settings: \[[^]]*\], tolerance: "0.5 deg"`, `settings: [5 deg, 10 deg, 15 deg], tolerance: 0.5 deg`, "the permitted flap lever settings"},
		{`settings: \[[^]]*\], tolerance: "1 deg"`, `settings: [5 deg, 10 deg, 15 deg], tolerance: 1 deg`, "the same for the surfaces"},
		{`(parameter: stabilizer_trim), min: "[^"]*", max: "[^"]*"`, `$1, min: 4 units, max: 8 units`, "the takeoff trim range"},
		{`(parameter: speedbrake_lever), max: "[^"]*"`, `$1, max: 2.4 deg`, "a twentieth of the full travel of 48 deg"},
		{`(parameter: spoiler_position), max: "[^"]*"`, `$1, max: 13 %`, "panels lift by up to 12 % for roll control"},
	},
	"quad": {
		{`settings: \[[^]]*\], tolerance: "0.5 deg"`, `settings: [10 deg, 20 deg], tolerance: 0.5 deg`, "the permitted flap lever settings"},
		{`settings: \[[^]]*\], tolerance: "1 deg"`, `settings: [10 deg, 20 deg], tolerance: 1 deg`, "the same for the surfaces"},
		{`(parameter: stabilizer_trim), min: "[^"]*", max: "[^"]*"`, `$1, min: 3 units, max: 8 units`, "the takeoff trim range"},
		{`(parameter: speedbrake_lever), max: "[^"]*"`, `$1, max: 2.75 deg`, "a twentieth of the full travel of 55 deg"},
		{`threshold: "70 %"`, `threshold: 75 %`, "these engines are run up to 73 % to backtrack on the runway"},
	},
}

// TestDraftsOfOtherOrigin: the draft of each recording of other origin is a
// profile, and with fewer than ten edits one that gives the attempts, outcomes
// and findings of their truth.
func TestDraftsOfOtherOrigin(t *testing.T) {
	paths, _ := filepath.Glob(filepath.Join(otherOrigin, "*.csv.gz"))
	if len(paths) == 0 {
		t.Skip("the recordings of other origin are not beside this clone: nothing is checked here")
	}
	truth := otherTruth(t)
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			text := draftOf(t, path)
			list := edits[filepath.Base(path)[:4]]
			if len(list) >= 10 {
				t.Fatalf("%d edits", len(list))
			}
			for _, e := range list {
				re := regexp.MustCompile(e.from)
				if !re.MatchString(text) {
					t.Errorf("the draft has no place for %s (%s)", e.why, e.from)
				}
				text = re.ReplaceAllString(text, e.to)
			}
			prof, err := profile.Parse("draft.yaml", []byte(text))
			if err != nil {
				t.Fatalf("after the edits: %v\n%s", err, text)
			}
			rec, _, err := ingest.Open(path, []*profile.Profile{prof}, ingest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			compare(t, truth[filepath.Base(path)], detect.Assess(rec, prof))
		})
	}
}

// draftOf drafts a profile and demands that it has no mistake.
func draftOf(t *testing.T, path string) string {
	t.Helper()
	ins, err := ingest.Inspect(path, nil, ingest.Options{})
	if err != nil {
		t.Fatal(err)
	}
	text := string(ins.Draft())
	if _, err := profile.Parse("draft.yaml", []byte(text)); err != nil {
		t.Fatalf("%s: %v\n%s", filepath.Base(path), err, text)
	}
	for _, must := range []string{"# CAUTION", "CONFIRM", "PLACEHOLDER"} {
		if !strings.Contains(text, must) {
			t.Errorf("%s: the draft does not say %s", path, must)
		}
	}
	return text
}

func otherTruth(t *testing.T) map[string][]map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(otherOrigin, "truth.csv"))
	if err != nil {
		t.Fatal(err)
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

// checksOf maps the words of their truth to the checks of a draft.
var checksOf = map[string][]string{
	"flap": {"flap lever", "flaps"}, "flap_in_transit": {"flaps"}, "trim": {"trim"},
	"spdbrk": {"speedbrake lever", "spoilers"}, "pbrk": {"parking brake"},
}

func compare(t *testing.T, truth []map[string]string, a *detect.Assessment) {
	t.Helper()
	used := map[int]bool{}
	for _, want := range truth {
		if want["count"] == "none" {
			continue
		}
		i := slices.IndexFunc(a.Attempts, func(x detect.Attempt) bool {
			at := a.Recording.FileClock(x.Onset.At)
			return at >= number(t, want["onset_earliest"]) && at <= number(t, want["onset_latest"])+3
		})
		if i < 0 {
			if want["count"] == "yes" {
				t.Errorf("attempt %s is missed", want["attempt"])
			}
			continue
		}
		used[i] = true
		got := a.Attempts[i]
		if got.Outcome == takeoff.TouchAndGo && want["start"] == "touch_and_go" {
			continue
		}
		if string(got.Outcome) != want["outcome"] {
			t.Errorf("outcome %s, want %s", got.Outcome, want["outcome"])
		}
		var expect, out []string
		for _, word := range strings.FieldsFunc(want["out_at_onset"], func(r rune) bool { return r == '+' }) {
			expect = append(expect, checksOf[word]...)
		}
		for _, f := range got.Findings {
			switch f.State {
			case configuration.Outside:
				out = append(out, f.Check)
			case configuration.Unknown:
				t.Errorf("%s cannot be told: %s", f.Check, f.Reason)
			}
		}
		if !slices.Equal(out, expect) {
			t.Errorf("out of limits %v, want %v", out, expect)
		}
	}
	for i, x := range a.Attempts {
		if !used[i] {
			t.Errorf("attempt at %.1f s (%s) is invented", a.Recording.FileClock(x.Onset.At), x.Outcome)
		}
	}
}

func number(t *testing.T, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestFleetIsGuessed drafts profiles of flights of the three types of the
// invented operator and compares every guess with the profile that the flights
// were made by. A guess that is called sure must be right.
func TestFleetIsGuessed(t *testing.T) {
	profiles, err := profile.LoadDir(filepath.Join("..", "..", "sampledata", "fleet"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := synth.Flights(synth.Options{N: 12, Seed: 5}, profiles, dir); err != nil {
		t.Fatal(err)
	}
	paths, _ := filepath.Glob(filepath.Join(dir, synth.RecordingsDir, "*"))
	var score tally
	types := map[string]bool{}
	for _, path := range paths {
		ins, err := ingest.Inspect(path, profiles, ingest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		types[ins.Profile] = true
		for _, c := range ins.Columns {
			score.add(t, ins.Profile, profiles, c)
		}
		draftOf(t, path)
	}
	if len(types) != 3 {
		t.Errorf("flights of %d types were made, want 3", len(types))
	}
	t.Logf("%+v", score)
	if score.Wrong > 0 || score.Right*100 < 85*score.Mapped || score.Unit*50 > score.Mapped {
		t.Errorf("%+v: the parameter must never be wrong, the unit or the states of a likely guess in one of fifty", score)
	}
}

// tally counts guesses against a profile.
type tally struct{ Mapped, Right, Unit, Perhaps, Missed, Wrong, Invented int }

func (s *tally) add(t *testing.T, name string, profiles []*profile.Profile, c ingest.ColumnReport) {
	t.Helper()
	g := c.Guess
	if c.Parameter == "" || c.Parameter == "time" {
		if g.Parameter != c.Parameter {
			s.Invented++
			t.Logf("%s: %s is guessed to be %s", name, c.Name, g)
		}
		return
	}
	if c.Samples == 0 {
		return
	}
	s.Mapped++
	prof := profiles[slices.IndexFunc(profiles, func(p *profile.Profile) bool { return p.Name == name })]
	rule := prof.Find(c.Parameter)
	switch {
	case g.Parameter == "":
		s.Missed++
		t.Logf("%s: %s (%s) is not guessed", name, c.Name, c.Parameter)
	case g.Parameter != c.Parameter:
		s.Wrong++
		t.Errorf("%s: %s is guessed to be %s, it is %s", name, c.Name, g, c.Parameter)
	case g.Unit != rule.Unit || !means(rule.States, g.States):
		if s.Unit++; g.Certainty == guess.Perhaps {
			s.Unit, s.Perhaps = s.Unit-1, s.Perhaps+1
		}
		text := fmt.Sprintf("%s: %s is guessed as %s %v, it is in %s %v (%s)", name, c.Name, g, g.States, rule.Unit, rule.States, g.Reason)
		if g.Certainty == guess.Sure {
			t.Error(text)
		} else {
			t.Log(text)
		}
	default:
		s.Right++
	}
}

// means says whether every guessed cell stands for the state that it is.
func means(rules, guessed []profile.StateRule) bool {
	for _, g := range guessed {
		for _, cell := range g.Cells {
			i := slices.IndexFunc(rules, func(r profile.StateRule) bool { return slices.Contains(r.Cells, cell) })
			if i >= 0 && rules[i].State != g.State {
				return false
			}
		}
	}
	return true
}
