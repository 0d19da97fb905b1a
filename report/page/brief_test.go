package page_test

import (
	"strings"
	"testing"

	"rollonset/report/page"
)

func briefOf(t *testing.T, o page.BriefOptions) string {
	t.Helper()
	var out strings.Builder
	if err := page.Brief(&out, o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestBrief(t *testing.T) {
	s := rejectThenTakeoff()
	o := page.BriefOptions{Summary: s, Attempt: 1, Clip: fixtureClip(4), Type: "QX40"}
	text := briefOf(t, o)
	for _, want := range []string{
		"Takeoff rejected at 14 kt", "QX40", "action: thrust cut", "cue: takeoff configuration warning on", "action: brakes", "Roll start to stop", "38 m",
		"unknown", "measured", "the roll",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the brief does not say %q", want)
		}
	}
	// No identity, and no judgement.
	for _, no := range []string{"ZZ-Q07", "MA204", "2031", "04:1", "UTC", "aa00", "high severity", "medium", "out of limits", "violat", "error of"} {
		if strings.Contains(text, no) {
			t.Errorf("the brief says %q", no)
		}
	}
	if again := briefOf(t, o); again != text {
		t.Error("the same brief twice has other bytes")
	}
	if err := page.Brief(&strings.Builder{}, page.BriefOptions{Summary: s, Attempt: 3}); err == nil {
		t.Error("a brief was written of an attempt that is not there")
	}
	// Without samples everything measured is unknown, and said to be.
	bare := briefOf(t, page.BriefOptions{Summary: s, Attempt: 1})
	if !strings.Contains(bare, "nothing to draw") || strings.Contains(bare, ">measured<") {
		t.Error("without samples something was measured")
	}
	hostileText := briefOf(t, page.BriefOptions{Summary: hostileNames(), Attempt: 1, Clip: fixtureClip(4), Type: hostile})
	if strings.Contains(hostileText, "<script>alert") || strings.Contains(hostileText, "<img") {
		t.Error("a hostile name became markup")
	}
}

// TestBriefInBrowser opens the brief wide and narrow: nothing is fetched and
// nothing complained of (see tab.check), and a phone need not scroll sideways.
func TestBriefInBrowser(t *testing.T) {
	parent := browser(t)
	text := briefOf(t, page.BriefOptions{Summary: rejectThenTakeoff(), Attempt: 1, Clip: fixtureClip(4), Type: "QX40"})
	for _, width := range []int64{1200, 360} {
		b := open(t, parent, text, width)
		if got := ask[int64](b, "document.documentElement.scrollWidth"); got > width {
			t.Errorf("at %d pixels the page is %d wide", width, got)
		}
		if got := ask[int](b, "document.querySelectorAll('svg').length"); got != 1 {
			t.Errorf("%d pictures", got)
		}
	}
}

// TestBriefSaysOneSpeed: the speed at the thrust cut is the one of the title,
// though the nearest samples lie beside it.
func TestBriefSaysOneSpeed(t *testing.T) {
	s := rejectThenTakeoff()
	s.Attempts[0].Reject.GroundAtCut = reading(33.4, 1)
	text := words(briefOf(t, page.BriefOptions{Summary: s, Attempt: 1, Clip: fixtureClip(4), Type: "QX40"}))
	for _, want := range []string{"Takeoff rejected at 33 kt", "action: thrust cut | 33\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("the brief lacks %q:\n%s", want, text)
		}
	}
}
