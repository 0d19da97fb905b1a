package synth

import (
	"strconv"

	"rollonset/ingest/profile"
)

// encodeCSV writes comma separated text: one header row, then a row per time
// with blank cells where a parameter has no sample.
func encodeCSV(t *tape, face clockFace) []byte {
	out := make([]byte, 0, len(t.micros)*(len(t.columns)*3+12))
	out = append(out, face.column()...)
	for i := range t.columns {
		out = append(out, ',')
		out = append(out, t.columns[i].name...)
	}
	out = append(out, '\n')
	digits := fractionDigits(t)
	for row, us := range t.micros {
		out = face.appendTime(out, us, digits)
		for i := range t.columns {
			out = append(out, ',')
			out = appendCell(out, &t.columns[i], row)
		}
		out = append(out, '\n')
	}
	return out
}

// column is the name of the time column: the first that the profile takes.
func (f *clockFace) column() string {
	if len(f.rule.Columns) > 0 {
		return f.rule.Columns[0]
	}
	return "TIME"
}

// fractionDigits is how many digits after the second the clock needs.
func fractionDigits(t *tape) int {
	if t.drift != 0 {
		return 6
	}
	digits := 0
	for unit := int64(1_000_000); digits < 6; digits++ {
		if unit%int64(t.hz) == 0 && (1_000_000/int64(t.hz))%pow10(6-digits) == 0 {
			break
		}
	}
	return digits
}

func pow10(n int) int64 {
	v := int64(1)
	for range n {
		v *= 10
	}
	return v
}

func (f *clockFace) appendTime(out []byte, us int64, digits int) []byte {
	if f.rule.Form == profile.TimeRFC3339 {
		at := f.start.UTC().Add(microseconds(us))
		out = at.AppendFormat(out, "2006-01-02T15:04:05")
		out = appendFraction(out, int64(at.Nanosecond())/1000, digits)
		return append(out, 'Z')
	}
	us += f.origin
	out = strconv.AppendInt(out, us/1_000_000, 10)
	return appendFraction(out, us%1_000_000, digits)
}

func appendFraction(out []byte, us int64, digits int) []byte {
	if digits == 0 {
		return out
	}
	out = append(out, '.')
	for d := range digits {
		out = append(out, byte('0'+us/pow10(5-d)%10))
	}
	return out
}

// appendCell writes a cell exactly: a whole number with the decimal point put
// in, never a float formatted.
func appendCell(out []byte, c *column, row int) []byte {
	v := c.cells[row]
	switch {
	case v == blankCell:
		return out
	case c.discrete():
		return append(out, c.words[v]...)
	case c.decimals == 0:
		return strconv.AppendInt(out, v, 10)
	}
	if v < 0 {
		out = append(out, '-')
		v = -v
	}
	scale := pow10(c.decimals)
	out = strconv.AppendInt(out, v/scale, 10)
	out = append(out, '.')
	rest := v % scale
	for d := c.decimals - 1; d >= 0; d-- {
		out = append(out, byte('0'+rest/pow10(d)%10))
	}
	return out
}
