package page_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollonset/report/archive"
	"rollonset/report/page"
)

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0, 0, "0"},
		{math.Copysign(0, -1), 1, "0.0"},
		{-0.04, 1, "0.0"},
		{-0.05, 1, "−0.1"},
		{0.5, 0, "1"},   // exact halves go away from zero, as in a browser
		{2.5, 0, "3"},   //
		{-2.5, 0, "−3"}, //
		{0.125, 2, "0.13"},
		{1.115, 2, "1.11"},      // the nearest float64 lies below the half
		{0.1 + 0.2, 3, "0.300"}, // no float noise
		{2.4999999999, 0, "3"},  // nine digits make it 2.5
		{123456.789, 1, "123456.8"},
		{math.NaN(), 1, "–"},
		{math.Inf(-1), 1, "–"},
	} {
		if got := page.Number(c.v, c.decimals); got != c.want {
			t.Errorf("Number(%v, %d) = %q, want %q", c.v, c.decimals, got, c.want)
		}
	}
}

// TestNumberLaw: near the value, right sign, no negative zero, no hyphen.
func TestNumberLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e5, 1e5).Draw(t, "v")
		decimals := rapid.IntRange(0, 3).Draw(t, "decimals")
		s := page.Number(v, decimals)
		back, err := strconv.ParseFloat(strings.Replace(s, "−", "-", 1), 64)
		// Half of the last place, and what seven significant digits leave off.
		if err != nil || math.Abs(back-v) > 0.5*math.Pow10(-decimals)+6e-7*math.Abs(v)+1e-12 {
			t.Fatalf("Number(%v, %d) = %q", v, decimals, s)
		}
		if strings.Contains(s, "-") || (back == 0 && strings.Contains(s, "−")) {
			t.Fatalf("Number(%v, %d) = %q", v, decimals, s)
		}
	})
}

func TestWords(t *testing.T) {
	for got, want := range map[string]string{
		page.Speed(13.6):                   "14 kt",
		page.Distance(38.4):                "38 m",
		page.Seconds(0.84):                 "0.8 s",
		page.Minutes(6.23):                 "6.2 minutes",
		page.With(1.1, "EPR"):              "1.100 EPR",
		page.With(math.NaN(), "kt"):        "–",
		page.With(3, ""):                   "3.00",
		page.Clock(*moment(151.4)):         "04:12:31 UTC",
		page.Clock(archive.Moment{At: 12}): "12.0 s after the start of the recording",
		page.Uncertainty(archive.Moment{At: 10, Earliest: 9.97, Latest: 10.31}): "± 0.4 s", // never claims more than the samples carry
		page.Uncertainty(archive.Moment{At: 10, Earliest: 9.5, Latest: 10.5}):   "± 0.5 s",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
