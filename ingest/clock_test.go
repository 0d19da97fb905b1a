package ingest_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// rowsAt writes a recording whose only sample that matters tells the rows
// apart: the gross weight of row i is 1000 + i. cells are those of the time
// and, if header says so, of further columns; a dot is a blank one.
func rowsAt(header, speed string, cells ...string) []byte {
	var b strings.Builder
	b.WriteString(header + ",GS_1,N1_1,N1_2,GW\n")
	for i, c := range cells {
		b.WriteString(strings.ReplaceAll(c, "·", "") + "," + speed + ",20,20," + strconv.Itoa(1000+i) + "\n")
	}
	return []byte(b.String())
}

// seen writes when which row was: time:row.
func seen(r *flightdata.Recording) string {
	s := r.Get(flightdata.GrossWeight)
	var parts []string
	for i := range s.Len() {
		parts = append(parts, strconv.FormatFloat(s.Times[i].Seconds(), 'g', -1, 64)+":"+strconv.Itoa(int(s.Values[i]-999.5)))
	}
	return strings.Join(parts, " ")
}

// TestClockForms: every way to write a time, and what happens at midnight
// (check-values 11.3).
func TestClockForms(t *testing.T) {
	const seconds = "{column: [TIME, CLOCK], form: seconds}"
	for _, c := range []struct {
		name, form, header string
		cells              string // of the rows, separated by blanks; _ is a blank in a cell
		want, start        string
		remark             string
	}{
		{"milliseconds", "form: milliseconds", "TIME", "1500 1750 2000.5", "0:0 0.25:1 0.5005:2", "", ""},
		{"ISO 8601 without offset", "form: ISO 8601", "TIME", "2031-05-14T12:00:00 2031-05-14_12:00:00.5 20310514T120001Z", "0:0 0.5:1 1:2", "2031-05-14T12:00:00Z", "column TIME: the timestamps name no time zone; they were taken as UTC"},
		{"ISO 8601, 28 February to 1 March", "form: ISO 8601", "TIME", "2031-02-28T23:59:59Z 2031-03-01T00:00:00Z", "0:0 1:1", "2031-02-28T23:59:59Z", ""},
		{"ISO 8601, 28 to 29 February", "form: ISO 8601", "TIME", "2032-02-28T23:59:59Z 2032-02-29T00:00:00Z", "0:0 1:1", "2032-02-28T23:59:59Z", ""},
		{"seconds of day", "form: seconds of day", "TIME", "86398.5 86399.25 0 0.75", "0:0 0.75:1 1.5:2 2.25:3", "2031-03-06T23:59:58.5Z", ""},
		{"time of day", "form: HH:MM:SS", "TIME", "23:59:59 00:00:00 00:00:01.25", "0:0 1:1 2.25:2", "2031-03-06T23:59:59Z", ""},
		{"time of day, rows swapped at midnight", "form: HH:MM:SS", "TIME", "23:59:57 23:59:58 00:00:00 23:59:59 00:00:01", "0:0 1:1 2:3 3:2 4:4", "2031-03-06T23:59:57Z", "column TIME, row 5: rows are not in the order of time, here first: they were sorted"},
		{"clock set back is no roll-over", "form: HH:MM:SS", "TIME", "12:00:10 12:00:11 12:00:12 12:00:02 12:00:03 12:00:04", "0:0 1:1 2:2 3:3 4:4 5:5", "2031-03-07T11:59:59Z", "column TIME, row 5: the clock was set back by 10s on the ground: it is taken as right from here on, and the rows before as that much earlier"},
		{"clock set back over midnight", "form: HH:MM:SS", "TIME", "23:59:58 23:59:59 00:00:00 23:59:51 23:59:52", "0:0 1:1 2:2 3:3 4:4", "2031-03-06T23:59:48Z", "column TIME, row 5: the clock was set back by 9s on the ground: it is taken as right from here on, and the rows before as that much earlier"},
		{"date column", "form: HH:MM:SS, date_column: DATE", "TIME,DATE", "23:59:59,2031-12-31 00:00:00,2032-01-01 00:00:01,2032-01-01", "0:0 1:1 2:2", "2031-12-31T23:59:59Z", ""},
		{"date once in some rows", "form: HH:MM:SS, date_column: DATE", "TIME,DATE", "10:00:00,· 10:00:01,14.05.2031 10:00:02,·", "0:0 1:1 2:2", "2031-05-14T10:00:00Z", ""},
		{
			"date one sample late", "form: HH:MM:SS, date_column: DATE", "TIME,DATE",
			"23:59:40,20310227 23:59:59,20310227 00:00:00,20310227 00:00:01,20310228 00:00:20,20310228",
			"0:0 19:1 20:2 21:3 40:4", "2031-02-27T23:59:40Z", "column TIME, row 4: the date and the time of day change at different rows: the time of day is believed",
		},
		{
			"date late at the start", "form: HH:MM:SS, date_column: DATE", "TIME,DATE",
			"00:00:00,20310227 00:00:01,20310228 00:00:20,20310228", "0:0 1:1 20:2", "2031-02-28T00:00:00Z", "column TIME, row 2: the date and the time of day change at different rows: the time of day is believed",
		},
		{
			"days without rows", "form: HH:MM:SS, date_column: DATE", "TIME,DATE",
			"10:00:00,20310501 10:00:20,20310501 10:00:40,20310503 10:01:00,20310503", "0:0 20:1 172840:2 172860:3", "2031-05-01T10:00:00Z", "column TIME, row 4: no rows for 48h0m20s before this one: a gap",
		},
		{"no date in the date column", "form: HH:MM:SS, date_column: DATE", "TIME,DATE", "10:00:00,· 10:00:01,05/14/2031", "0:0 1:1", "2031-03-07T10:00:00Z", "column DATE: no row has a date: the day is not known (row 3 holds \"05/14/2031\")"},
		{"date column that is not there", "form: HH:MM:SS, date_column: DATE", "TIME", "10:00:00 10:00:01", "0:0 1:1", "2031-03-07T10:00:00Z", ""},
		{"frames", "form: frame counter, step: 4 s, wraps_at: 4096", "TIME", "4094 4095 0 2", "0:0 4:1 8:2 16:3", "2031-03-07T04:11:00Z", ""},
		{"frames that never wrap", "form: frame counter, step: 250 ms", "TIME", "7 8 10", "0:0 0.25:1 0.75:2", "2031-03-07T04:11:00Z", ""},
		{"frames of several rows, from within one", "form: frame counter, step: 4 s, rows: 4, wraps_at: 16", "TIME", "15 15 0 0 0 0 1 1 1 1", "0:0 1:1 2:2 3:3 4:4 5:5 6:6 7:7 8:8 9:9", "2031-03-07T04:11:00Z", ""},
		{"frame that is no number", "form: frame counter, step: 4 s", "TIME", "1 x 3 3.5", "0:0 8:2", "2031-03-07T04:11:00Z", "column TIME: 2 rows without a time left out (row 3 holds \"x\")"},
		{"whole seconds, four rows each", "form: HH:MM:SS, step: 1 s, rows: 4", "TIME", "23:59:59 23:59:59 00:00:00 00:00:00 00:00:00 00:00:00 00:00:01", "0:0 0.25:1 0.5:2 0.75:3 1:4 1.25:5 1.5:6", "2031-03-06T23:59:59.5Z", ""},
		{"whole seconds, one row lost", "form: seconds, step: 1 s, rows: 2", "TIME", "5 5 6 7 7", "0:0 0.5:1 1:2 2:3 2.5:4", "2031-03-07T04:11:00Z", "column TIME: 1 written time with fewer than 2 rows: they were taken as the first of it"},
		{"whole seconds, one row too many", "form: seconds, step: 1 s, rows: 2", "TIME", "5 5 6 6 6", "0:0 0.5:1 1:2 1.5:3", "2031-03-07T04:11:00Z", "column TIME: 1 written time with more than 2 rows: the last ones share an instant\ncolumn TIME: 1 row with the time of the row before merged into it\n1 sample left out, because another row has a different one at the same time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := parse(t, twin, seconds, "{column: [TIME, CLOCK], "+c.form+"}", "unit: lb", "unit: kg")
			cells := strings.Fields(c.cells)
			for i := range cells {
				cells[i] = strings.ReplaceAll(cells[i], "_", " ")
			}
			r := open(t, put(t, departure, rowsAt(c.header, "1", cells...)), ingest.Options{}, p)
			if got := seen(r); got != c.want {
				t.Errorf("rows:\n got %s\nwant %s", got, c.want)
			}
			start := ""
			if !r.Start.IsZero() {
				start = r.Start.Format(time.RFC3339Nano)
			}
			if want := c.start; start != want && (want != "" || start != "2031-03-07T04:11:00Z") {
				t.Errorf("starts %s, want %s", start, want)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
		})
	}
}

