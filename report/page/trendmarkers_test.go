package page_test

import (
	"strings"
	"testing"
	"time"

	"rollonset/report/trend"
)

// TestMarkersSayTheirDays: an action says which days lie on both sides, what
// else lies in them, and how the begin of a rise lies to it. The flap events
// rise from July 2032 on; the archive ends on 31 October 2032.
func TestMarkersSayTheirDays(t *testing.T) {
	date := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	tr := trendsOf(t, trendFleet{planted: true, months: 22, perDay: 60},
		trend.Marker{Date: date(2031, 9, 1), Label: "early, invented", Check: "flaps"},
		trend.Marker{Date: date(2032, 3, 1), Label: "card, invented", Check: "flaps"},
		trend.Marker{Date: date(2032, 9, 15), Label: "brief, invented", Check: "flaps"},
		trend.Marker{Date: date(2032, 7, 1), Label: "sensor, invented", Check: "parking brake"})
	source := words(trendPage(t, tr))
	for _, want := range []string{
		"A, 1 September 2031, early, invented: compared are only about 8 months (1 January 2031 to 31 August 2031) before it and 12 months (1 September 2031 to 31 August 2032) from it on. Sides of unlike length hold unlike seasons. Action B lies within these days too.",
		"B, 1 March 2032, card, invented: compared are 12 months (1 March 2031 to 29 February 2032) before it and only about 8 months (1 March 2032 to 31 October 2032) from it on. Sides of unlike length hold unlike seasons. Actions A and D lie within these days too.",
		"The rise of flaps events on the whole fleet begins about June 2032, about 3 months after the action.",
		"The rise of flaps events on the whole fleet begins about June 2032, but its counts allow May 2032 to September 2032: whether before or after the action cannot be told.",
		"Changed beyond chance: flaps higher,",
		"is at most 0.0125: 0.05 over 4 comparisons.",
		"Parking brake was told on 100.0 % of attempts before and on",
	} {
		if !strings.Contains(source, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if t.Failed() {
		_, after, _ := strings.Cut(source, "Actions, before and after")
		t.Log(after[:min(len(after), 4000)])
	}
	// An action after the data compares nothing, and says so.
	late := words(trendPage(t, trendsOf(t, trendFleet{months: 5, perDay: 4}, trend.Marker{Date: date(2040, 1, 1), Label: "late, invented", Check: "trim"})))
	if !strings.Contains(late, "the archive has no day of the 12 months from it on. So nothing can be said of this action.") || !strings.Contains(late, "cannot be told: one side has no takeoff") {
		t.Error("an action after the data is not said to have nothing behind it")
	}
}
