package table_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/memory"

	"rollonset/ingest/table"
)

// Times of day, dates and ISO 8601 in text, and what is none of them.
func TestClockText(t *testing.T) {
	tests := []struct {
		as   table.As
		text string
		want string // nanoseconds, or "bad"
	}{
		{table.DateTime, "1985-04-12T23:20:50.52Z", "482196050520000000"}, // RFC 3339 section 5.8
		{table.DateTime, "1996-12-19T16:39:57-08:00", "851042397000000000"},
		{table.DateTime, "1996-12-19T16:39:57-0800", "851042397000000000"},
		{table.DateTime, "1996-12-19T16:39:57-08", "851042397000000000"},
		{table.DateTime, "1996-12-20T00:39:57", "851042397000000000"},
		{table.DateTime, "1996-12-20 00:39:57.5", "851042397500000000"},
		{table.DateTime, "1996-12-20 00:39:57,5", "851042397500000000"},
		{table.DateTime, "19961220T003957", "851042397000000000"},
		{table.DateTime, "19961220T003957.25+0100", "851038797250000000"},
		{table.DateTime, "1970-01-01T00:00:00.123456789", "123456789"},
		{table.DateTime, "2026-02-29T00:00:00", "bad"},
		{table.DateTime, "2026-06-31 00:00:00", "bad"},
		{table.DateTime, "2026-01-01", "bad"},
		{table.DateTime, "2026-W01-1T00:00:00", "bad"},
		{table.DateTime, "01/02/2026 00:00:00", "bad"},
		{table.DateTime, "2026-01-01T24:00:00", "bad"},
		{table.DateTime, "2026-01-01T00:00", "bad"},
		{table.DateTime, "2026-01-01T00:00:00.", "bad"},
		{table.DateTime, "2026-01-01T00:00:00+1", "bad"},
		{table.DateTime, "2026-01-01T00:00:00.00000000000000000000000000000000000000000000000000001", "bad"},
		{table.ClockTime, "00:00:00", "0"},
		{table.ClockTime, "23:59:59.999999999", "86399999999999"},
		{table.ClockTime, "23:59:60", "86400000000000"},
		{table.ClockTime, "7:08:09,5", "25689500000000"},
		{table.ClockTime, "24:00:00", "bad"},
		{table.ClockTime, "12:60:00", "bad"},
		{table.ClockTime, "12:00:60", "bad"},
		{table.ClockTime, "12:00", "bad"},
		{table.ClockTime, "12:00:00Z", "bad"},
		{table.ClockTime, "1200:00", "bad"},
		{table.Date, "1970-01-02", "86400000000000"},
		{table.Date, "20000229", "951782400000000000"},
		{table.Date, "29.02.2000", "951782400000000000"},
		{table.Date, "1900-02-29", "bad"},
		{table.Date, "02/29/2000", "bad"},
		{table.Date, "2000-2-29", "bad"},
		{table.Date, "99991231", "bad"},
		{table.Millis, "1.5", "1500000"},
		{table.Millis, "1718870400123", "1718870400123000000"},
		{table.Millis, "x", "bad"},
	}
	for _, tc := range tests {
		d, err := read(t, write(t, "r.csv", "a;b\n"+tc.text+";1\n"), table.Options{Decimal: '.'}, tc.as)
		if err != nil {
			t.Fatal(err)
		}
		got := "bad"
		if c := d.Columns[0]; len(c.Clock) > 0 {
			got = fmt.Sprint(c.Clock[0])
		} else if c.Bad != 1 {
			got = "no sample"
		}
		if got != tc.want {
			t.Errorf("%s %q is %s, want %s", tc.as, tc.text, got, tc.want)
		}
	}
}

// Words of bits are whole numbers in any of the ways that exporters write.
func TestWhole(t *testing.T) {
	d, err := read(t, write(t, "r.csv", "a\n0x1F\n31\n31.0\n0XfF\n1.5\n0x\n0x1G\n-1\n0x20000000000001\n"), table.Options{}, table.Whole)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(d.Columns[0].Numbers, d.Columns[0].Bad), "[31 31 31 255 NaN NaN NaN -1 NaN] 4"; got != want {
		t.Errorf("words are %s, want %s", got, want)
	}
}

