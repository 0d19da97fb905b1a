package trend

import (
	"math"
	"strconv"
	"strings"
)

// longRun is the run length in takeoffs beyond which a figure tells nobody
// anything: no operator flies so many in the life of an archive.
const longRun = 100e6

// Takeoffs writes a large number of takeoffs as a person reads it, rounded to
// two digits: "about 3,400 takeoffs", "about 12 million takeoffs", "more than
// 100 million takeoffs". NaN gives "a number of takeoffs that cannot be told".
func Takeoffs(n float64) string {
	switch {
	case math.IsNaN(n):
		return "a number of takeoffs that cannot be told"
	case n >= longRun:
		return "more than 100 million takeoffs"
	}
	return "about " + rounded(n) + " takeoffs"
}

// Once writes how often something comes that comes once in n takeoffs: "once
// in about 3,400 takeoffs", "less than once in 100 million takeoffs".
func Once(n float64) string {
	if n >= longRun {
		return "less than once in 100 million takeoffs"
	}
	return "once in " + Takeoffs(n)
}

// Probability writes a p value with three digits that count; below a
// millionth it is said to be so, for no test here is trusted further out.
func Probability(p float64) string {
	switch {
	case math.IsNaN(p):
		return "not told"
	case p < 1e-6:
		return "below 0.000001"
	}
	return strconv.FormatFloat(p, 'f', Digits(p), 64)
}

// Digits is how many decimals show three digits of v that count, after
// rounding: 2 for 0.9997, which is 1.00, and none from 100 on or for 0.
func Digits(v float64) int {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	text := strconv.FormatFloat(math.Abs(v), 'e', 2, 64)
	exponent, err := strconv.Atoi(text[strings.IndexByte(text, 'e')+1:])
	if err != nil {
		return 0
	}
	return max(0, 2-exponent)
}

// rounded is a number below a hundred million with two digits that count and
// commas between the thousands; millions are words.
func rounded(n float64) string {
	if n >= 100 {
		step := math.Pow(10, math.Floor(math.Log10(n))-1)
		n = math.Round(n/step) * step
	}
	if n >= 1e6 {
		return strconv.FormatFloat(n/1e6, 'g', 3, 64) + " million"
	}
	s := strconv.FormatFloat(math.Round(n), 'f', 0, 64)
	if len(s) > 3 {
		s = s[:len(s)-3] + "," + s[len(s)-3:]
	}
	return s
}
