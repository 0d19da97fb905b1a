package ingest_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// TestCells reads one column in many ways: what becomes of its cells, and
// what the notes say of it.
func TestCells(t *testing.T) {
	for _, c := range []struct {
		name   string
		file   string
		read   flightdata.Parameter
		want   string
		remark string
	}{
		{"numbers", "FLAP:0 5 10.5", "flap_lever", "0:0 1:5 2:10.5", ""},
		{"blank, NaN and the profile's own word are no sample", "FLAP:0 _ NaN *** 5", "flap_lever", "0:0 4:5", ""},
		{
			"bad numbers are masked", "FLAP:0 up 5 1,5 10", "flap_lever", "0:0 1:(not a number) 2:5 3:(not a number) 4:10",
			`column FLAP: 2 cells not a number (row 3 holds "up"): masked`,
		},
		{"pounds become kilograms", "GW:100000 220462.26", "gross_weight", "0:45359.2 1:100000", ""},
		{"metres per second become knots", "HDG:1 1", "ground_speed", "0:19.4384 1:19.4384", ""},
		{"out of the profile's range", "TRIM:4 4 12.5 4", "stabilizer_trim", "0:4 1:4 2:(out of range) 3:4", ""},
		{"below the floor", "IAS:0 30 31", "airspeed", "0:(below the airspeed floor) 1:(below the airspeed floor) 2:31", ""},
		{"a discrete in numbers", "PBRK:0 1 1.0 0.0 01", "parking_brake", "0:released 1:set 2:set 3:released 4:set", ""},
		{"a discrete in words of any case", "PBRK:REL set On rel", "parking_brake", "0:released 1:set 2:set 3:released", ""},
		{
			"a word without a meaning is masked", "PBRK:REL TRANSIT SET 2", "parking_brake",
			"0:released 1:(not a number) 2:set 3:(not a number)",
			`column PBRK: parking_brake: the profile gives no meaning to "TRANSIT", "2": masked`,
		},
		{
			"a number that only a programming language knows is no number", "PBRK:0 0x1p0 1e0 1_0 inf", "parking_brake",
			"0:released 1:(not a number) 2:set 3:(not a number) 4:(not a number)",
			`column PBRK: parking_brake: the profile gives no meaning to "0x1p0", "1_0", "inf": masked`,
		},
		{"a discrete with gaps keeps its own times", "PBRK:0 _ _ 1 ***", "parking_brake", "0:released 3:set", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			column, cells, _ := strings.Cut(c.file, ":")
			rows := strings.Fields(cells)
			for i := range rows {
				rows[i] = `"` + strings.Trim(rows[i], "_") + `"` // _ is a blank cell
			}
			r := open(t, put(t, "r.csv", fill(column, rows...)), ingest.Options{}, parse(t, twin))
			if got := show(r.Get(c.read)); got != c.want {
				t.Errorf("%s\n got %s\nwant %s", c.file, got, c.want)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
		})
	}
}

// TestRedundancy: where the first choice has no sample, the next one stands
// in, sample by sample.
func TestRedundancy(t *testing.T) {
	for _, c := range []struct{ name, file, want, remark string }{
		{
			"both live: only the first counts", "10,90\n10,90\n10,90\n10,90\n10,90\n10,90\n",
			"0:10 1:10 2:10 3:10 4:10 5:10", "",
		},
		{
			"the first dies", "10,11\n10,11\n,11\n,11\n,11\n,11\n,11\n",
			"0:10 1:10 2:11 3:11 4:11 5:11 6:11", "column GS_2: stands in for GS_1 on 5 samples",
		},
		{
			"the first comes late", ",11\n,11\n10,11\n10,11\n10,11\n",
			"0:11 1:11 2:10 3:10 4:10", "column GS_2: stands in for GS_1 on 2 samples",
		},
		{
			"the first never lives", ",11\n,11\n,11\n",
			"0:11 1:11 2:11", "column GS_2: stands in for GS_1 on 3 samples",
		},
		{
			"a masked sample is replaced", "10,11\nbad,11\nbad,11\nbad,11\nbad,11\n10,11\n",
			"0:10 1:11 2:11 3:11 4:11 5:10",
			"column GS_1: 4 cells not a number (row 3 holds \"bad\"): masked\ncolumn GS_2: stands in for GS_1 on 4 samples",
		},
		{
			"a masked stand-in does not stand in", "10,11\n10,bad\n,bad\n,bad\n,bad\n,bad\n",
			"0:10 1:10", "column GS_2: 5 cells not a number (row 3 holds \"bad\"): masked",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b strings.Builder
			b.WriteString("TIME,GS_1,GS_2,N1_1,N1_2\n")
			for i, row := range strings.Split(strings.TrimSuffix(c.file, "\n"), "\n") {
				b.WriteString(string(rune('0'+i)) + "," + row + ",20,20\n")
			}
			// In knots, so that the numbers are those of the file.
			p := parse(t, twin, "unit: m/s", "unit: kt")
			r := open(t, put(t, "r.csv", []byte(b.String())), ingest.Options{}, p)
			gs := r.Get(flightdata.GroundSpeed)
			if got := show(gs); got != c.want {
				t.Errorf("\n got %s\nwant %s", got, c.want)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
			if gs.Period != time.Second {
				t.Errorf("period %v", gs.Period)
			}
			want := []string{"GS_1"}
			if strings.Contains(c.remark, "stands in") {
				want = []string{"GS_1", "GS_2"}
			}
			if diff := cmp.Diff(want, gs.Origin.Names); diff != "" {
				t.Errorf("origin:\n%s", diff)
			}
		})
	}
}

