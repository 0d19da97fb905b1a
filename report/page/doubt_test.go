package page_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
	"rollonset/report/page"
)

func TestDoubts(t *testing.T) {
	s := archive.Summary{
		Profile: archive.ProfileInfo{File: "/fleet/tj22.yaml"},
		Notes: []string{
			"airspeed, ground_speed are not believed: they differ; by half; check the unit of airspeed (line 24 of the profile)",
			"center_of_gravity is not in the file (CG)",
			"airspeed is not believed: they differ; it is read from elsewhere",
		},
	}
	want := []page.Doubt{
		{Parameter: "airspeed", Why: "they differ; by half", Remedy: "check the unit of airspeed (line 24 of tj22.yaml)"},
		{Parameter: "ground_speed", Why: "they differ; by half", Remedy: "check the unit of airspeed (line 24 of tj22.yaml)"},
	}
	if diff := cmp.Diff(want, page.Doubts(&s)); diff != "" {
		t.Errorf("doubts (-want +got):\n%s", diff)
	}
}

// TestNightTellsDoubts: a share that is another on every flight is one row of
// an aircraft, and a night without doubts has no such table.
func TestNightTellsDoubts(t *testing.T) {
	flight := func(share string) archive.Summary {
		s := archive.Summary{Flight: archive.Flight{Tail: "ZZ-J02"}, Profile: archive.ProfileInfo{File: "tj22.yaml"}}
		if share != "" {
			s.Notes = []string{"airspeed is not believed: " + share + " % of its samples lie outside what is possible; check the unit of airspeed (line 24 of the profile)"}
		}
		return s
	}
	draw := func(all ...archive.Summary) string {
		var b strings.Builder
		if err := page.Night(&b, archive.Run{}, page.Each(all), page.NightOptions{}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	got := draw(flight("40"), flight("41"), flight(""))
	for _, want := range []string{
		"Data not believed", "for example: 40 % of its samples lie outside what is possible", "check the unit of airspeed (line 24 of tj22.yaml)",
		"On 2 recordings some data is not believed", `<td class="num">2</td>`,
	} {
		if !strings.Contains(got, want) && !strings.Contains(words(got), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Count(got, "lie outside") != 1 {
		t.Error("a figure of the reason made more rows")
	}
	if strings.Contains(draw(flight("")), "not believed") {
		t.Error("a night without doubts speaks of them")
	}
}

// TestOneSpeedAtTheCut: the speed of a check that held up to the thrust cut is
// that of the reject, and only there.
func TestOneSpeedAtTheCut(t *testing.T) {
	a := rejectedAttempt()
	cut := *a.ThrustCut
	a.Reject = &archive.RejectSummary{GroundAtCut: reading(67.51, 1)}
	a.Findings = []archive.FindingSummary{{Check: "trim", Stretches: []archive.OutOfLimits{{To: cut, SpeedTo: reading(67.47, 1), Ended: "thrust cut"}}}}
	const rule = "held at 67 kt, from 40 to 80 kt"
	if got := page.RuleWords(rule, "trim", a); got != "held at 68 kt, from 40 to 80 kt" {
		t.Errorf("at the cut %q", got)
	}
	if got := page.RuleWords(rule, "flaps", a); got != rule {
		t.Errorf("of another check %q", got)
	}
	a.Findings[0].Stretches[0].Ended = "corrected"
	if got := page.RuleWords(rule, "trim", a); got != rule {
		t.Errorf("corrected %q", got)
	}
}
