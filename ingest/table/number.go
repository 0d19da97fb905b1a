package table

import (
	"encoding/binary"
	"math"
	"math/bits"
	"strconv"
	"unsafe"
)

// A decimal is the digits of a number before they are rounded to anything.
type decimal struct {
	neg  bool
	mant uint64 // the first 19 significant digits
	exp  int    // value = mant * 10^exp, if nothing was dropped
	next byte   // the first dropped digit, 0 when none was
	more bool   // digits were dropped
}

// maxDigits is how many decimal digits always fit into 64 bits.
const maxDigits = 19

// scanDecimal takes [+-] digits [. digits] [e [+-] digits], with at least one
// digit before the exponent. That is what strconv.ParseFloat takes without
// hexadecimals, underscores, infinities and NaN.
func scanDecimal(b []byte) (d decimal, ok bool) {
	i := 0
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		d.neg = b[i] == '-'
		i++
	}
	seen, taken, dot := 0, 0, false
	for ; i < len(b); i++ {
		c := b[i]
		if c == '.' && !dot {
			dot = true
			continue
		}
		c -= '0'
		if c > 9 {
			break
		}
		seen++
		if dot {
			d.exp--
		}
		switch {
		case taken == 0 && c == 0: // leading zeros are not significant
		case taken < maxDigits:
			d.mant = d.mant*10 + uint64(c)
			taken++
		default:
			if !d.more {
				d.next, d.more = c, true
			}
			d.exp++
		}
	}
	if seen == 0 {
		return d, false
	}
	if i == len(b) {
		return d, true
	}
	e, ok := scanExponent(b[i:])
	d.exp += e
	return d, ok
}

// scanExponent takes e[+-]digits. It stops counting where any double has long
// become zero or infinite, so that a hostile exponent costs nothing.
func scanExponent(b []byte) (int, bool) {
	if b[0] != 'e' && b[0] != 'E' {
		return 0, false
	}
	b = b[1:]
	sign := 1
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		if b[0] == '-' {
			sign = -1
		}
		b = b[1:]
	}
	if len(b) == 0 {
		return 0, false
	}
	e := 0
	for _, c := range b {
		if c -= '0'; c > 9 {
			return 0, false
		}
		if e < 1_000_000 {
			e = e*10 + int(c)
		}
	}
	return sign * e, true
}

// pow10 are the powers of ten that a double holds exactly.
var pow10 = [...]float64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// parseNumber gives the double nearest to the decimal text, the same bits as
// strconv.ParseFloat, or false for text that is no finite plain decimal.
func parseNumber(b []byte) (float64, bool) {
	d, ok := scanDecimal(b)
	if !ok {
		return 0, false
	}
	// An exact integer times or over an exact power of ten is rounded once, so
	// the result is the nearest double.
	if !d.more && d.mant <= 1<<53 && -22 <= d.exp && d.exp <= 22 {
		v := float64(d.mant)
		if d.exp < 0 {
			v /= pow10[-d.exp]
		} else {
			v *= pow10[d.exp]
		}
		if d.neg {
			v = -v
		}
		return v, true
	}
	// The string shares the bytes; strconv copies what it keeps for its error.
	v, err := strconv.ParseFloat(unsafe.String(unsafe.SliceData(b), len(b)), 64)
	return v, err == nil
}

// parseSeconds gives the nanoseconds of decimal seconds, exactly; past the
// ninth decimal the nearest, halves away from zero.
func parseSeconds(b []byte) (int64, bool) { return parseScaled(b, 9) }

// parseScaled is the decimal number times 10^places, rounded to the nearest.
func parseScaled(b []byte, places int) (int64, bool) {
	d, ok := scanDecimal(b)
	if !ok {
		return 0, false
	}
	return d.scaled(places)
}

// parseWhole reads a word of bits: a decimal without a fraction, or hexadecimal
// digits behind 0x. All that a double holds exactly is taken.
func parseWhole(b []byte) (float64, bool) {
	const most = 1 << 53
	if len(b) > 2 && b[0] == '0' && b[1]|0x20 == 'x' {
		v, err := strconv.ParseUint(string(b[2:]), 16, 64)
		return float64(v), err == nil && v <= most
	}
	v, ok := parseNumber(b)
	return v, ok && v == math.Trunc(v) && math.Abs(v) <= most
}

