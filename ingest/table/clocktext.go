package table

import "bytes"

// parseDateTime reads ISO 8601 (2004 edition, sections 4.1.2.2, 4.2.2 and 4.3):
// a calendar date and a time of day to the second, in the extended or the basic
// format, joined by T or by a space as exporters do; decimals of the second
// behind a point or a comma; Z, an offset of hours or of hours and minutes, or
// nothing, in which case zoned is false and the time is taken as UTC.
func parseDateTime(b []byte) (ns int64, leap, zoned, ok bool) {
	var text [64]byte
	out := text[:0]
	date, rest, ok := bytes.Cut(b, []byte{'T'})
	if !ok {
		if date, rest, ok = bytes.Cut(b, []byte{' '}); !ok {
			return 0, false, false, false
		}
	}
	switch len(date) {
	case len("2006-01-02"):
		out = append(out, date...)
	case len("20060102"):
		out = append(append(append(append(append(out, date[:4]...), '-'), date[4:6]...), '-'), date[6:]...)
	default:
		return 0, false, false, false
	}
	out = append(out, 'T')
	if len(rest) >= 6 && allDigits(rest[:6]) {
		out = append(append(append(append(append(out, rest[:2]...), ':'), rest[2:4]...), ':'), rest[4:6]...)
		rest = rest[6:]
	} else if len(rest) >= len("15:04:05") {
		out = append(out, rest[:8]...)
		rest = rest[8:]
	} else {
		return 0, false, false, false
	}
	if len(rest) > 0 && rest[0] == ',' {
		out = append(out, '.')
		rest = rest[1:]
	}
	digits := 0
	for digits < len(rest) && (rest[digits]-'0' <= 9 || rest[digits] == '.') {
		digits++
	}
	out, rest = append(out, rest[:digits]...), rest[digits:]
	if len(out) > len(text)-len("+00:00") {
		return 0, false, false, false
	}
	switch {
	case len(rest) == 0:
		out = append(out, 'Z')
	case len(rest) == len("+01"):
		out = append(append(out, rest...), ":00"...)
	case len(rest) == len("+0100"):
		out = append(append(append(out, rest[:3]...), ':'), rest[3:]...)
	default:
		out = append(out, rest...)
	}
	ns, leap, ok = parseTimestamp(out)
	return ns, leap, len(rest) > 0, ok
}

// parseClock reads a time of day, HH:MM:SS with or without decimals behind a
// point or a comma; the hour may have one digit. 23:59:60 is the leap second,
// which counts as the next midnight.
func parseClock(b []byte) (ns int64, ok bool) {
	if len(b) > 1 && b[1] == ':' {
		b = append([]byte{'0'}, b...)
	}
	if len(b) < len("15:04:05") || b[2] != ':' || b[5] != ':' {
		return 0, false
	}
	h, m, s := digits2(b), digits2(b[3:]), digits2(b[6:])
	rest := b[8:]
	if len(rest) > 0 && rest[0] == ',' {
		rest = append([]byte{'.'}, rest[1:]...)
	}
	frac, rest, ok := fraction(rest)
	leap := h == 23 && m == 59 && s == 60
	if !ok || len(rest) > 0 || min(h, m, s) < 0 || h > 23 || m > 59 || s > 59 && !leap {
		return 0, false
	}
	return (h*3600+m*60+s)*1e9 + frac, true
}

// parseDate reads a date, which may be written 2031-05-14, 20310514 or
// 14.05.2031. With strokes nobody can tell the day from the month, so that is
// refused. It gives the nanoseconds since 1970 at midnight.
func parseDate(b []byte) (ns int64, ok bool) {
	var y, m, d []byte
	switch {
	case len(b) == 10 && b[4] == '-' && b[7] == '-':
		y, m, d = b[:4], b[5:7], b[8:]
	case len(b) == 10 && b[2] == '.' && b[5] == '.':
		y, m, d = b[6:], b[3:5], b[:2]
	case len(b) == 8:
		y, m, d = b[:4], b[4:6], b[6:]
	default:
		return 0, false
	}
	century, rest, month, day := digits2(y), digits2(y[2:]), digits2(m), digits2(d)
	year := century*100 + rest
	// The years that nanoseconds in 64 bits reach for certain.
	if min(century, rest, month, day) < 0 || year < 1678 || year > 2261 ||
		month < 1 || month > 12 || day < 1 || day > daysIn(year, month) {
		return 0, false
	}
	return daysFrom1970(year, month, day) * 86_400e9, true
}