// TestOrder: rows that stand where they do not belong.
func TestOrder(t *testing.T) {
	const sorted = ": rows are not in the order of time, here first: they were sorted"
	for _, c := range []struct{ name, speed, times, want, remark string }{
		{"two swapped", "90", "0 1 3 2 4 5", "0:0 1:1 2:3 3:2 4:4 5:5", "column TIME, row 5" + sorted},
		{"three turned round", "90", "0 1 4 3 2 5 6", "0:0 1:1 2:4 3:3 4:2 5:5 6:6", "column TIME, row 5" + sorted},
		{"the first two swapped", "90", "1 0 2 3", "", "column TIME, row 3: time runs backwards by 1s while"},
		{"the last two swapped", "90", "0 1 3 2", "0:0 1:1 2:3 3:2", "column TIME, row 5" + sorted},
		{"one row sent twice, late", "90", "0 1 2 1 3", "0:0 1:1 2:2 3:4", "column TIME, row 5" + sorted + "\ncolumn TIME: 1 row with the time of the row before merged into it\n1 sample left out, because another row has a different one at the same time"},
		{"a stretch sent twice, fast", "90", "0 1 2 1 2 3", "", "column TIME, row 5: time runs backwards by 1s while"},
		{"set back while taxiing", "5", "0 1 2 1 2 3", "0:0 1:1 2:2 3:3 4:4 5:5", "column TIME, row 5: the clock was set back by 1s on the ground: it is taken as right from here on, and the rows before as that much earlier"},
		{"set back twice", "5", "10 11 5 6 2 3", "0:0 1:1 2:2 3:3 4:4 5:5", "column TIME, row 4: the clock was set back by 6s on the ground: it is taken as right from here on, and the rows before as that much earlier\ncolumn TIME, row 6: the clock was set back by 4s on the ground: it is taken as right from here on, and the rows before as that much earlier"},
		{"nothing tells the ground", "", "0 1 2 1 2 3", "", "column TIME, row 5: time runs backwards by 1s, and nothing tells that the aircraft is on the ground"},
		{"far back", "5", "100 101 20 21", "", "column TIME, row 4: time runs backwards by 1m21s: a stretch of time is there twice"},
		{"one time far ahead", "90", "0 1 1e6 2 3", "0:0 1:1 2:3 3:4", "column TIME, row 4: a time that fits nowhere: 1 row left out"},
		{"three times far ahead", "90", "0 1 1e6 1e6 2e6 2 3", "0:0 1:1 2:5 3:6", "column TIME, row 4: a time that fits nowhere: 3 rows left out"},
		{"four times far ahead", "90", "0 1 1e6 1e6 1e6 1e6 2 3", "", "column TIME, row 8: time runs backwards by"},
		{"one time far behind", "90", "1000 1001 3 1002", "0:0 1:1 2:3", "column TIME, row 4: a time that fits nowhere: 1 row left out"},
		{"one time half a minute ahead", "5", "0 0.1 0.2 30.2 0.3 0.4 0.5 0.6 0.7", "0:0 0.1:1 0.2:2 0.3:4 0.4:5 0.5:6 0.6:7 0.7:8", "column TIME, row 5: a time that fits nowhere: 1 row left out"},
		{"one time half a minute behind", "5", "50 50.1 50.2 20.3 50.4 50.5", "0:0 0.1:1 0.2:2 0.4:4 0.5:5", "column TIME, row 5: a time that fits nowhere: 1 row left out"},
		{"a gap", "90", "0 1 61 62 1000", "0:0 1:1 61:2 62:3 1000:4", "column TIME, row 4: no rows for 1m0s before this one: a gap\ncolumn TIME, row 6: no rows for 15m38s before this one: a gap"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := put(t, departure, rowsAt("TIME", c.speed, strings.Fields(c.times)...))
			r, _, err := ingest.Open(path, profilesOf(parse(t, twin, "unit: lb", "unit: kg")), ingest.Options{})
			if c.want == "" {
				if err == nil || !strings.Contains(err.Error(), c.remark) {
					t.Errorf("error is %v, want %s", err, c.remark)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := seen(r); got != c.want {
				t.Errorf("rows:\n got %s\nwant %s", got, c.want)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
		})
	}
}

func profilesOf(p ...*profile.Profile) []*profile.Profile { return p }
