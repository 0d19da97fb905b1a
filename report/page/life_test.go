package page_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// TestLifeless: a check counts where it applies to an attempt; on a flight
// without one the sensor had nothing to show.
func TestLifeless(t *testing.T) {
	for _, c := range []struct {
		life     bool
		attempts int
		want     bool
	}{{true, 1, false}, {false, 1, true}, {false, 0, false}, {true, 0, false}} {
		if got := page.Lifeless(archive.CheckCoverage{Life: c.life, Attempts: c.attempts}); got != c.want {
			t.Errorf("life %v on %d attempts: %v", c.life, c.attempts, got)
		}
	}
}

// deadBrake is a takeoff whose parking brake has a column without a sample.
func deadBrake() archive.Summary {
	a := takeoffAttempt()
	brake := &a.Findings[2]
	brake.State, brake.AtOnset = "cannot be told", "cannot be told"
	brake.Reason = "parking_brake: every sample is masked or missing"
	brake.Life, brake.LifeWhy = false, masked
	speedbrake := &a.Findings[3]
	speedbrake.Life, speedbrake.LifeWhy = false, "speedbrake_lever read 0 all through the recording"
	s := fixtureSummary(a)
	for i := range s.Coverage {
		for _, f := range a.Findings {
			if f.Check == s.Coverage[i].Check {
				s.Coverage[i].Life, s.Coverage[i].LifeWhy = f.Life, f.LifeWhy
			}
		}
	}
	s.Sensors = []archive.Sensor{
		{Parameter: "parking_brake", Names: []string{"pbrk"}},
		{Parameter: "main_gear_steering", Names: []string{"BGS"}, Samples: 600, States: []string{"centered"}},
		{Parameter: "speedbrake_lever", Names: []string{"SBL"}, Samples: 600, Low: f(0), High: f(0)},
	}
	return s
}

const masked = "parking_brake: every sample is masked or missing (recorded from pbrk)"

// TestDeadColumn: a column without a valid sample is not said to be missing,
// in the same words on the flight page, the night page and in the terminal.
func TestDeadColumn(t *testing.T) {
	s := deadBrake()
	if got := page.Reasons(s.Attempts[0].Findings[2]); !slices.Equal(got, []string{masked}) {
		t.Errorf("reasons %q", got)
	}
	if got := page.Reasons(s.Attempts[0].Findings[3]); !slices.Equal(got, []string{"sensor: speedbrake_lever read 0 all through the recording"}) {
		t.Errorf("reasons %q", got)
	}
	flight := words(flight(t, s, nil))
	if strings.Count(flight, masked) != 2 || strings.Contains(flight, "is not recorded") {
		t.Errorf("the flight page says %d times %q, or that it is not recorded", strings.Count(flight, masked), masked)
	}
	for _, want := range []string{
		"all checks within limits; no sign of life of speedbrake_lever and main_gear_steering in this recording",
	} {
		if strings.Contains(flight, want) {
			t.Errorf("with a check untold: %q", want)
		}
	}
	if want := "; no sign of life of speedbrake_lever and main_gear_steering in this recording."; !strings.Contains(flight, want) {
		t.Errorf("the flight page does not say %q", want)
	}
}

// TestNightPutsDeadSensorsFirst: no valid sample, then a state never seen, then
// what never moved; a flight without an attempt counts nowhere.
func TestNightPutsDeadSensorsFirst(t *testing.T) {
	idle := deadBrake()
	idle.Attempts, idle.Flight.Flight = nil, "MA999"
	for i := range idle.Coverage {
		idle.Coverage[i].Attempts, idle.Coverage[i].Told = 0, 0
	}
	text := words(night(t, deadBrake(), idle))
	_, table, _ := strings.Cut(text, "Checks without a sign of life\n")
	lines := strings.Split(table, "\n")[1:4]
	want := []string{
		"ZZ-Q07 | parking brake | 1 | " + masked + " | MA204 2031-03-07",
		"ZZ-Q07 | main-gear steering | 1 | the state not centered was never seen | MA204 2031-03-07",
		"ZZ-Q07 | speedbrake lever | 1 | speedbrake_lever read 0 all through the recording | MA204 2031-03-07",
	}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Errorf("sensors (-want +got):\n%s", diff)
	}
}

// TestManyLifeless are counted.
func TestManyLifeless(t *testing.T) {
	a := takeoffAttempt()
	for i := range a.Findings {
		a.Findings[i].Life, a.Findings[i].LifeWhy = false, "read one value"
	}
	if got, want := page.Headline(a), "Takeoff, all checks within limits; no sign of life of 5 parameters"; got != want {
		t.Errorf("headline %q, want %q", got, want)
	}
}
