package ingest_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// TestSamples: bits of words, filled columns, several samples in a row,
// sources that disagree.
func TestSamples(t *testing.T) {
	for _, c := range []struct {
		name, rule, old string
		header          string
		rows            []string
		parameter       flightdata.Parameter
		want, remark    string
	}{
		{
			name: "a bit of a word", old: `{column: PBRK, states: {released: ["0", "REL"], set: ["1", "SET", "ON"]}}`, rule: `{column: WORD, bit: 3, states: {released: ["0"], set: ["1"]}}`,
			header: "WORD", rows: []string{"0x08", "0xF7", "8", "8.0", "", "7", "1.5", "x", "-8"}, parameter: "parking_brake",
			want: "0:set 1:released 2:set 3:set 5:released 6:(not a number) 7:(not a number) 8:(not a number)", remark: "column WORD: 3 cells not a number (row 8 holds \"1.5\"): masked",
		},
		{
			name: "bits of a word, inverted", old: `{column: PBRK, states: {released: ["0", "REL"], set: ["1", "SET", "ON"]}}`, rule: `{column: WORD, bits: [4, 5], states: {released: ["1", "2"], set: ["0"]}}`,
			header: "WORD", rows: []string{"0x10", "0x2F", "0x0F", "0x30", "0x30"}, parameter: "parking_brake",
			want: "0:released 1:released 2:set 3:(not a number) 4:(not a number)", remark: "column WORD: parking_brake: the profile gives no meaning to \"3\": masked",
		},
		{
			name: "filled forward", old: "{column: FLAP, unit: deg}", rule: "{column: FLAP, unit: deg, rate: 0.25, filled: true}",
			header: "FLAP", rows: []string{"", "5", "5", "5", "5", "5", "5", "10", "10", "10", "10", "10", "10", "10", "10"}, parameter: "flap_lever",
			want: "1:5 5:5 7:10 11:10",
		},
		{
			name: "filled forward, with a bad cell", old: "{column: FLAP, unit: deg}", rule: "{column: FLAP, unit: deg, rate: 0.25, filled: true}",
			header: "FLAP", rows: []string{"0", "0", "x", "0", "0"}, parameter: "flap_lever",
			want: "0:0 2:(not a number) 3:0", remark: "column FLAP: 1 cell not a number (row 4 holds \"x\"): masked",
		},
		{
			name: "four samples in a row", old: "{column: FLAP, unit: deg}", rule: "{in_row: [F_a, F_b, F_c, F_d], unit: deg}",
			header: "F_b,F_a,F_c,F_d", rows: []string{"2,1,3,4", "6,5,,8", "10,9,11,12"}, parameter: "flap_lever",
			want: "0:1 0.25:2 0.5:3 0.75:4 1:5 1.25:6 1.75:8 2:9 2.25:10 2.5:11 2.75:12",
		},
		{
			name: "two samples in a row, one column missing", old: "{column: FLAP, unit: deg}", rule: "{in_row: [F_a, F_b], unit: deg}",
			header: "F_b", rows: []string{"2", "6"}, parameter: "flap_lever", want: "0.5:2 1.5:6",
		},
		{
			name: "two words in a row", old: `{column: PBRK, states: {released: ["0", "REL"], set: ["1", "SET", "ON"]}}`, rule: `{in_row: [P_a, P_b], states: {released: [REL], set: [SET]}}`,
			header: "P_a,P_b", rows: []string{"REL,SET", "SET,odd"}, parameter: "parking_brake",
			want: "0:released 0.5:set 1:set 1.5:(not a number)", remark: "column P_a: parking_brake: the profile gives no meaning to \"odd\": masked",
		},
		{
			name: "sources that agree", old: "{column: FLAP, unit: deg}", rule: "{column: [F_1, F_2], unit: deg, agree_within: 1 deg}",
			header: "F_1,F_2", rows: []string{"1,2", "2,1.5", "4,3"}, parameter: "flap_lever", want: "0:1 1:2 2:4",
		},
		{
			name: "sources that disagree", old: "{column: FLAP, unit: deg}", rule: "{column: [F_1, F_2], unit: deg, agree_within: 1 deg}",
			header: "F_1,F_2", rows: []string{"1,1", "2,4.5", ",7", "4,6.5"}, parameter: "flap_lever", want: "0:1 1:2 3:4",
			remark: "column F_2: more than 1 deg from F_1 on 3 samples, first 1s into the recording, at most by 3 deg",
		},
		{
			name: "sources on either side of north", old: "{column: HDG, unit: deg}", rule: "{column: [H_1, H_2], unit: deg, agree_within: 5 deg}",
			header: "H_1,H_2", rows: []string{"359,2", "358,6"}, parameter: "heading", want: "0:359 1:358",
			remark: "column H_2: more than 5 deg from H_1 on 1 sample, first 1s into the recording, at most by 8 deg",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, put(t, departure, fill(c.header, c.rows...)), ingest.Options{}, parse(t, twin, c.old, c.rule))
			if got := show(r.Get(c.parameter)); got != c.want {
				t.Errorf("samples:\n got %s\nwant %s", got, c.want)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
			s := r.Get(c.parameter)
			if last := s.Times[s.Len()-1]; r.Span.To < last || !r.Windows.Holds(last) {
				t.Errorf("the last sample, at %v, lies outside the recording, which ends at %v", last, r.Span.To)
			}
		})
	}
}

