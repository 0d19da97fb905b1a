package ingest_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
)

// TestMessages makes one bad input for each mistake and keeps what is said
// about it in testdata/messages, to be read aloud: which file, where in it,
// what is wrong, what to do. A line that starts with "note:" travels with a
// recording that could be read all the same.
func TestMessages(t *testing.T) {
	p := parse(t, twin)
	stamped := parse(t, twin, "form: seconds", "form: RFC 3339")
	sibling := parse(t, twin, "name: AB01", "name: AB02", "ZZ-A*", "ZZ-B*")
	const roll = "TIME,GS_1,N1_1,N1_2,PBRK\n"
	used := map[string]bool{}
	check := func(name, file, got string) {
		t.Helper()
		t.Run(name, func(t *testing.T) {
			golden(t, "messages/"+name+".golden", strings.ReplaceAll(got, file, filepath.Base(file))+"\n")
		})
		used[name+".golden"] = true
	}

	for _, c := range []struct {
		name, file string
		data       string
		profiles   []*profile.Profile
		flights    string
		limits     table.Limits
	}{
		{name: "empty-file", file: "r.csv"},
		{name: "header-only", file: "r.csv", data: roll},
		{name: "not-a-recording", file: "r.csv", data: "%PDF-1.4 \x00\x01\x02"},
		{name: "cut-parquet", file: "r.parquet", data: string(parquetOf(t, smallFlight())[:500])},
		{name: "cut-gzip", file: "r.csv.gz", data: string(gzipOf(t, csvOf(smallFlight()))[:200])},
		{name: "too-many-rows", file: "r.csv", data: string(csvOf(smallFlight())), limits: table.Limits{Rows: 50}},
		{name: "no-profile-given", file: "r.csv", data: roll + "0,1,2,3,0\n", profiles: []*profile.Profile{}},
		{name: "no-known-column", file: "r.csv", data: "ZEIT,V,WORT\n0,1,2\n"},
		{name: "no-time-column", file: "r.csv", data: "T,GS_1,N1_1,N1_2\n0,1,2,3\n"},
		{name: "no-speed", file: "r.csv", data: "TIME,N1_1,N1_2\n0,1,2\n"},
		{name: "too-few-engines", file: "r.csv", data: "TIME,GS_1,N1-1,N1-2\n0,1,2,3\n"},
		{name: "two-profiles-fit", file: "r.csv", data: roll + "0,1,2,3,0\n", profiles: []*profile.Profile{p, sibling}},
		{name: "profile-of-the-tail-does-not-read-it", file: departure, data: "UTC,GS_1,N1_1,N1_2\n0,1,2,3\n"},
		{name: "tail-of-no-profile", file: "r.csv", data: roll + "0,1,2,3,0\n", flights: "file,tail\nr.csv,ZZ-X99\n"},
		{name: "seconds-instead-of-date-and-time", file: "r.csv", data: roll + "0,1,2,3,0\n1,1,2,3,0\n", profiles: []*profile.Profile{stamped}},
		{name: "date-and-time-instead-of-seconds", file: "r.csv", data: roll + "2031-03-07T04:11:00Z,1,2,3,0\n"},
		{name: "no-offset", file: "r.csv", data: roll + "2031-03-07T04:11:00,1,2,3,0\n", profiles: []*profile.Profile{stamped}},
		{name: "time-backwards", file: "r.csv", data: roll + "100,1,2,3,0\n101,1,2,3,0\n7.25,1,2,3,0\n"},
		{name: "time-backwards-by-a-hair", file: "r.csv", data: roll + "10,80,2,3,0\n9.9999,80,2,3,0\n"},
		{name: "time-column-is-blank", file: "r.csv", data: roll + ",1,2,3,0\n,1,2,3,0\n"},

		{name: "note-bad-cells", file: departure, data: roll + "0,fast,2,3,0\n1,slow,2,3,0\n2,7,2,3,0\n"},
		{name: "note-unknown-words", file: departure, data: roll + "0,1,2,3,HALF\n1,1,2,3,0\n2,1,2,3,?\n"},
		{name: "note-many-unknown-words", file: departure, data: roll + "0,1,2,3,A\n1,1,2,3,B\n2,1,2,3,C\n3,1,2,3,D\n4,1,2,3,E\n5,1,2,3,F\n6,1,2,3,G\n"},
		{name: "note-repeated-times", file: departure, data: roll + "0,1,2,3,0\n0,1,2,3,0\n1,1,2,3,0\n"},
		{name: "note-rows-without-a-time", file: departure, data: roll + "0,1,2,3,0\nmidday,1,2,3,0\n2,1,2,3,0\n"},
		{name: "note-tail-not-known", file: "r.csv", data: roll + "0,1,2,3,0\n"},
		{name: "note-no-entry", file: departure, data: roll + "0,1,2,3,0\n", flights: "tail,flight\nZZ-A01,MA99\n"},
		{name: "note-two-entries", file: departure, data: roll + "0,1,2,3,0\n", flights: "tail,flight\nZZ-A01,MA12\nZZ-A01,MA12\n"},
		{name: "note-line-cut-off", file: departure, data: roll + "0,1,2,3,0\n1,1,2"},
	} {
		path := put(t, c.file, []byte(c.data))
		profiles := c.profiles
		if profiles == nil {
			profiles = []*profile.Profile{p}
		}
		opt := ingest.Options{Limits: c.limits}
		if c.flights != "" {
			opt.Flights = readList(t, c.flights)
		}
		r, _, err := ingest.Open(path, profiles, opt)
		switch {
		case strings.HasPrefix(c.name, "note-") && err != nil, !strings.HasPrefix(c.name, "note-") && err == nil:
			t.Errorf("%s: %v", c.name, err)
		case err != nil:
			check(c.name, path, err.Error())
		default:
			var lines []string
			for _, n := range r.Notes {
				if !strings.Contains(n.Text, "is not in the file") {
					lines = append(lines, "note: "+n.String())
				}
			}
			check(c.name, path, strings.Join(lines, "\n"))
		}
	}

	for name, data := range map[string]string{
		"list-empty":                "",
		"list-semicolons":           "tail;flight\nZZ-A01;MA12\n",
		"list-without-tail-or-file": "flight,date\nMA12,2031-03-07\n",
		"list-figure-without-unit":  "tail,v1,weight\nZZ-A01,121,61000\n",
		"list-figure-of-wrong-unit": "tail,v1_kg,trim_kt,runway_length_t\nZZ-A01,121,1,1\n",
		"list-second-column":        "tail,v1_kt,v1_m/s,Tail\nZZ-A01,121,62,ZZ-A01\n",
		"list-bad-cells":            "tail,date,start,v1_kt\nZZ-A01,07.03.2031,04:11,fast\nZZ-A02,2031-02-30,2031-03-07 04:11,NaN\n",
		"list-uneven-lines":         "tail,flight\nZZ-A01\nZZ-A01,MA12\nZZ-A01,MA13,X\n",
		"list-open-quotes":          "tail,flight\nZZ-A01,MA12\nZZ-A01,\"MA13\n",
		"list-stray-quotes":         "tail,flight\nZZ-A01,MA\"12\n",
	} {
		path := put(t, "flights.csv", []byte(data))
		l, err := ingest.ReadFlightList(path)
		if err == nil {
			t.Errorf("%s was taken: %+v", name, l)
			continue
		}
		check(name, path, err.Error())
	}
	nowhere := filepath.Join(t.TempDir(), "nowhere.csv")
	_, err := ingest.ReadFlightList(nowhere)
	check("list-not-there", nowhere, err.Error())
	_, _, err = ingest.Open(nowhere, []*profile.Profile{p}, ingest.Options{})
	check("not-there", nowhere, err.Error())

	files, err := os.ReadDir("testdata/messages")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !used[f.Name()] {
			t.Errorf("testdata/messages/%s belongs to no mistake", f.Name())
		}
	}
}

// TestMessagesAreWhole: every message that the golden files keep names the
// file first, and says after a semicolon what to do.
func TestMessagesAreWhole(t *testing.T) {
	files, err := filepath.Glob("testdata/messages/*.golden")
	if err != nil || len(files) < 30 {
		t.Fatalf("%d messages: %v", len(files), err)
	}
	names := []string{"r.csv", "r.csv.gz", "r.parquet", departure, "flights.csv", "nowhere.csv"}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(text)) {
			line = strings.TrimSpace(line)
			if note, ok := strings.CutPrefix(line, "note: "); ok {
				if len(note) < 10 {
					t.Errorf("%s: %q says too little", file, line)
				}
				continue
			}
			name, rest, _ := strings.Cut(line, ": ")
			cause, remedy, _ := strings.Cut(rest, "; ")
			if !slices.Contains(names, name) || cause == "" || remedy == "" {
				t.Errorf("%s: file %q, cause %q, remedy %q", file, name, cause, remedy)
			}
		}
	}
}
