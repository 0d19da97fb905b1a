package chart

import (
	"math"
	"strconv"
	"strings"
)

// Axis maps values onto pixels in a straight line: From lies at pixel Lo and
// To at pixel Hi. Hi may lie below Lo, as it does for a value that grows
// upwards on a screen.
type Axis struct {
	From, To float64 // values
	Lo, Hi   float64 // pixels
}

// Pixel is where a value lies. An axis without extent puts everything at Lo.
func (a Axis) Pixel(v float64) float64 {
	if a.To == a.From {
		return a.Lo
	}
	return a.Lo + (v-a.From)/(a.To-a.From)*(a.Hi-a.Lo)
}

// Value is the value that lies at a pixel, the inverse of Pixel.
func (a Axis) Value(px float64) float64 {
	if a.Hi == a.Lo {
		return a.From
	}
	return a.From + (px-a.Lo)/(a.Hi-a.Lo)*(a.To-a.From)
}

// Tick is a labelled place on an axis.
type Tick struct {
	Value float64
	Label string
}

// Ticks chooses at most `most` round values inside [from, to], rising, with
// labels that tell every two of them apart. Steps are 1, 2 or 5 times a power
// of ten, or 4 times where 5 would leave a lone tick. An empty, reversed or infinite range has no ticks; `most` below 2
// counts as 2.
func Ticks(from, to float64, most int) []Tick {
	span := to - from
	if !(span > 0) || math.IsInf(span, 0) {
		return nil
	}
	most = max(most, 2)
	mantissa, exponent := firstStep(span / float64(most+1))
	first, last := ends(from, to, mantissa, exponent)
	for last-first >= float64(most) {
		mantissa, exponent = nextStep(mantissa, exponent)
		first, last = ends(from, to, mantissa, exponent)
	}
	if mantissa == 5 && last-first < 1 && most > 2 {
		mantissa = 4
		first, last = ends(from, to, mantissa, exponent)
	}
	// Beyond this a float64 no longer tells neighbouring multiples apart.
	if math.Abs(first) > 1e12 || math.Abs(last) > 1e12 {
		return nil
	}
	var out []Tick
	for i := first; i <= last; i++ {
		n := int64(i) * mantissa
		v := scale(n, exponent)
		if v < from || v > to { // the division may have rounded over the edge
			continue
		}
		out = append(out, Tick{Value: v, Label: tickLabel(n, exponent)})
	}
	return out
}

// firstStep is the least 1, 2 or 5 times a power of ten that is not below
// raw. Ticks widens it until few enough multiples lie in the range: how many
// do depends on where the range lies and not only on its length.
func firstStep(raw float64) (mantissa int64, exponent int) {
	mantissa, exponent = 1, int(math.Floor(math.Log10(raw)))
	for scale(mantissa, exponent) < raw {
		mantissa, exponent = nextStep(mantissa, exponent)
	}
	return mantissa, exponent
}

func nextStep(mantissa int64, exponent int) (int64, int) {
	switch mantissa {
	case 1:
		return 2, exponent
	case 2:
		return 5, exponent
	}
	return 1, exponent + 1
}

// ends are the first and the last whole multiple of the step in the range.
func ends(from, to float64, mantissa int64, exponent int) (first, last float64) {
	return math.Ceil(divide(from, mantissa, exponent)), math.Floor(divide(to, mantissa, exponent))
}

// scale is n times ten to the exponent, rounded once.
func scale(n int64, exponent int) float64 {
	if exponent < 0 {
		return float64(n) / math.Pow10(-exponent)
	}
	return float64(n) * math.Pow10(exponent)
}

func divide(v float64, mantissa int64, exponent int) float64 {
	if exponent < 0 {
		return v * math.Pow10(-exponent) / float64(mantissa)
	}
	return v / math.Pow10(exponent) / float64(mantissa)
}

// tickLabel writes a whole multiple of a power of ten. It works on the whole
// number, so that a zero is "0" whatever side it was reached from.
func tickLabel(n int64, exponent int) string {
	decimals := max(0, -exponent)
	s := strconv.FormatFloat(math.Abs(scale(n, exponent)), 'f', decimals, 64)
	if n < 0 {
		return Minus + s
	}
	return s
}

// Minus is the sign in front of negative numbers in pictures and pages; a
// hyphen would break lines and is read aloud as one.
const Minus = "−"

// px writes a coordinate with a tenth of a pixel, without trailing zero and
// without "-0".
func px(v float64) string {
	t := math.Round(v * 10)
	if t == 0 {
		return "0"
	}
	s := strconv.FormatFloat(t/10, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}