// TestSharedWord: two parameters are bits of one word, and each sees its own.
func TestSharedWord(t *testing.T) {
	p := parse(t, twin, `{column: PBRK, states: {released: ["0", "REL"], set: ["1", "SET", "ON"]}}`,
		`{column: WORD, bit: 0, states: {released: ["0"], set: ["1"]}}`+"\n"+`  takeoff_warning: {column: WORD, bit: 7, states: {off: ["0"], on: ["1"]}}`)
	r := open(t, put(t, departure, fill("WORD", "0x80", "0x81", "1")), ingest.Options{}, p)
	if brake, horn := show(r.Get("parking_brake")), show(r.Get("takeoff_warning")); brake != "0:released 1:set 2:set" || horn != "0:on 1:on 2:off" {
		t.Errorf("brake %s, warning %s", brake, horn)
	}
}

// TestUnits: what the file says of its units, against the profile.
func TestUnits(t *testing.T) {
	for _, c := range []struct{ name, unit, want, remark, err string }{
		{name: "the same", unit: "deg", want: "0:0.5"},
		{name: "spelt otherwise", unit: "(°)", want: "0:0.5"},
		{name: "in brackets", unit: "[ deg ]", want: "0:0.5"},
		{name: "another of the kind", unit: "rad", want: "0:28.6479", remark: "column FLAP: the file says the unit is rad, the profile deg: the file is believed"},
		{name: "unknown", unit: "(quux)", want: "0:0.5", remark: "column FLAP: the file says the unit is \"quux\", which is not known: taken as deg, as the profile says"},
		{name: "none", unit: "", want: "0:0.5"},
		{name: "of another kind", unit: "kt", err: ": column FLAP: the file says the unit is kt (speed), the profile says deg (angle); map flap_lever to another column or correct its unit, at line 18 of ab01.yaml"},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := "TIME,GS_1,N1_1,N1_2,PBRK,FLAP\ns,m/s,%,(%),discrete," + c.unit + "\n0,10,20,20,REL,0.5\n1,10,20,20,REL,\n"
			path := put(t, departure, []byte(file))
			r, _, err := ingest.Open(path, []*profile.Profile{parse(t, twin)}, ingest.Options{})
			if c.err != "" {
				var e *ingest.Error
				if !errors.As(err, &e) || err.Error() != path+c.err {
					t.Fatalf("error is %v, want %s", err, path+c.err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := show(r.Get("flap_lever")); got != c.want || notes(r) != c.remark {
				t.Errorf("flap %s, notes %s; want %s and %s", got, notes(r), c.want, c.remark)
			}
		})
	}
}

// TestNamedInTheFile: metadata lines and columns name the flight, and go
// before the file name. A column that is not named is not read.
func TestNamedInTheFile(t *testing.T) {
	const where = `time: {column: [TIME, CLOCK], form: seconds}` + "\n" + `identity: {tail: [Registration, TAIL], flight: [FLT], date: DATE, aerodrome: AD, runway: RWY, type: TYPE}`
	p := parse(t, twin, "time: {column: [TIME, CLOCK], form: seconds}", where)
	sister := parse(t, twin, "name: AB01", "name: AB02", `tails: ["ZZ-A*"]`, `tails: ["ZZ-B*"]`, "time: {column: [TIME, CLOCK], form: seconds}", where)
	const roll = "TIME,GS_1,N1_1,N1_2"
	for _, c := range []struct {
		name, file, data string
		profile          string
		want             flightdata.Identity
		remark           string
	}{
		{"metadata lines", "r.csv", "# Registration: ZZ-B7\n# FLT: MA9\nDATE,2031-05-14\n# RWY = 27\n" + roll + "\n0,1,2,3\n", "AB02", flightdata.Identity{Tail: "ZZ-B7", Flight: "MA9", Date: "2031-05-14", Runway: "27", From: "metadata"}, "row 1: 4 lines before the header were taken as metadata"},
		{"columns", "r.csv", roll + ",TAIL,FLT,DATE,AD,RWY,TYPE,CAPTAIN\n0,1,2,3,ZZ-B7,MA9,20310514,ZZZA,09,AB,nobody\n1,1,2,3,,,,,,,nobody\n", "AB02", flightdata.Identity{Tail: "ZZ-B7", Type: "AB", Flight: "MA9", Date: "2031-05-14", Aerodrome: "ZZZA", Runway: "09", From: "column"}, ""},
		{"columns before the file name", departure, roll + ",TAIL,FLT\n0,1,2,3,ZZ-A02,MA12\n", "AB01", flightdata.Identity{Tail: "ZZ-A02", Flight: "MA12", Date: "2031-03-07", From: "file name, column"}, "the tail is ZZ-A02 by the column and ZZ-A01 by the file name: the column is believed"},
		{"metadata before the file name", departure, "Registration: ZZ-B2\n" + roll + "\n0,1,2,3\n", "AB02", flightdata.Identity{Tail: "ZZ-B2", Flight: "MA12", Date: "2031-03-07", From: "file name, metadata"}, "the tail is ZZ-B2 by the metadata and ZZ-A01 by the file name: the metadata is believed\nrow 1: 1 line before the header was taken as metadata"},
		{"two flights in a column", departure, roll + ",FLT\n0,1,2,3,MA12\n1,1,2,3,MA13\n", "AB01", flightdata.Identity{Tail: "ZZ-A01", Flight: "MA12", Date: "2031-03-07", From: "file name"}, "column FLT: the flight is \"MA12\", \"MA13\": the first one is taken"},
		{"metadata before columns", "r.csv", "Registration: ZZ-B2\n" + roll + ",TAIL,FLT\n0,1,2,3,ZZ-A9,MA9\n", "AB02", flightdata.Identity{Tail: "ZZ-B2", Flight: "MA9", From: "metadata, column"}, "row 1: 1 line before the header was taken as metadata"},
		{"a column that names another profile than the file name", departure, roll + ",TAIL\n0,1,2,3,ZZ-B3\n", "AB02", flightdata.Identity{Tail: "ZZ-B3", Flight: "MA12", Date: "2031-03-07", From: "file name, column"}, "the tail is ZZ-B3 by the column and ZZ-A01 by the file name: the column is believed"},
		{"a date that is none", "r.csv", "Registration: ZZ-B7\nDATE: 05/14/2031\n" + roll + "\n0,1,2,3\n", "AB02", flightdata.Identity{Tail: "ZZ-B7", From: "metadata"}, "row 1: 2 lines before the header were taken as metadata"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := put(t, c.file, []byte(c.data))
			r, prof, err := ingest.Open(path, []*profile.Profile{p, sister}, ingest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if prof.Name != c.profile || r.Identity != c.want {
				t.Errorf("profile %s, identity %+v; want %s and %+v", prof.Name, r.Identity, c.profile, c.want)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
			if all := fmt.Sprintf("%+v", r); strings.Contains(all, "nobody") {
				t.Errorf("a column that is not named was read: %s", all)
			}
			if fp, err := ingest.Identify(path, []*profile.Profile{p, sister}, ingest.Options{}); err != nil || fp.Profile != prof {
				t.Errorf("Identify gives %+v, %v", fp, err)
			}
		})
	}
	path := put(t, "r.csv", []byte(roll+",TAIL\n0,1,2,3,ZZ-X1\n"))
	if _, _, err := ingest.Open(path, []*profile.Profile{p, sister}, ingest.Options{}); err == nil || !strings.Contains(err.Error(), "no profile lists the tail ZZ-X1") {
		t.Errorf("a tail of no profile: %v", err)
	}
}
