package page_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// heldTo is a finding out of limits from the onset up to a ground speed, with a
// bracket of a second before its end.
func heldTo(check, rule string, from, to *archive.Reading, seconds float64) archive.FindingSummary {
	f := finding(check, "", "flap_position", "deg", "1 deg", "10 deg", nil, nil)
	f.State, f.AtOnset, f.Severity, f.Rule = "out of limits", "out of limits", "high", rule
	end := archive.Moment{At: 432 + seconds, Earliest: 431 + seconds, Latest: 432 + seconds}
	f.Stretches = []archive.OutOfLimits{{From: *moment(432), To: end, SpeedFrom: from, SpeedTo: to, Ended: "corrected"}}
	return f
}

// TestRuleSaysWhatBracketsLeaveOpen: at 4.5 kt/s the second before the end
// reaches down to 77 kt; at 90 kt it does not reach the boundary.
func TestRuleSaysWhatBracketsLeaveOpen(t *testing.T) {
	for name, c := range map[string]struct {
		rule      string
		speed     float64
		open      string
		atNoBound bool
	}{
		"boundary below":    {"held at 82 kt, at or above 80 kt", 82.4, "; 81.6 to 83.2 kt by the samples and its end ± 1.0 s, not resolvable against 80 kt", false},
		"boundary far":      {"held at 90 kt, at or above 80 kt", 90, "", false},
		"lower of two":      {"held at 42 kt, from 40 to 80 kt", 42, "; 41.2 to 42.8 kt by the samples and its end ± 1.0 s, not resolvable against 40 kt", false},
		"upper of two":      {"held at 79 kt, from 40 to 80 kt", 79.4, "; 78.6 to 80.2 kt by the samples and its end ± 1.0 s, not resolvable against 80 kt", false},
		"another rule":      {"the check fixes high", 82.4, "", false},
		"held until flying": {"held until the aircraft rotated or flew", 82.4, "", false},
		"exact moment":      {"held at 82 kt, at or above 80 kt", 82.4, "", true},
	} {
		a := takeoffAttempt()
		f := heldTo("flaps", c.rule, reading(0, 0), reading(c.speed, 0.8), c.speed/4.5)
		if c.atNoBound {
			f.Stretches[0].To.Earliest = f.Stretches[0].To.At
		}
		a.Findings = []archive.FindingSummary{f}
		if got, want := page.RuleWords(c.rule, "flaps", a), c.rule+c.open; got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	raised := "held at 82 kt, at or above 80 kt; raised one step, more than 4 outside"
	a := takeoffAttempt()
	a.Findings = []archive.FindingSummary{heldTo("flaps", raised, reading(0, 0), reading(82.4, 0.8), 18)}
	if got := page.RuleWords(raised, "flaps", a); !strings.HasSuffix(got, "not resolvable against 80 kt; raised one step, more than 4 outside") {
		t.Errorf("a raised one: %q", got)
	}
}

// TestOneOrder: what held to the higher speed comes first, in the list of the
// flight, in its checks, in its headline and on the night page.
func TestOneOrder(t *testing.T) {
	a := takeoffAttempt()
	a.Findings = []archive.FindingSummary{
		heldTo("slow", "rule s", reading(0, 0), reading(97, 1), 20), heldTo("fast", "rule f", reading(0, 0), reading(166, 1), 40),
	}
	for _, f := range a.Findings {
		a.Events = append(a.Events, archive.EventSummary{Kind: "configuration", Check: f.Check, Severity: "high", Rule: f.Rule})
	}
	s := fixtureSummary(a)
	if got := page.Headline(a); got != "Takeoff; out of limits: fast and slow" {
		t.Errorf("headline %q", got)
	}
	flight := words(flight(t, s, nil))
	if !strings.Contains(flight, page.EventOrder) {
		t.Error("the flight page does not say its order")
	}
	for name, text := range map[string]string{"flight": flight, "night": words(night(t, s))} {
		var got []string
		for _, line := range strings.Split(text, "\n") {
			cells := strings.Split(line, " | ")
			if cells[0] == "high" {
				check, _, _ := strings.Cut(cells[1], ":")
				got = append(got, check)
			}
		}
		if diff := cmp.Diff([]string{"fast", "slow"}, got); diff != "" {
			t.Errorf("%s page (-want +got):\n%s", name, diff)
		}
	}
	place := func(i int) page.Place { return page.PlaceOf(s.Flight, a, a.Events[i]) }
	if place(0).Compare(place(1)) <= 0 || place(1).Compare(place(0)) >= 0 || place(0).Compare(place(0)) != 0 {
		t.Error("the account's order is another")
	}
}

// TestInstantsNameEveryOpenOrder: the speedbrake is open against the brakes,
// although the peak lies between them.
func TestInstantsNameEveryOpenOrder(t *testing.T) {
	a := rejectedAttempt()
	a.Reject.Actions = []archive.Action{{What: "thrust", At: *moment(63.1)}, {What: "brakes", At: *moment(64.4)}, {What: "speedbrake", At: *moment(65.4)}}
	a.Peak = &archive.Moment{At: 64.5, Earliest: 64.4, Latest: 64.6}
	a.Reject.AgainstV1 = "after V1"
	text := words(flight(t, fixtureSummary(a), nil))
	if want := "speedbrake / order with brakes not resolvable"; !strings.Contains(text, want) {
		t.Errorf("the instants do not say %q", want)
	}
	if got := page.Headline(a); !strings.HasPrefix(got, "Takeoff rejected at 14 kt, after V1; out of limits: ") {
		t.Errorf("headline %q", got)
	}
}
