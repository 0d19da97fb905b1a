package page

import (
	"testing"

	"rollonset/report/archive"
)

// TestValueText: the table has the number that the cursor shows, unless that
// would hide a digit.
func TestValueText(t *testing.T) {
	value := func(v float64, unit, text string) archive.FindingSummary {
		return archive.FindingSummary{Value: &v, Unit: unit, Text: text}
	}
	for _, c := range []struct {
		want string
		f    archive.FindingSummary
	}{
		{"−3.7 deg", value(-3.7, "deg", "-3.7 deg")},
		{"10.0 deg", value(10, "deg", "10 deg")},
		{"4.90 units", value(4.9000001, "units", "4.9 units")},
		{"5.6 deg, moving", value(5.6, "deg", "5.6 deg, moving")},
		{"−11.04 deg", value(-11.04, "deg", "-11.04 deg")},
		{"11.04 deg", value(11.04, "deg", "11.04 deg")},
		{"set", value(1, "", "set")},
		{"set, moving", value(1, "", "set, moving")},
		{"released", archive.FindingSummary{Text: "released"}},
		{None, archive.FindingSummary{}},
	} {
		if got := valueText(c.f); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestMinuses(t *testing.T) {
	for text, want := range map[string]string{
		"-9 to -1 deg": "−9 to −1 deg", "(-2.4…-1) to 3": "(−2.4…−1) to 3", "low-speed": "low-speed", "2031-03-07": "2031-03-07", "": "",
	} {
		if got := minuses(text); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
