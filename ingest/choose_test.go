package ingest_test

import (
	"errors"
	"strings"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
)

func columns(names ...string) (out []table.Column) {
	for _, n := range names {
		out = append(out, table.Column{Name: n})
	}
	return out
}

func TestChoose(t *testing.T) {
	a := parse(t, twin)
	// B reads everything that A reads, for other tails; C reads other names.
	b := parse(t, twin, "name: AB01", "name: AB02", "ZZ-A*", "ZZ-B*")
	more := parse(t, twin, "name: AB01", "name: AB03", "ZZ-A*", "ZZ-C*", "  heading:", "  pitch: {column: PITCH, unit: deg}\n  heading:")
	other := parse(t, twin, "name: AB01", "name: AB04", "ZZ-A*", "ZZ-D?7", "N1_*", "ENG*", "GS_1, GS_2", "SPEED")
	full := columns("TIME", "GS_1", "IAS", "N1_1", "N1_2", "FLAP", "PITCH")

	for _, c := range []struct {
		name     string
		columns  []table.Column
		profiles []*profile.Profile
		tail     string
		want     string // name of the profile, or part of the error
		note     string
	}{
		{"by tail", full, []*profile.Profile{a, b, more, other}, "ZZ-B12", "AB02", ""},
		{"by tail pattern with one open letter", columns("TIME", "SPEED", "ENG1", "ENG2"), []*profile.Profile{a, b, more, other}, "ZZ-DX7", "AB04", ""},
		{"by tail although another finds more", full, []*profile.Profile{more, a}, "ZZ-A1", "AB01", ""},
		{"a tail that no profile lists", full, []*profile.Profile{a, b}, "ZZ-Z1", "no profile lists the tail ZZ-Z1", ""},
		{"a tail whose profile does not read the file", columns("TIME", "GS_1", "N1_1", "N1_2"), []*profile.Profile{a, other}, "ZZ-D17", "does not read this file: n1 is there for 0 engines, the arming rule needs 1", ""},
		{"by names: one fits", columns("TIME", "SPEED", "ENG1"), []*profile.Profile{a, other}, "", "AB04", "the tail is not known: profile AB04 was chosen by the recorded names (2 of 9 found)"},
		{"by names: the one that finds more", full, []*profile.Profile{a, more, other}, "", "AB03", "the tail is not known: profile AB03 was chosen by the recorded names (6 of 10 found)"},
		{"two find the same number", columns("TIME", "GS_1", "N1_1"), []*profile.Profile{a, b}, "", "the profiles AB01 and AB02 both read it and no tail tells which applies", ""},
		{"the time is missing", columns("GS_1", "N1_1", "N1_2"), []*profile.Profile{a}, "", "the time column TIME or CLOCK is missing", ""},
		{"the speed is missing", columns("TIME", "N1_1", "N1_2"), []*profile.Profile{a}, "", "neither ground speed nor airspeed is there under the profile's names", ""},
		{"airspeed is enough", columns("CLOCK", "IAS", "N1_2"), []*profile.Profile{a}, "", "AB01", "the tail is not known: profile AB01 was chosen by the recorded names (2 of 9 found)"},
		{"the engines are missing", columns("TIME", "GS_1"), []*profile.Profile{a, other}, "", "n1 is there for 0 engines, the arming rule needs 1", ""},
		{"no known column", columns("ONE", "TWO"), []*profile.Profile{a, other}, "", `no profile knows any of its columns (the file has "ONE", "TWO")`, ""},
		{"many columns are not all listed", columns("A", "B", "C", "D", "E", "F", "G", "H"), []*profile.Profile{a}, "", `"F" and 2 more)`, ""},
		{"names are told apart by case", columns("time", "gs_1", "n1_1"), []*profile.Profile{a}, "", "no profile knows any of its columns", ""},
		{"no columns at all", nil, []*profile.Profile{a}, "", "no profile knows any of its columns", ""},
		{"no profile", full, nil, "", "no profile is given", ""},
		{"no profile for a tail", full, nil, "ZZ-A1", "no profile is given", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, notes, err := ingest.Choose("dir/r.csv", c.columns, c.profiles, c.tail)
			if err != nil {
				var e *ingest.Error
				if !errors.As(err, &e) || e.File != "dir/r.csv" || e.Remedy == "" || !strings.Contains(err.Error(), c.want) || p != nil {
					t.Errorf("%v, %v; want %q with file and remedy", p, err, c.want)
				}
				return
			}
			note := ""
			for _, n := range notes {
				note += n.String()
			}
			if p.Name != c.want || note != c.note {
				t.Errorf("%s with %q; want %s with %q", p.Name, note, c.want, c.note)
			}
		})
	}
}

// TestChooseDoesNotDependOnOrder: the profiles come from a folder, and the
// order of a folder must decide nothing.
func TestChooseDoesNotDependOnOrder(t *testing.T) {
	a, more := parse(t, twin), parse(t, twin, "name: AB01", "name: AB03", "ZZ-A*", "ZZ-C*", "  heading:", "  pitch: {column: PITCH, unit: deg}\n  heading:")
	full := columns("TIME", "GS_1", "N1_1", "PITCH")
	for _, profiles := range [][]*profile.Profile{{a, more}, {more, a}} {
		if p, _, err := ingest.Choose("r.csv", full, profiles, ""); err != nil || p != more {
			t.Errorf("%v, %v", p, err)
		}
	}
}

func TestOpenWithoutProfile(t *testing.T) {
	path := put(t, "r.csv", fill("FLAP", "10"))
	if _, _, err := ingest.Open(path, nil, ingest.Options{}); err == nil || !strings.Contains(err.Error(), "no profile is given") {
		t.Errorf("Open: %v", err)
	}
	if _, err := ingest.Identify(path, nil, ingest.Options{}); err == nil || !strings.Contains(err.Error(), "no profile is given") {
		t.Errorf("Identify: %v", err)
	}
}
