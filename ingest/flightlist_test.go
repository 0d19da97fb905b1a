package ingest_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

func readList(t testing.TB, text string) *ingest.FlightList {
	t.Helper()
	l, err := ingest.ReadFlightList(put(t, "flights.csv", []byte(text)))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// planned opens the small flight under a file name with a flight list.
func planned(t testing.TB, file, list string, oldNew ...string) *flightdata.Recording {
	t.Helper()
	path := put(t, file, fill("FLAP,TRIM", "10,4.5", "10,4.5"))
	return open(t, path, ingest.Options{Flights: readList(t, list)}, parse(t, twin, oldNew...))
}

func figure(p *float64) string {
	if p == nil {
		return "-"
	}
	return fmt.Sprintf("%.6g", *p)
}

const departure = "ZZ-A01_20310307T0411_MA12.csv"

func TestFlightListUnits(t *testing.T) {
	for _, c := range []struct {
		header, cell string
		read         func(*flightdata.Plan) *float64
		want         string
	}{
		{"v1_kt", "121", func(p *flightdata.Plan) *float64 { return p.V1 }, "121"},
		{"V1_KT", "121", func(p *flightdata.Plan) *float64 { return p.V1 }, "121"},
		{"v1_km/h", "224.092", func(p *flightdata.Plan) *float64 { return p.V1 }, "121"},
		{"vr_m/s", "66", func(p *flightdata.Plan) *float64 { return p.VR }, "128.294"},
		{"weight_kg", "61000", func(p *flightdata.Plan) *float64 { return p.Weight }, "61000"},
		{"weight_t", "61.05", func(p *flightdata.Plan) *float64 { return p.Weight }, "61050"},
		{"weight_lb", "100000", func(p *flightdata.Plan) *float64 { return p.Weight }, "45359.2"},
		{"cg_pct", "23.5", func(p *flightdata.Plan) *float64 { return p.CG }, "23.5"},
		{"cg_fraction", "0.25", func(p *flightdata.Plan) *float64 { return p.CG }, "25"},
		{"planned_flap_deg", "10", func(p *flightdata.Plan) *float64 { return p.PlannedFlap }, "10"},
		{"trim", "-0.5", func(p *flightdata.Plan) *float64 { return p.Trim }, "-0.5"},
		{"trim_units", "4.5", func(p *flightdata.Plan) *float64 { return p.Trim }, "4.5"},
		{"runway_length_m", "3200", func(p *flightdata.Plan) *float64 { return p.RunwayLengthM }, "3200"},
		{"runway_length_ft", "10000", func(p *flightdata.Plan) *float64 { return p.RunwayLengthM }, "3048"},
		{"v1_kt", "", func(p *flightdata.Plan) *float64 { return p.V1 }, "-"},
		{"vr_kt", "121", func(p *flightdata.Plan) *float64 { return p.V1 }, "-"},
		{"v1_speed_of_light", "", func(p *flightdata.Plan) *float64 { return p.V1 }, ""}, // refused
	} {
		text := "tail," + c.header + "\nZZ-A01," + c.cell + "\n"
		if c.want == "" {
			if _, err := ingest.ReadFlightList(put(t, "flights.csv", []byte(text))); err == nil {
				t.Errorf("%s was taken", c.header)
			}
			continue
		}
		r := planned(t, departure, text)
		if r.Plan == nil {
			t.Fatalf("%s: %v", c.header, r.Notes)
		}
		if got := figure(c.read(r.Plan)); got != c.want {
			t.Errorf("%s %q: %s, want %s", c.header, c.cell, got, c.want)
		}
	}
}

// TestTrimInAnotherMeasure: a trim in units is of no use to a profile that
// works in degrees; it is left out and said.
func TestTrimInAnotherMeasure(t *testing.T) {
	list := "tail,trim_units\nZZ-A01,4.5\n"
	r := planned(t, departure, list, "stabilizer_trim: {column: TRIM, unit: units, range: [-2 units, 12 units]}", "stabilizer_trim: {column: TRIM, unit: deg}")
	if r.Plan == nil || r.Plan.Trim != nil {
		t.Fatalf("plan %+v", r.Plan)
	}
	if want := "flight list line 2, trim: cannot convert units (trim units) to deg (angle): not used"; notes(r) != want {
		t.Errorf("notes %q, want %q", notes(r), want)
	}
	// Without a unit it is in the profile's own.
	r = planned(t, departure, "tail,trim\nZZ-A01,4.5\n", "stabilizer_trim: {column: TRIM, unit: units, range: [-2 units, 12 units]}", "stabilizer_trim: {column: TRIM, unit: deg}")
	if figure(r.Plan.Trim) != "4.5" || notes(r) != "" {
		t.Errorf("plan %+v, notes %q", r.Plan, notes(r))
	}
}

// TestJoin: which line of the list a recording belongs to.
func TestJoin(t *testing.T) {
	const plain = "20310307.csv" // a name that the profile's pattern does not read
	for _, c := range []struct {
		name, file, list string
		line             int // 0: none
		remark           string
	}{
		{"by file", plain, "file,tail,v1_kt\nother.csv,ZZ-A01,100\n20310307.csv,ZZ-A02,121\n", 3, ""},
		{"by file, although tail and date fit another", departure, "file,tail,date,v1_kt\n,ZZ-A01,2031-03-07,100\n" + departure + ",ZZ-A01,2031-03-07,121\n", 3, ""},
		{"by file twice", plain, "file,tail\n20310307.csv,ZZ-A01\n20310307.csv,ZZ-A01\n", 0, "the flight list has 2 entries that could be it (lines 2, 3): none is used"},
		{"by tail alone", departure, "tail,v1_kt\nZZ-A02,1\nZZ-A01,121\n", 3, ""},
		{"the tail in another case", departure, "tail,flight\nzz-a01,ma12\n", 2, ""},
		{"by tail and flight", departure, "tail,flight\nZZ-A01,MA11\nZZ-A01,MA12\n", 3, ""},
		{"by tail and date", departure, "tail,date\nZZ-A01,2031-03-06\nZZ-A01,2031-03-07\n", 3, ""},
		{"by tail, date and flight", departure, "tail,date,flight\nZZ-A01,2031-03-06,MA12\nZZ-A01,2031-03-07,MA11\nZZ-A02,2031-03-07,MA12\nZZ-A01,2031-03-07,MA12\n", 5, ""},
		{"what the list leaves open does not differ", departure, "tail,date,flight\nZZ-A01,,\n", 2, ""},
		{"by time, at the edge of the window", departure, "tail,start\nZZ-A01,2031-03-07T02:10:59Z\nZZ-A01,2031-03-07T06:11:00Z\n", 3, ""},
		{"by time with an offset", departure, "tail,start\nZZ-A01,2031-03-07T05:30:00+01:00\nZZ-A01,2031-03-07T05:30:00-01:00\n", 2, ""},
		{"by time over midnight", "ZZ-A01_20310308T0010_MA12.csv", "tail,start\nZZ-A01,2031-03-07T23:50:00Z\n", 2, ""},
		{"two could be it", departure, "tail,v1_kt\nZZ-A01,121\nZZ-A02,1\nZZ-A01,131\n", 0, "the flight list has 2 entries that could be it (lines 2, 4): none is used"},
		{"many could be it", departure, "tail\n" + strings.Repeat("ZZ-A01\n", 7), 0, "the flight list has 7 entries that could be it (lines 2, 3, 4, 5, 6, …): none is used"},
		{"none is it", departure, "tail\nZZ-A02\n", 0, "the flight list has no entry for it"},
		{"another flight of the day", departure, "tail,date,flight\nZZ-A01,2031-03-07,MA14\n", 0, "the flight list has no entry for it"},
		{"a line for a file is for no other", departure, "file,tail\nother.csv,ZZ-A01\n", 0, "the flight list has no entry for it"},
		{"no tail is known", plain, "tail\nZZ-A01\n", 0, "the flight list has no entry for it"},
		{"an empty list", departure, "tail\n", 0, "the flight list has no entry for it"},
		{"a line without a tail", departure, "tail,flight\n,MA12\n", 0, "the flight list has no entry for it"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := planned(t, c.file, c.list)
			line := 0
			if r.Plan != nil {
				line = r.Plan.Line
				if filepath.Base(r.Plan.List) != "flights.csv" || len(r.Plan.Entry) != 64 {
					t.Errorf("the plan names no list or entry: %+v", r.Plan)
				}
			}
			if line != c.line || notes(r) != c.remark {
				t.Errorf("line %d with notes %q; want line %d with %q", line, notes(r), c.line, c.remark)
			}
		})
	}
}