// TestOneColumnOfTwo: the second name alone is as good as the first.
func TestOneColumnOfTwo(t *testing.T) {
	r := open(t, put(t, "r.csv", []byte("CLOCK,GS_2,N1_1,N1_2\n5,1,2,3\n6,1,2,3\n")), ingest.Options{}, parse(t, twin))
	if got := r.Get(flightdata.GroundSpeed); got.Len() != 2 || got.Origin.Names[0] != "GS_2" || got.Origin.Unit != "m/s" || got.Unit != unit.Must("kt") {
		t.Errorf("%+v", got)
	}
	if r.ClockOrigin != 5e9 || r.FileClock(span.Sec(1)) != 6 {
		t.Errorf("the file's clock starts at %d", r.ClockOrigin)
	}
}

func TestMissingParametersAreNoted(t *testing.T) {
	r := open(t, put(t, "r.csv", []byte("TIME,GS_1,N1_1,HDG\n0,1,2,3\n1,1,2,3\n")), ingest.Options{}, parse(t, twin))
	var got []string
	for _, n := range r.Notes {
		got = append(got, n.String())
	}
	want := []string{
		"the tail is not known: profile AB01 was chosen by the recorded names (3 of 9 found)",
		"airspeed is not in the file (IAS)",
		"n1.2 is not in the file (N1_2)",
		"flap_lever is not in the file (FLAP)",
		"stabilizer_trim is not in the file (TRIM)",
		"parking_brake is not in the file (PBRK)",
		"gross_weight is not in the file (GW)",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("notes (-want +got):\n%s", diff)
	}
	if r.Get("flap_lever") != nil || r.Has("flap_lever") || !r.Has(flightdata.Heading) {
		t.Error("a parameter that is not in the file has a series")
	}
	if s := r.Get(flightdata.Heading); !s.Circular {
		t.Error("heading does not wrap")
	}
}

// TestTime: how the rows get their instants.
func TestTime(t *testing.T) {
	stamped := []string{"form: seconds", "form: RFC 3339"}
	for _, c := range []struct {
		name, times string
		profile     []string
		want        string // instants
		start       string
		remark      string
	}{
		{"seconds of any origin", "4312.5 4313 4313.5", nil, "0 0.5 1", "", ""},
		{"seconds before zero", "-1 0 1.25", nil, "0 1 2.25", "", ""},
		{"RFC 3339", "2031-03-07T23:59:59.5Z 2031-03-08T00:00:00Z 2031-03-08T00:00:01Z", stamped, "0 0.5 1.5", "2031-03-07T23:59:59.5Z", ""},
		{"RFC 3339 with offsets", "2031-03-07T18:59:59-05:00 2031-03-08T00:00:00Z 2031-03-08T01:00:01+01:00", stamped, "0 1 2", "2031-03-07T23:59:59Z", ""},
		{"the end of February in a leap year", "2032-02-29T23:59:59Z 2032-03-01T00:00:00Z 2032-03-01T00:00:01Z", stamped, "0 1 2", "2032-02-29T23:59:59Z", ""},
		{"a repeated time keeps its first row", "0 1 1 1 2", nil, "0 1 2", "", "column TIME: 2 rows with the time of the row before merged into it\n2 samples left out, because another row has a different one at the same time"},
		{"rows without a time", "0 _ 2 *** 3", nil, "0 2 3", "", "column TIME: 2 rows without a time left out"},
		{"rows with a bad time", "0 1 noon 3", nil, "0 1 3", "", "column TIME: 1 row without a time left out (row 4 holds \"noon\")"},
		{"both", "0 _ 1 1 2", nil, "0 1 2", "", "column TIME: 1 row without a time left out\ncolumn TIME: 1 row with the time of the row before merged into it\n1 sample left out, because another row has a different one at the same time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b strings.Builder
			b.WriteString("TIME,GS_1,N1_1,N1_2,PBRK\n")
			for i, at := range strings.Fields(c.times) {
				// The ground speed tells the rows apart: 1, 2, 4, 8 …
				b.WriteString(strings.Trim(at, "_") + "," + []string{"1", "2", "4", "8", "16"}[i] + ",20,20,REL\n")
			}
			r := open(t, put(t, "r.csv", []byte(b.String())), ingest.Options{}, parse(t, twin, append(c.profile, "unit: m/s", "unit: kt")...))
			gs, brake := r.Get(flightdata.GroundSpeed), r.Get(flightdata.ParkingBrake)
			if g := instants(gs); g != c.want || instants(brake) != c.want {
				t.Errorf("speeds at %s, brakes at %s, want %s", g, instants(brake), c.want)
			}
			if len(gs.Values) != gs.Len() || len(brake.Values) != brake.Len() {
				t.Errorf("%d times, %d values", gs.Len(), len(gs.Values))
			}
			start := ""
			if !r.Start.IsZero() {
				start = r.Start.Format(time.RFC3339Nano)
			}
			if start != c.start {
				t.Errorf("starts %s, want %s", start, c.start)
			}
			if c.start != "" && r.Identity.Date != c.start[:10] {
				t.Errorf("date %s", r.Identity.Date)
			}
			if got := notes(r); got != c.remark {
				t.Errorf("notes:\n got %s\nwant %s", got, c.remark)
			}
			last := gs.Times[gs.Len()-1]
			if r.Span != (span.Span{To: last}) || len(r.Windows) != 1 || !r.Windows.Holds(last) || r.Windows.Holds(last+1) {
				t.Errorf("span %v, windows %v", r.Span, r.Windows)
			}
		})
	}
}

