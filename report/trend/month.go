package trend

import (
	"fmt"
	"time"
)

// Month is a calendar month in UTC: twelve times the year plus the month from
// 0. The zero Month, January of year 0, stands for none.
type Month int

// MonthOf is the month of a date.
func MonthOf(date time.Time) Month {
	year, month, _ := date.UTC().Date()
	return Month(12*year + int(month) - 1)
}

// Start is the first instant of the month.
func (m Month) Start() time.Time {
	return time.Date(int(m)/12, time.Month(int(m)%12+1), 1, 0, 0, 0, 0, time.UTC)
}

// String is the month as 2031-03, "" for none.
func (m Month) String() string {
	if m == 0 {
		return ""
	}
	return fmt.Sprintf("%04d-%02d", int(m)/12, int(m)%12+1)
}

// MarshalText is String, so that JSON shows months as people write them.
func (m Month) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// Period is the months from From to To, both within. The zero Period is none.
type Period struct {
	From, To Month
}

// Has says whether the month lies in the period.
func (p Period) Has(m Month) bool { return p.From != 0 && m >= p.From && m <= p.To }

// Months is how many months the period has.
func (p Period) Months() int {
	if p.From == 0 || p.To < p.From {
		return 0
	}
	return int(p.To-p.From) + 1
}

// String is the period as 2031-01 to 2031-12, "none" for none.
func (p Period) String() string {
	if p.Months() == 0 {
		return "none"
	}
	return p.From.String() + " to " + p.To.String()
}