// TestListFillsWhatIsNotKnown: the file name comes first, the list fills in.
func TestListFillsWhatIsNotKnown(t *testing.T) {
	list := "file,tail,type,date,start,flight,aerodrome,runway\n" +
		"x.csv,ZZ-A01,AB01,2031-03-07,2031-03-07T04:12:00Z,MA12,ZZMA,27L\n" +
		",ZZ-A01,AB01,2031-03-07,2031-03-07T04:12:00Z,MA12,ZZMA,27L\n"
	want := flightdata.Identity{Tail: "ZZ-A01", Type: "AB01", Flight: "MA12", Date: "2031-03-07", Aerodrome: "ZZMA", Runway: "27L", From: "flight list"}
	r := planned(t, "x.csv", list)
	if r.Identity != want {
		t.Errorf("by the list alone: %+v, want %+v", r.Identity, want)
	}
	if got := r.Start.Format(time.RFC3339); got != "2031-03-07T04:12:00Z" {
		t.Errorf("starts %s: nothing else names the start", got)
	}
	r = planned(t, departure, list)
	want.From = "file name, flight list"
	if r.Identity != want {
		t.Errorf("by both: %+v, want %+v", r.Identity, want)
	}
	if got := r.Start.Format(time.RFC3339); got != "2031-03-07T04:11:00Z" {
		t.Errorf("starts %s: the file name came first", got)
	}
	// The tail of the list picks the profile, and what no profile lists is refused.
	path := put(t, "y.csv", fill("FLAP", "10"))
	l := readList(t, "file,tail\ny.csv,ZZ-X01\n")
	if _, _, err := ingest.Open(path, []*profile.Profile{parse(t, twin)}, ingest.Options{Flights: l}); err == nil || !strings.Contains(err.Error(), "no profile lists the tail ZZ-X01") {
		t.Errorf("a tail that no profile lists: %v", err)
	}
}