// TestRowsKeepTheirValues: when rows are left out, every column loses the
// same ones. A repeated row fills what the first one left blank.
func TestRowsKeepTheirValues(t *testing.T) {
	file := "TIME,GS_1,N1_1,N1_2,PBRK,FLAP\n" +
		"0,1,10,20,REL,5\n" +
		",2,11,21,SET,bad\n" + // no time
		"1,3,12,22,SET,\n" +
		"1,4,13,23,REL,7\n" + // repeated
		"2,5,14,24,odd,bad\n" +
		"3,6,15,25,REL,9\n"
	r := open(t, put(t, "r.csv", []byte(file)), ingest.Options{}, parse(t, twin, "unit: m/s", "unit: kt"))
	for p, want := range map[flightdata.Parameter]string{
		"ground_speed": "0:1 1:3 2:5 3:6", "n1.1": "0:10 1:12 2:14 3:15", "n1.2": "0:20 1:22 2:24 3:25",
		"parking_brake": "0:released 1:set 2:(not a number) 3:released",
		"flap_lever":    "0:5 1:7 2:(not a number) 3:9",
	} {
		if got := show(r.Get(p)); got != want {
			t.Errorf("%s: %s, want %s", p, got, want)
		}
	}
}

func instants(s *flightdata.Series) string {
	parts := strings.Fields(show(s))
	for i := range parts {
		parts[i], _, _ = strings.Cut(parts[i], ":")
	}
	return strings.Join(parts, " ")
}

func TestSource(t *testing.T) {
	data := fill("FLAP,SPARE", "10,7", "10,7")
	path := put(t, "ZZ-A01_20310307T0411_MA12.csv", data)
	r, p, err := ingest.Open(path, []*profile.Profile{parse(t, twin)}, ingest.Options{})
	if err != nil || p.Name != "AB01" {
		t.Fatal(p, err)
	}
	sum := sha256.Sum256(data)
	want := flightdata.Source{Path: path, SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data)), Format: "CSV", Rows: 2, Columns: 6, Used: 5}
	if diff := cmp.Diff(want, r.Source); diff != "" {
		t.Errorf("source (-want +got):\n%s", diff)
	}
	if want := (flightdata.Identity{Tail: "ZZ-A01", Flight: "MA12", Date: "2031-03-07", From: "file name"}); r.Identity != want {
		t.Errorf("identity %+v, want %+v", r.Identity, want)
	}
	if got := r.Start.Format(time.RFC3339); got != "2031-03-07T04:11:00Z" {
		t.Errorf("starts %s", got)
	}
	// What identifies a result is known without decoding a sample.
	fp, err := ingest.Identify(path, []*profile.Profile{p}, ingest.Options{})
	if err != nil || fp.SHA256 != r.Source.SHA256 || fp.Profile != p {
		t.Errorf("Identify gives %+v, %v", fp, err)
	}
}

// TestOpenLeavesTheFileAlone: reading changes nothing on disk and leaves no
// handle behind that would keep the file from being removed.
func TestOpenLeavesTheFileAlone(t *testing.T) {
	path := put(t, "r.csv", fill("FLAP", "10"))
	before, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	open(t, path, ingest.Options{}, parse(t, twin))
	after, err := os.Stat(path)
	if err != nil || after.ModTime() != before.ModTime() || after.Size() != before.Size() {
		t.Error("the file was changed")
	}
	if err := os.Remove(path); err != nil {
		t.Error(err)
	}
}
