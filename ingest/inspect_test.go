package ingest_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"rollonset/ingest"
	"rollonset/ingest/profile"
)

// account writes an inspection so that a person can check it line by line.
func account(ins *ingest.Inspection) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %d bytes, %d rows, SHA-256 of %d digits\n", ins.Format, ins.Bytes, ins.Rows, len(ins.SHA256))
	fmt.Fprintf(&b, "time column %q covers %v\n", ins.TimeColumn, ins.Duration)
	for _, c := range ins.Columns {
		fmt.Fprintf(&b, "%-8s", c.Name)
		if c.Unit != "" {
			fmt.Fprintf(&b, " [%s]", c.Unit)
		}
		fmt.Fprintf(&b, " %d samples", c.Samples)
		if c.Period > 0 {
			fmt.Fprintf(&b, " every %v from %v, longest gap %v", c.Period, c.Phase, c.Gap)
		}
		if !math.IsNaN(c.Lo) {
			fmt.Fprintf(&b, ", %g to %g", c.Lo, c.Hi)
		}
		if len(c.Words) > 0 {
			fmt.Fprintf(&b, ", words %q", c.Words)
			if c.MoreWords {
				b.WriteString(" and more")
			}
		}
		if c.Parameter != "" {
			fmt.Fprintf(&b, " = %s", c.Parameter)
		}
		b.WriteByte('\n')
	}
	for _, n := range ins.Notes {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	return b.String()
}

func TestInspect(t *testing.T) {
	p := parse(t, twin)
	mixed := "FRAME,TIME,GS_1,N1_1,N1_2,PBRK,SPARE,EMPTY,ROUTE\n" +
		"4094,100,10,20.5,21,REL,,,A\n4095,100.5,,21.5,,,,,B\n0,101,11,22.5,23,SET,,,C\n" +
		"1,101.5,,bad,,,,,D\n2,102,12,24.5,25,REL,7,,E\n3,107,13,25.5,26,REL,,,F\n4,107.5,,,,,,,G\n5,108,14,26.5,27,ODD,,,H\n6,108.5,,,,,,,I\n"
	for _, c := range []struct {
		name     string
		file     string
		data     []byte
		profiles []*profile.Profile
	}{
		{"with a profile", "r.csv", []byte(mixed), []*profile.Profile{p}},
		{"without a profile", "r.csv", []byte(mixed), nil},
		{"a profile that does not fit", "r.csv", []byte("T,ONE,TWO\n0,1,x\n1,2,y\n"), []*profile.Profile{p}},
		{"no time column", "r.csv", []byte("ONE,TWO\n3,1\n2,5\n7,1\n"), nil},
		{"date and time", "r.csv", []byte("N,WHEN,GS\n5,2031-03-07T04:11:00Z,1\n5,2031-03-07T04:11:00.5Z,2\n5,2031-03-07T04:11:01Z,3\n"), nil},
		{"one row", "r.csv", []byte("TIME,GS\n1,2\n"), nil},
		{"no rows", "r.csv", []byte("TIME,GS\n"), nil},
		{"parquet", "r.parquet", parquetOf(t, smallFlight()), []*profile.Profile{p}},
		{"arrow", "r.arrow", arrowOf(t, smallFlight()), []*profile.Profile{p}},
	} {
		t.Run(c.name, func(t *testing.T) {
			ins, err := ingest.Inspect(put(t, c.file, c.data), c.profiles, ingest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got := account(ins)
			if c.file != "r.csv" { // the size of a binary file is its library's affair
				got = strings.Replace(got, fmt.Sprintf(" %d bytes,", len(c.data)), "", 1)
			}
			golden(t, "inspect/"+strings.ReplaceAll(c.name, " ", "-")+".golden", got)
			if ins.Bytes != int64(len(c.data)) {
				t.Errorf("%d bytes, the file has %d", ins.Bytes, len(c.data))
			}
		})
	}
}

// TestInspectMoreColumnsThanAtOnce: columns are decoded a few at a time, and
// every one of them must be reported once and in order.
func TestInspectMoreColumnsThanAtOnce(t *testing.T) {
	const n = 200
	var header, first, second strings.Builder
	for i := range n {
		fmt.Fprintf(&header, ",C%03d", i)
		fmt.Fprintf(&first, ",%d", i)
		fmt.Fprintf(&second, ",%d", -i)
	}
	text := "TIME" + header.String() + "\n0" + first.String() + "\n2" + second.String() + "\n"
	ins, err := ingest.Inspect(put(t, "r.csv", []byte(text)), nil, ingest.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(ins.Columns) != n+1 || ins.TimeColumn != "TIME" || ins.Duration != 2*time.Second {
		t.Fatalf("%d columns, time %s over %v", len(ins.Columns), ins.TimeColumn, ins.Duration)
	}
	for i, c := range ins.Columns[1:] {
		if c.Name != fmt.Sprintf("C%03d", i) || c.Lo != float64(-i) || c.Hi != float64(i) || c.Samples != 2 || c.Period != 2*time.Second {
			t.Fatalf("column %d: %+v", i, c)
		}
	}
	if len(ins.Notes) != 0 {
		t.Errorf("notes %q", ins.Notes)
	}
}

// TestInspectGivesTheErrorsOfOpen for a file that cannot be read at all.
func TestInspectGivesTheErrorsOfOpen(t *testing.T) {
	p := parse(t, twin)
	for name, data := range map[string][]byte{"empty.csv": {}, "cut.parquet": parquetOf(t, smallFlight())[:300], "noise.bin": []byte("\x00\x01\x02\x03")} {
		path := put(t, name, data)
		_, wanted := ingest.Inspect(path, nil, ingest.Options{})
		_, _, other := ingest.Open(path, []*profile.Profile{p}, ingest.Options{})
		if wanted == nil || other == nil || wanted.Error() != other.Error() {
			t.Errorf("%s: Inspect says %v, Open says %v", name, wanted, other)
		}
	}
}
