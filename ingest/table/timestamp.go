package table

import "math"

// parseTimestamp reads RFC 3339 text (section 5.6): date, T or t or a space,
// time of day with optional decimals, Z or z or an offset. It gives
// nanoseconds since 1970-01-01T00:00:00Z; decimals past the ninth are rounded
// to the nearest.
//
// Second 60 is taken only where a leap second can be, at the end of the last
// day of a month in UTC, and counts as the first second of the next day, as
// Unix time has it. Offsets end at 23:59 (the RFC's limit); -00:00 (offset
// unknown) is UTC. What is no date of the calendar is refused.
func parseTimestamp(b []byte) (ns int64, leap, ok bool) {
	if len(b) < len("2006-01-02T15:04:05Z") || b[4] != '-' || b[7] != '-' || b[13] != ':' || b[16] != ':' ||
		b[10] != 'T' && b[10] != 't' && b[10] != ' ' {
		return 0, false, false
	}
	century, y := digits2(b[0:]), digits2(b[2:])
	month, day := digits2(b[5:]), digits2(b[8:])
	hour, minute, second := digits2(b[11:]), digits2(b[14:]), digits2(b[17:])
	year := century*100 + y
	if min(century, y, month, day, hour, minute, second) < 0 ||
		month < 1 || month > 12 || day < 1 || day > daysIn(year, month) ||
		hour > 23 || minute > 59 || second > 60 {
		return 0, false, false
	}
	frac, rest, ok := fraction(b[19:])
	if !ok {
		return 0, false, false
	}
	offset, ok := zone(rest)
	if !ok {
		return 0, false, false
	}
	minutes := daysFrom1970(year, month, day)*1440 + hour*60 + minute - offset
	if second == 60 {
		if !endOfMonth(minutes) {
			return 0, false, false
		}
		leap = true
	}
	s := minutes*60 + second
	if s > math.MaxInt64/1_000_000_000-1 || s < math.MinInt64/1_000_000_000+1 {
		return 0, false, false
	}
	return s*1e9 + frac, leap, true
}

// digits2 is the number that two digits make, or -1000 when they do not.
func digits2(b []byte) int64 {
	hi, lo := b[0]-'0', b[1]-'0'
	if hi > 9 || lo > 9 {
		return -1000
	}
	return int64(hi)*10 + int64(lo)
}

// fraction reads the decimals of the second, if there are any.
func fraction(b []byte) (ns int64, rest []byte, ok bool) {
	if len(b) == 0 || b[0] != '.' {
		return 0, b, true
	}
	n := 1
	for ; n < len(b) && b[n]-'0' <= 9; n++ {
		ns = ns*10 + int64(b[n]-'0') // of use up to nine of them
	}
	if n > 1 && n <= 10 {
		return ns * int64(intPow10[10-n]), b[n:], true
	}
	if n == 1 {
		return 0, nil, false
	}
	d, ok := scanDecimal(b[:n])
	if !ok {
		return 0, nil, false
	}
	ns, ok = d.scaled(9)
	return ns, b[n:], ok
}

// zone reads the offset from UTC, in minutes.
func zone(b []byte) (minutes int64, ok bool) {
	if len(b) == 1 {
		return 0, b[0] == 'Z' || b[0] == 'z'
	}
	if len(b) != len("+00:00") || b[0] != '+' && b[0] != '-' || b[3] != ':' {
		return 0, false
	}
	h, m := digits2(b[1:]), digits2(b[4:])
	if h < 0 || h > 23 || m < 0 || m > 59 {
		return 0, false
	}
	if b[0] == '-' {
		return -(h*60 + m), true
	}
	return h*60 + m, true
}

func leapYear(y int64) bool { return y%4 == 0 && (y%100 != 0 || y%400 == 0) }

func daysIn(year, month int64) int64 {
	switch month {
	case 2:
		if leapYear(year) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// daysFrom1970 counts days in the proleptic Gregorian calendar.
func daysFrom1970(year, month, day int64) int64 {
	// Years that start in March put the leap day last; eras of 400 years
	// repeat exactly (146,097 days).
	if month <= 2 {
		year--
		month += 12
	}
	era := floorDiv(year, 400)
	yearOfEra := year - era*400
	dayOfYear := (153*(month-3)+2)/5 + day - 1
	return era*146_097 + yearOfEra*365 + yearOfEra/4 - yearOfEra/100 + dayOfYear - 719_468
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

// endOfMonth says whether the minute, counted from 1970 in UTC, is the last
// one of a month.
func endOfMonth(minutes int64) bool {
	next := minutes + 1
	if next%1440 != 0 {
		return false
	}
	day := floorDiv(next, 1440)
	// The next minute starts a month if some first of a month is that day; the
	// year is found to within one by the mean length of a year.
	year := 1970 + floorDiv(day*400, 146_097)
	for y := year - 1; y <= year+1; y++ {
		for m := int64(1); m <= 12; m++ {
			if daysFrom1970(y, m, 1) == day {
				return true
			}
		}
	}
	return false
}
