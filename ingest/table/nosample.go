package table

import (
	"bytes"
	"strconv"
)

// noSample knows the cell texts that stand for "no sample": blank, NaN in any
// case, and what the options name.
type noSample struct {
	texts [][]byte
	// values are the named texts that are plain numbers. They stand for no
	// sample in whatever way the number is written, in every container.
	values []float64
	words  []string // the same as states are written
}

func newNoSample(texts []string) *noSample {
	n := &noSample{}
	for _, t := range texts {
		b := trim([]byte(t))
		n.texts = append(n.texts, b)
		if v, ok := parseNumber(b); ok {
			n.values = append(n.values, v)
			n.words = append(n.words, string(canonicalNumber(b)))
		}
	}
	return n
}

func (n *noSample) hasText(cell []byte) bool {
	if len(cell) == 0 || isNaN(cell) {
		return true
	}
	for _, t := range n.texts {
		if bytes.Equal(t, cell) {
			return true
		}
	}
	return false
}

func (n *noSample) hasValue(v float64) bool {
	for _, x := range n.values {
		if x == v {
			return true
		}
	}
	return false
}

func (n *noSample) hasWord(w string) bool {
	for _, x := range n.words {
		if x == w {
			return true
		}
	}
	return false
}

// isNaN takes "NaN" in any case, as strconv does.
func isNaN(b []byte) bool {
	return len(b) == 3 && b[0]|0x20 == 'n' && b[1]|0x20 == 'a' && b[2]|0x20 == 'n'
}

// trim cuts the spaces and tabs around a cell. Nothing else is white space
// in here: a lone CR or a no-break space is a fault to be seen.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	return b
}

// canonicalNumber writes a plain decimal in one way: 1.0, 1. and +1 are "1",
// .50 is "0.5", -0 is "0". Anything else is returned as it is, numbers with
// an exponent or a leading zero included: those are codes.
func canonicalNumber(cell []byte) []byte {
	b, neg := cell, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg = b[0] == '-'
		b = b[1:]
	}
	whole, frac, _ := bytes.Cut(b, []byte{'.'})
	if len(whole)+len(frac) == 0 || !allDigits(whole) || !allDigits(frac) || len(whole) > 1 && whole[0] == '0' {
		return cell
	}
	frac = bytes.TrimRight(frac, "0")
	if len(whole) == 0 {
		whole = []byte{'0'}
	}
	var out []byte
	if neg && (whole[0] != '0' || len(frac) > 0) {
		out = append(out, '-')
	}
	out = append(out, whole...)
	if len(frac) > 0 {
		out = append(append(out, '.'), frac...)
	}
	return out
}

func allDigits(b []byte) bool {
	for _, c := range b {
		if c-'0' > 9 {
			return false
		}
	}
	return true
}

// wordOfFloat writes a number of a binary container as a state, in the form
// of canonicalNumber.
func wordOfFloat(v float64) string {
	if v == 0 {
		return "0" // -0 too
	}
	format := byte('f')
	if v >= 1e21 || v <= -1e21 {
		format = 'g'
	}
	return strconv.FormatFloat(v, format, -1, 64)
}
