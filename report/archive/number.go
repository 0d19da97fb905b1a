package archive

import (
	"math"
	"strconv"

	"rollonset/ingest/flightdata"
)

// places is how many decimals a figure keeps in the archive. No parameter is
// recorded to a millionth of its unit (14 CFR part 121 appendix M asks for
// 0.1 % of full range at best), so this cuts nothing that the data carries,
// and it cuts the noise of binary arithmetic: 0.30000000000000004 is 0.3.
const places = 6

// rounded is the one rounding of all figures that are not times. It goes
// through the decimal text, because only then is the result the float64 that
// prints as that text, on every machine. Minus zero becomes zero. v is finite.
func rounded(v float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', places, 64), 64)
	if err != nil || r == 0 {
		return 0
	}
	return r
}

// number is v rounded, or nil when v cannot be told: JSON has no NaN and no
// infinity, and zero would be a lie.
func number(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	r := rounded(v)
	return &r
}

// listed is a number that may not have been listed at all.
func listed(v *float64) *float64 {
	if v == nil {
		return nil
	}
	return number(*v)
}

// seconds turns nanoseconds into seconds without losing any: the decimal text
// is exact, so up to 11 days the float64 prints as that very decimal. Beyond,
// it is the nearest one.
func seconds(ns int64) float64 {
	whole, part := ns/1e9, ns%1e9
	if part < 0 { // keep the sign in front, also of -0.5
		part = -part
	}
	text := strconv.FormatInt(whole, 10) + "." + strconv.FormatInt(1e9+part, 10)[1:]
	if ns < 0 && whole == 0 {
		text = "-" + text
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil { // a decimal of two integers always parses
		return float64(ns) / 1e9
	}
	return v
}

// reading is a reading with its bracket, nil when it cannot be told.
func reading(r flightdata.Reading) *Reading {
	v, low, high := number(r.Value), number(r.Low), number(r.High)
	if !r.OK || v == nil || low == nil || high == nil {
		return nil
	}
	return &Reading{Value: *v, Low: *low, High: *high}
}
