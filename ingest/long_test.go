package ingest_test

import (
	"strings"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
)

// TestLong: rows in any order become series in the order of time, each in its
// own unit; a name that the profile does not have is skipped.
func TestLong(t *testing.T) {
	rows := []string{
		"3,GS_1,36,km/h", "1,N1_1,20,%", "1,GS_1,18,km/h", "2,SPARE,7,", "5,GS_1,54,km/h", "2,N1_2,21,%",
		"4,PBRK,REL,", "2,PBRK,SET,discrete", "2,N1_1,bad,%", "4,FLAP,10,", "4,FLAP,12,", "6,FLAP,,",
		"7,N1_1,22,%", "noon,FLAP,5,",
	}
	r := open(t, put(t, departure, []byte("# made by nobody\nTIME,NAME,VALUE,UNIT\n"+strings.Join(rows, "\n")+"\n")), ingest.Options{}, parse(t, twin, twinTime, longTime))
	for p, want := range map[flightdata.Parameter]string{
		"ground_speed": "0:9.71922 2:19.4384 4:29.1577", "n1.1": "0:20 1:(not a number) 6:22", "n1.2": "1:21",
		"parking_brake": "1:set 3:released", "flap_lever": "3:10",
	} {
		if got := show(r.Get(p)); got != want {
			t.Errorf("%s: %s, want %s", p, got, want)
		}
	}
	want := "row 1: 1 line before the header was taken as metadata\n1 row without a time left out (row 16 holds \"noon\")\n" +
		"column GS_1: the file says the unit is km/h, the profile m/s: the file is believed\n" +
		"column N1_1: 1 cell not a number (row 11 holds \"bad\"): masked\n1 sample left out, because another row has a different one at the same time"
	got := strings.Split(notes(r), "\n")
	if !sameLines(got, strings.Split(want, "\n")) {
		t.Errorf("notes:\n got %s\nwant %s", strings.Join(got, "\n"), want)
	}
	if r.ClockOrigin != 1e9 || r.Span.To != 6e9 || r.Source.Used != 4 || r.Source.Columns != 4 || r.Source.Rows != 14 {
		t.Errorf("origin %d, span %v, source %+v", r.ClockOrigin, r.Span, r.Source)
	}
}

// sameLines compares without regard to the order.
func sameLines(a, b []string) bool {
	count := map[string]int{}
	for _, s := range a {
		count[s]++
	}
	for _, s := range b {
		count[s]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

// TestLongBits: two parameters are bits of one name.
func TestLongBits(t *testing.T) {
	p := parse(t, twin, twinTime, longTime, twinBrake,
		`{column: WORD, bit: 0, states: {released: ["0"], set: ["1"]}}`+"\n"+`  takeoff_warning: {column: WORD, bit: 7, states: {off: ["0"], on: ["1"]}}`)
	r := open(t, put(t, departure, []byte("TIME,NAME,VALUE,UNIT\n0,GS_1,1,\n0,N1_1,2,\n1,WORD,0x80,\n2,WORD,0x81,\n")), ingest.Options{}, p)
	if brake, horn := show(r.Get("parking_brake")), show(r.Get("takeoff_warning")); brake != "1:released 2:set" || horn != "1:on 2:on" {
		t.Errorf("brake %s, warning %s", brake, horn)
	}
}
