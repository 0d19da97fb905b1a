package page

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"rollonset/report/archive"
	"rollonset/report/chart"
)

// None stands in a table where there is no figure, or none that can be told.
const None = "–"

// significant rounds to seven significant digits. That drops the noise of
// floating point (0.1+0.2) and nothing that any recorder resolves. Samples go
// into a page rounded the same way, so a number that the cursor shows and one
// that a table shows come from the same value.
func significant(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 7, 64), 64)
	if err != nil {
		return v
	}
	return r
}

// Number writes v with that many decimals, halves away from zero, a true
// minus sign in front of negative numbers and never a negative zero. NaN and
// the infinities, which mean that there is no figure, give [None].
func Number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return None
	}
	a := math.Abs(significant(v))
	// Only a multiple of 1/2^(decimals+1) can lie exactly on a half. There
	// strconv goes to the even neighbour and a browser away from zero.
	if twice := math.Ldexp(a, decimals+1); twice == math.Trunc(twice) && math.Mod(twice, 2) == 1 {
		a = math.Nextafter(a, math.Inf(1))
	}
	s := strconv.FormatFloat(a, 'f', decimals, 64)
	if v < 0 && strings.Trim(s, "0.") != "" {
		return chart.Minus + s
	}
	return s
}

// hyphens in front of a number, as the texts of the detection have them.
var hyphens = regexp.MustCompile(`(^|[ (…])-(\d)`)

// minuses gives the numbers in a text the minus sign that all others have.
func minuses(s string) string { return hyphens.ReplaceAllString(s, "${1}"+chart.Minus+"${2}") }

// signed is Number with a plus sign in front of what is above zero.
func signed(v float64, decimals int) string {
	s := Number(v, decimals)
	if v > 0 && strings.Trim(s, "0.") != "" && s != None {
		return "+" + s
	}
	return s
}

// figure is Number of a value that may be missing.
func figure(v *float64, decimals int) string {
	if v == nil {
		return None
	}
	return Number(*v, decimals)
}

// Speed is a ground speed or airspeed in whole knots, as sentences say it.
func Speed(kt float64) string { return Number(kt, 0) + " kt" }

// Distance is a distance in whole metres.
func Distance(m float64) string { return Number(m, 0) + " m" }

// Seconds is a length of time with a tenth of a second, as sentences say it.
func Seconds(s float64) string { return Number(s, 1) + " s" }

// Minutes is a length of time in minutes with a tenth.
func Minutes(m float64) string { return Number(m, 1) + " minutes" }

// With is a number with its unit behind it, with the decimals that suit the
// unit; a plain number has no unit.
func With(v float64, unit string) string {
	s := Number(v, Decimals(unit))
	if unit == "" || s == None {
		return s
	}
	return s + " " + unit
}

// Decimals is how many decimals a figure in that unit is shown with, in
// sentences, tables and under the cursor alike: about as fine as a recorder
// resolves it and its bracket carries. Speeds are in whole knots; the samples
// that a page saves are as they were recorded.
func Decimals(unit string) int {
	switch unit {
	case "deg", "%", "degC", "m/s", "MJ":
		return 1
	case "units", "s":
		return 2
	case "EPR", "g":
		return 3
	case "kt", "ft", "m", "kg", "psi":
		return 0
	}
	return 2
}

// up rounds an uncertainty up, because rounded to the nearest it could claim
// more than the samples carry. A millionth of the last place is float noise.
func up(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Ceil(v*scale-1e-6) / scale
}

// Uncertainty is the larger side of a moment's bracket, "± 0.5 s", rounded up.
func Uncertainty(m archive.Moment) string {
	return "± " + Seconds(up(max(m.At-m.Earliest, m.Latest-m.At), 1))
}

// bracketWords are the uncertainty in brackets behind a moment, "" for a moment
// without any, such as the end of what was judged.
func bracketWords(m archive.Moment) string {
	if m.Latest <= m.Earliest {
		return ""
	}
	return " (" + Uncertainty(m) + ")"
}

// bracket is both sides of a moment's bracket in seconds, for tables.
func bracket(m archive.Moment) string {
	before, after := Number(up(m.At-m.Earliest, 2), 2), Number(up(m.Latest-m.At, 2), 2)
	if before == after {
		return "± " + before
	}
	return chart.Minus + before + " +" + after
}

// between is the bracket of a reading, "13 to 15". Its ends are rounded
// outwards, because rounded to the nearest it could leave the value outside.
func between(r archive.Reading, decimals int) string {
	return Number(-up(-r.Low, decimals), decimals) + " to " + Number(up(r.High, decimals), decimals)
}

// Clock is the time of day of a moment to the second, or its place in the
// recording when the recording has no date.
func Clock(m archive.Moment) string {
	t, err := time.Parse(time.RFC3339Nano, m.UTC)
	if err != nil {
		return Seconds(m.At) + " after the start of the recording"
	}
	return t.UTC().Round(time.Second).Format("15:04:05") + " UTC"
}

// clockTenths is the time of day to a tenth of a second, for tables.
func clockTenths(m archive.Moment) string {
	t, err := time.Parse(time.RFC3339Nano, m.UTC)
	if err != nil {
		return None
	}
	return t.UTC().Round(100 * time.Millisecond).Format("15:04:05.0")
}

// day writes a date as a person does; text that is no date stays as it is.
func day(date string) string {
	t, err := time.Parse("2006-01-02", date)
	if err != nil {
		return date
	}
	return t.Format("2 January 2006")
}

// count is a number with its noun: "1 attempt", "3 attempts".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// list joins words: "a", "a and b", "a, b and c".
func list(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// known replaces an empty text by words that say so.
func known(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
