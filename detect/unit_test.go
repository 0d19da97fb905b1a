package detect_test

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// otherUnits are limits of the test profile written in other units. The
// factors are exact (NIST SP 811 appendix B.8); radians are rounded to what a
// float64 holds.
var otherUnits = []string{
	"threshold: 70 %", "threshold: 0.7 fraction",
	"hysteresis: 3 %", "hysteresis: 0.03 fraction",
	"persistence: 2 s", "persistence: 2000 ms",
	"boundary: 80 kt", "boundary: 148.16 km/h",
	"high_from: 120 kt", "high_from: 222.24 km/h",
	"brakes_on: 300 psi", "brakes_on: 20.684271879504 bar",
	"lever_out: 10 %", "lever_out: 0.1 fraction",
	"medium_from: 40 kt", "medium_from: 74.08 km/h",
	"within: 3 s", "within: 3000 ms",
	"cue_within: 6 s", "cue_within: 0.1 min",
	"gross_weight: [200 t, 300 t, 400 t]", "gross_weight: [200000 kg, 300000 kg, 400000 kg]",
	`center_of_gravity: ["10 %", "20 %", "30 %"]`, "center_of_gravity: [0.1 fraction, 0.2 fraction, 0.3 fraction]",
	"min: -2 deg, max: 2 deg", "min: -0.03490658503988659 rad, max: 0.03490658503988659 rad",
	"max: 2 %", "max: 0.02 fraction",
	"speeds: {to: 100 kt}", "speeds: {to: 185.2 km/h}",
	"settings: [10 deg, 20 deg], tolerance: 0.5 deg", "settings: [0.17453292519943295 rad, 0.3490658503988659 rad], tolerance: 0.008726646259971648 rad",
}

// TestUnitsOfLimits: in whatever unit a limit is written, the same is found.
// Figures may differ by the
// rounding of the conversion, instants by a nanosecond or two.
func TestUnitsOfLimits(t *testing.T) {
	text, err := os.ReadFile("testdata/profiles/quad.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(otherUnits); i += 2 {
		if !strings.Contains(string(text), otherUnits[i]) {
			t.Fatalf("the profile has no %q", otherUnits[i])
		}
	}
	other, err := profile.Parse("other.yaml", []byte(strings.NewReplacer(otherUnits...).Replace(string(text))))
	if err != nil {
		t.Fatal(err)
	}
	nanosecond := cmp.Comparer(func(a, b span.Instant) bool { return max(a, b)-min(a, b) <= 2 })
	near := cmp.Options{nanosecond, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-9, 1e-9), cmpopts.EquateComparable(unit.Unit{})}
	for _, pattern := range []string{"takeoff/testdata/*.txt", "configuration/testdata/checks.txt", "reject/testdata/*.txt"} {
		casefile.Each(t, pattern, os.ReadFile, func(t *testing.T, c *casefile.Case) {
			rec, prof := c.Build(t, os.ReadFile)
			if prof.Name != other.Name {
				t.Skip("the case has another profile")
			}
			if diff := cmp.Diff(tell(detect.Assess(rec, prof)), tell(detect.Assess(rec, other)), near); diff != "" {
				t.Errorf("in other units it tells something else (-as it is +other):\n%s", diff)
			}
		})
	}
}