// TestImplausibleTakeoffSpeed refuses a V1 or VR that no aeroplane has, with a
// note that says where; the rest of the line is used.
func TestImplausibleTakeoffSpeed(t *testing.T) {
	for cell, want := range map[string]string{"1580": "-", "39.9": "-", "250.1": "-", "40": "40", "250": "250"} {
		for _, name := range []string{"v1", "vr"} {
			l := readList(t, "tail,date,weight_kg,"+name+"_kt\nZZ-A01,2031-03-07,30000,"+cell+"\n")
			r := open(t, put(t, departure, fill("FLAP", "10")), ingest.Options{Flights: l}, parse(t, twin))
			got := r.Plan.V1
			if name == "vr" {
				got = r.Plan.VR
			}
			noted := slices.ContainsFunc(r.Notes, func(n flightdata.Note) bool {
				return strings.Contains(n.Text, "flight list line 2, "+name+": "+cell+" kt is no takeoff speed")
			})
			if figure(got) != want || noted != (want == "-") || figure(r.Plan.Weight) != "30000" {
				t.Errorf("%s of %s kt: used %s, noted %t, want %s; weight %s", name, cell, figure(got), noted, want, figure(r.Plan.Weight))
			}
		}
	}
}

// TestCrewIsDropped: a list may name the crew; nothing that is read may hold
// the names, neither the plan nor a note nor an error.
func TestCrewIsDropped(t *testing.T) {
	const captain, officer = "Kelda Thornwick", "Bram Osgood"
	list := "tail,captain,first_officer,date,v1_kt,remarks\n" +
		"ZZ-A01," + captain + "," + officer + ",2031-03-07,121,flown by " + captain + "\n"
	l := readList(t, list)
	path := put(t, departure, fill("FLAP", "10"))
	r := open(t, path, ingest.Options{Flights: l}, parse(t, twin))
	if figure(r.Plan.V1) != "121" {
		t.Fatalf("plan %+v", r.Plan)
	}
	meta, err := r.ClipMeta().MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	bad := strings.Replace(list, "121", "fast", 1)
	_, refused := ingest.ReadFlightList(put(t, "flights.csv", []byte(bad)))
	lost := "tail,captain\nZZ-A01," + captain + ",one cell too many\n"
	_, uneven := ingest.ReadFlightList(put(t, "flights.csv", []byte(lost)))
	quoted := "tail,captain\nZZ-A01,\"" + captain + "\" K\"\n"
	_, unclosed := ingest.ReadFlightList(put(t, "flights.csv", []byte(quoted)))
	if refused == nil || uneven == nil || unclosed == nil {
		t.Fatal("a bad list was taken")
	}
	all := fmt.Sprintf("%+v %+v %+v %s %s %v %v %v", l, *r, *r.Plan, meta, l.Entries[0], refused, uneven, unclosed)
	for _, word := range append(strings.Fields(captain), strings.Fields(officer)...) {
		if strings.Contains(all, word) {
			t.Errorf("%s is still known", word)
		}
	}
}

