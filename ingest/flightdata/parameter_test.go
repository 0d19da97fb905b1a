package flightdata_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	. "rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// TestDefineEveryName asks for every parameter of the core set in every form
// that a recording can and cannot hold.
func TestDefineEveryName(t *testing.T) {
	for _, d := range Definitions() {
		for suffix, want := range map[string]bool{
			"":       !d.PerEngine,
			".1":     d.PerEngine,
			".4":     d.PerEngine,
			".left":  d.Sided,
			".right": d.Sided,
			".up":    false,
			".":      false,
			".0":     false,
			".left.": false,
			"s":      false,
		} {
			got, ok := Define(d.Name + Parameter(suffix))
			if ok != want {
				t.Errorf("Define(%q) = %v, want %v", string(d.Name)+suffix, ok, want)
			}
			if ok && got.Name != d.Name {
				t.Errorf("Define(%q) gives %q", string(d.Name)+suffix, got.Name)
			}
		}
	}
}

func TestDefine(t *testing.T) {
	for name, want := range map[Parameter]bool{
		"n1.2":                    true,
		"n1":                      false, // which engine?
		"flap_position":           true,
		"flap_position.left":      true,
		"brake_pressure.left":     true,
		"heading.left":            false, // an aeroplane has one
		"n1.left":                 false,
		"n1.two":                  false,
		"n1.0":                    false,
		"n1.-1":                   false,
		"n1.+2":                   false, // two spellings of one engine would be two parameters
		"n1.02":                   false,
		"n1.1.2":                  false,
		"n1.99999999999999999999": false,
		"N1.2":                    false,
		" n1.2":                   false,
		"":                        false,
		".":                       false,
		"altitude_of_the_moon":    false,
	} {
		if _, ok := Define(name); ok != want {
			t.Errorf("Define(%q) = %v, want %v", name, ok, want)
		}
	}
}

func TestSuffixes(t *testing.T) {
	for _, c := range []struct {
		name   Parameter
		base   Parameter
		engine int
	}{
		{"n1.2", "n1", 2},
		{"n1", "n1", 0},
		{"brake_pressure.left", "brake_pressure", 0},
		{"", "", 0},
		{".3", "", 3},
	} {
		if c.name.Base() != c.base || c.name.EngineNumber() != c.engine {
			t.Errorf("%q: base %q, engine %d", c.name, c.name.Base(), c.name.EngineNumber())
		}
	}
	if FlapPosition.Left() != "flap_position.left" || FlapPosition.Right() != "flap_position.right" {
		t.Error("sides are not written as .left and .right")
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 1000).Draw(t, "engine")
		if p := N1.Engine(n); p.EngineNumber() != n || p.Base() != N1 {
			t.Fatalf("engine %d is written %q and read as %d", n, p, p.EngineNumber())
		}
		// A number is read only from the one way in which it is written.
		p := Parameter("n1." + rapid.StringMatching(`[-+0-9 ]{0,4}`).Draw(t, "suffix"))
		if n := p.EngineNumber(); n != 0 && N1.Engine(n) != p {
			t.Fatalf("%q is read as engine %d, which is %q", p, n, N1.Engine(n))
		}
	})
}

// TestDefinitionsAreSound: the table is typed in by hand.
func TestDefinitionsAreSound(t *testing.T) {
	seen := map[Parameter]bool{}
	for _, d := range Definitions() {
		where := fmt.Sprintf("definition of %s", d.Name)
		if seen[d.Name] || d.Name == "" || strings.ContainsAny(string(d.Name), ". ") || strings.ToLower(string(d.Name)) != string(d.Name) {
			t.Errorf("%s: the name stands twice or is badly written", where)
		}
		seen[d.Name] = true
		switch d.Kind {
		case Continuous:
			if len(d.Dims) == 0 || len(d.States) != 0 || d.Lo >= d.Hi || d.Rate < 0 {
				t.Errorf("%s: %+v", where, d)
			}
			if d.Circular && (d.Dims[0] != unit.Angle || d.Rate != 0) {
				t.Errorf("%s: what wraps is an angle, and its steps over north are no rate", where)
			}
		case Discrete:
			if len(d.States) < 2 || len(d.Dims) != 0 || d.Circular {
				t.Errorf("%s: %+v", where, d)
			}
		}
	}
	if n := len(seen); n != 36 {
		t.Errorf("%d parameters; the page of canonical parameters lists 36", n)
	}
}

func TestDefinitionsIsACopy(t *testing.T) {
	Definitions()[0].Name = "spoilt"
	if Definitions()[0].Name != GroundSpeed {
		t.Error("a caller can change the table")
	}
}

// TestRecorderRangesAreInside: what 14 CFR part 121 appendix M lets a
// recorder deliver must never be masked as impossible.
func TestRecorderRangesAreInside(t *testing.T) {
	for _, c := range []struct {
		name   Parameter
		lo, hi float64
		row    string
	}{
		{PressureAltitude, -1000, 50000, "2"},
		{Airspeed, 0, 450, "3"},
		{Heading, 0, 360, "4"},
		{Pitch, -75, 75, "6"},
		{LongAcceleration, -1, 1, "11"},
		{OutsideAirTemp, -50, 60, "24"},
	} {
		if d, _ := Define(c.name); d.Lo > c.lo || d.Hi < c.hi {
			t.Errorf("%s: bounds [%g, %g] mask part of row %s, [%g, %g]", c.name, d.Lo, d.Hi, c.row, c.lo, c.hi)
		}
	}
	if d, _ := Define(ThrustReverser.Engine(1)); !slices.Equal(d.States, []string{"stowed", "transit", "deployed"}) {
		t.Errorf("row 22 names stowed, in transit, reverse: %q", d.States)
	}
}