// Dates and times of binary containers, of every unit and zone.
func TestArrowClocks(t *testing.T) {
	at := time.Date(2031, 5, 14, 23, 59, 59, 0, time.UTC)
	day := at.Truncate(24 * time.Hour)
	ofDay := at.Sub(day)
	tests := map[string]struct {
		typ    arrow.DataType
		append func(b array.Builder)
		as     table.As
		want   int64
	}{
		"seconds":       {&arrow.TimestampType{Unit: arrow.Second, TimeZone: "UTC"}, timestamp(at.Unix()), table.DateTime, at.UnixNano()},
		"milliseconds":  {&arrow.TimestampType{Unit: arrow.Millisecond, TimeZone: "+02:00"}, timestamp(at.UnixMilli()), table.DateTime, at.UnixNano()},
		"microseconds":  {&arrow.TimestampType{Unit: arrow.Microsecond, TimeZone: "Etc/UTC"}, timestamp(at.UnixMicro()), table.Timestamp, at.UnixNano()},
		"nanoseconds":   {&arrow.TimestampType{Unit: arrow.Nanosecond}, timestamp(at.UnixNano()), table.DateTime, at.UnixNano()},
		"time of stamp": {&arrow.TimestampType{Unit: arrow.Second}, timestamp(at.Unix()), table.ClockTime, int64(ofDay)},
		"date of stamp": {&arrow.TimestampType{Unit: arrow.Second}, timestamp(at.Unix()), table.Date, day.UnixNano()},
		"date32":        {arrow.FixedWidthTypes.Date32, func(b array.Builder) { b.(*array.Date32Builder).Append(arrow.Date32FromTime(at)) }, table.Date, day.UnixNano()},
		"date64":        {arrow.FixedWidthTypes.Date64, func(b array.Builder) { b.(*array.Date64Builder).Append(arrow.Date64FromTime(at)) }, table.Date, day.UnixNano()},
		"time32 s":      {arrow.FixedWidthTypes.Time32s, func(b array.Builder) { b.(*array.Time32Builder).Append(arrow.Time32(ofDay / time.Second)) }, table.ClockTime, int64(ofDay)},
		"time32 ms":     {arrow.FixedWidthTypes.Time32ms, func(b array.Builder) { b.(*array.Time32Builder).Append(arrow.Time32(ofDay.Milliseconds())) }, table.ClockTime, int64(ofDay)},
		"time64 us":     {arrow.FixedWidthTypes.Time64us, func(b array.Builder) { b.(*array.Time64Builder).Append(arrow.Time64(ofDay.Microseconds())) }, table.ClockTime, int64(ofDay)},
		"time64 ns":     {arrow.FixedWidthTypes.Time64ns, func(b array.Builder) { b.(*array.Time64Builder).Append(arrow.Time64(ofDay)) }, table.ClockTime, int64(ofDay)},
		"milliseconds of numbers": {
			arrow.PrimitiveTypes.Int64, func(b array.Builder) { b.(*array.Int64Builder).Append(at.UnixMilli()) }, table.Millis, at.UnixNano(),
		},
		"date in digits": {arrow.PrimitiveTypes.Int32, func(b array.Builder) { b.(*array.Int32Builder).Append(20310514) }, table.Date, day.UnixNano()},
	}
	for name, tc := range tests {
		t.Run(name, func(t *testing.T) {
			schema := arrow.NewSchema([]arrow.Field{{Name: "a", Type: tc.typ}}, nil)
			b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
			tc.append(b.Field(0))
			d, err := read(t, put(t, writeArrow(t, schema, []arrow.Record{b.NewRecord()}, false)), table.Options{}, tc.as)
			if err != nil {
				t.Fatal(err)
			}
			if c := d.Columns[0].Clock; len(c) != 1 || c[0] != tc.want {
				t.Errorf("clock is %v, want %d", c, tc.want)
			}
		})
	}
}

func timestamp(v int64) func(array.Builder) {
	return func(b array.Builder) { b.(*array.TimestampBuilder).Append(arrow.Timestamp(v)) }
}