var intPow10 = [...]uint64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9,
	1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19,
}

// scaled is the number times 10^places as the nearest integer, or false when
// it does not fit.
func (d decimal) scaled(places int) (int64, bool) {
	m, k := d.mant, d.exp+places
	switch {
	case m == 0:
	case k > maxDigits || k < -maxDigits:
		if k > 0 {
			return 0, false
		}
		m = 0
	case k > 0:
		hi, lo := bits.Mul64(m, intPow10[k])
		if hi != 0 || d.more {
			return 0, false
		}
		m = lo
	case k == 0:
		if d.next >= 5 {
			m++
		}
	default:
		q, r := m/intPow10[-k], m%intPow10[-k]
		if r >= intPow10[-k]-r {
			q++
		}
		m = q
	}
	if m > math.MaxInt64 {
		return 0, false
	}
	if d.neg {
		return -int64(m), true
	}
	return int64(m), true
}

// nanoseconds rounds float seconds to the nearest, halves away from zero. The
// whole seconds go apart from the fraction, so that the product keeps all its
// digits.
func nanoseconds(v float64) (int64, bool) {
	if !(math.Abs(v) < 9.2e9) {
		return 0, false
	}
	whole := int64(v)
	frac := float64((v - float64(whole)) * 1e9) // rounded here on every processor
	ns := int64(frac)
	switch rest := frac - float64(ns); {
	case rest >= 0.5:
		ns++
	case rest <= -0.5:
		ns--
	}
	return whole*1e9 + ns, true
}

// Constants of the eight-bytes-at-once arithmetic.
const (
	ones     = 0x0101010101010101
	highs    = ones << 7
	lows     = ^uint64(highs)
	allZeros = '0' * ones
)

// zeroBytes has the high bit set in exactly those bytes of x that are zero.
func zeroBytes(x uint64) uint64 {
	return ^(((x & lows) + lows) | x | lows)
}

// shortDecimal reads the number that starts at p, if it is [-] digits with or
// without a decimal mark, at most eight bytes long and followed by a delimiter
// or a line end. It returns the digits as an integer, how many of them are
// decimals and where the cell ends; end < 0 means that the careful way has to
// look. b must reach at least nine bytes past p.
func (f *fastScan) shortDecimal(b []byte, p int) (mant uint64, decimals int, neg bool, end int) {
	w := binary.LittleEndian.Uint64(b[p:])
	var n int
	if f.comma {
		// The first byte below '-' ends the cell: the comma and the line ends are
		// there, and so are blank, quote and '+', which the test below sends away.
		// Only the lowest hit is exact (a borrow can make later ones), and only the
		// lowest is used.
		n = bits.TrailingZeros64((w-'-'*ones)&^w&highs) >> 3
	} else {
		n = bits.TrailingZeros64(zeroBytes(w^f.commas)|zeroBytes(w^'\n'*ones)|zeroBytes(w^'\r'*ones)) >> 3
	}
	end = p + n
	if c := b[end]; n == 0 || c != f.delim && c != '\n' && (c != '\r' || b[end+1] != '\n') {
		return 0, 0, false, -1
	}
	// Move the text to the high bytes; the low ones are filled with '0' below.
	if n < 8 {
		w = w<<(64-8*n) | allZeros>>(8*n)
	}
	first := 8 - n
	if b[p] == '-' {
		neg = true
		w += uint64('0'-'-') << (8 * first)
		n--
	}
	if dot := zeroBytes(w ^ f.points); dot != 0 {
		// Close the gap: what is before the mark moves up by one byte.
		at := uint(bits.TrailingZeros64(dot)) &^ 7
		before := w & (1<<at - 1)
		after := w >> (at + 8) << (at + 8)
		w = after | before<<8 | '0'
		decimals = 7 - int(at>>3)
		n--
	}
	// Any byte that is no digit, a second mark or sign included, fails here.
	if n < 1 || (w&0xf0f0f0f0f0f0f0f0)|((w+0x0606060606060606)&0xf0f0f0f0f0f0f0f0)>>4 != 0x3333333333333333 {
		return 0, 0, false, -1
	}
	w -= allZeros
	w = w*10 + w>>8
	w = (w&0x000000ff000000ff*(100+1000000<<32) + w>>16&0x000000ff000000ff*(1+10000<<32)) >> 32
	return w, decimals, neg, end
}