// TestFlightListText: what real exports look like.
func TestFlightListText(t *testing.T) {
	for name, text := range map[string]string{
		"plain":                 "tail,flight\nZZ-A01,MA12\n",
		"no last line end":      "tail,flight\nZZ-A01,MA12",
		"CRLF":                  "tail,flight\r\nZZ-A01,MA12\r\n",
		"byte order mark":       "\ufefftail,flight\nZZ-A01,MA12\n",
		"byte order, quotes":    "\ufeff\"tail\",\"flight\"\n\"ZZ-A01\",\"MA12\"\n",
		"spaces":                " tail , flight \n ZZ-A01 , MA12 \n",
		"other case and order":  "Flight,TAIL\nMA12,ZZ-A01\n",
		"empty lines":           "tail,flight\n\n\nZZ-A01,MA12\n\n",
		"columns of no meaning": "tail,gate,flight,v2_kt\nZZ-A01,7,MA12,\n",
	} {
		l := readList(t, text)
		if len(l.Entries) != 1 || l.Entries[0].Tail != "ZZ-A01" || l.Entries[0].Flight != "MA12" {
			t.Errorf("%s: %+v", name, l.Entries)
		}
	}
	// Lines are those that an editor shows.
	l := readList(t, "tail,remark\n\nZZ-A01,\"two\nlines\"\nZZ-A02,x\n")
	if l.Entries[0].Line != 3 || l.Entries[1].Line != 5 {
		t.Errorf("lines %d and %d", l.Entries[0].Line, l.Entries[1].Line)
	}
	if got := l.Entries[1].String(); got != "ZZ-A02 (line 5)" {
		t.Errorf("named %q", got)
	}
}

// TestEntryHash: two entries that say the same have one hash wherever they
// stand, and any difference changes it.
func TestEntryHash(t *testing.T) {
	hash := func(header, row string) string { return readList(t, header+"\n"+row+"\n").Entries[0].Hash() }
	base := hash("tail,flight,v1_kt,trim", "ZZ-A01,MA12,121,4.5")
	if got := readList(t, "v1_kt,remark,trim,flight,tail\n1,x,2,y,z\n121,other,4.50,MA12,ZZ-A01\n").Entries[1].Hash(); got != base {
		t.Error("another order of columns and another line change the hash")
	}
	for _, c := range [][2]string{
		{"tail,flight,v1_kt,trim", "ZZ-A02,MA12,121,4.5"},
		{"tail,flight,v1_kt,trim", "ZZ-A01,MA13,121,4.5"},
		{"tail,flight,v1_kt,trim", "ZZ-A01,MA12,122,4.5"},
		{"tail,flight,v1_m/s,trim", "ZZ-A01,MA12,121,4.5"},
		{"tail,flight,vr_kt,trim", "ZZ-A01,MA12,121,4.5"},
		{"tail,flight,v1_kt,trim", "ZZ-A01,MA12,121,"},
		{"tail,runway,v1_kt,trim", "ZZ-A01,MA12,121,4.5"},
		{"tail,flight,v1_kt,trim,start", "ZZ-A01,MA12,121,4.5,2031-03-07T00:00:00Z"},
	} {
		if hash(c[0], c[1]) == base {
			t.Errorf("%v has the same hash", c)
		}
	}
}

// TestFlightListNeverPanics: whatever lies at the path, it is read or refused.
func TestFlightListNeverPanics(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		piece := rapid.SampledFrom([]string{"tail", "file", "v1_kt", "date", ",", ",", "\n", "\n", "\"", "\"\"", "ZZ-A01", "121", " ", "\r", "\ufeff", "\x00", "\xff", "_", "weight"})
		text := strings.Join(rapid.SliceOfN(piece, 0, 40).Draw(t, "text"), "")
		path := filepath.Join(dir, "list.csv")
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		l, err := ingest.ReadFlightList(path)
		if (l == nil) == (err == nil) {
			t.Fatalf("list %v and error %v", l, err)
		}
		if err != nil && !strings.HasPrefix(err.Error(), path) {
			t.Fatalf("the error does not begin with the file: %v", err)
		}
		if l != nil && !slices.IsSortedFunc(l.Entries, func(a, b ingest.FlightEntry) int { return a.Line - b.Line }) {
			t.Fatal("lines out of order")
		}
	})
}
