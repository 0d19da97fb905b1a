package ingest

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

func TestReadName(t *testing.T) {
	all := "{type}_{tail}_{date}T{time}_{flight}_{aerodrome}_{runway}_{any}"
	for _, c := range []struct {
		pattern, file string
		want          flightdata.Identity // the zero value: the pattern does not fit
		start         string
	}{
		{
			all, "AB01_ZZ-A01_20310307T041159_MA12_ZZMA_27L_copy (2).csv.gz",
			flightdata.Identity{Type: "AB01", Tail: "ZZ-A01", Flight: "MA12", Date: "2031-03-07", Aerodrome: "ZZMA", Runway: "27L"},
			"2031-03-07T04:11:59Z",
		},
		{all, "AB01_ZZ-A01_20310307T0411_MA12_ZZMA_9_.parquet", flightdata.Identity{Type: "AB01", Tail: "ZZ-A01", Flight: "MA12", Date: "2031-03-07", Aerodrome: "ZZMA", Runway: "9"}, "2031-03-07T04:11:00Z"},
		{"{tail}_{date}", "ZZ-A01_20310307.csv", flightdata.Identity{Tail: "ZZ-A01", Date: "2031-03-07"}, ""},
		{"{tail}_{time}", "ZZ-A01_0411.csv", flightdata.Identity{Tail: "ZZ-A01"}, ""}, // a time of no day
		{"FDR.{tail}+{any}", "FDR.ZZ-A01+x.csv", flightdata.Identity{Tail: "ZZ-A01"}, ""},
		{"{tail}_{date}", "ZZ-A01_20310307.CSV.ZST", flightdata.Identity{Tail: "ZZ-A01", Date: "2031-03-07"}, ""},
		{"{tail}", "ZZ-A01", flightdata.Identity{Tail: "ZZ-A01"}, ""},

		// What is no date or time of the calendar names none; the rest stands.
		{"{tail}_{date}T{time}", "ZZ-A01_20310229T0411.csv", flightdata.Identity{Tail: "ZZ-A01"}, ""},
		{"{tail}_{date}T{time}", "ZZ-A01_20310307T2460.csv", flightdata.Identity{Tail: "ZZ-A01", Date: "2031-03-07"}, ""},

		// Names that do not fit, by accident or by intent.
		{"{tail}_{date}", "ZZ-A01_2031037.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "ZZ-A01_20310307_again.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "..\\..\\ZZ-A01_20310307.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "ZZ-A01\n_20310307.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "<b>ZZ-A01</b>_20310307.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "=ZZ-A01_20310307.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "ZZ-Ä01_20310307.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", "ZZ-A01_20310307\x00.csv", flightdata.Identity{}, ""},
		{"{tail}_{date}", ".csv", flightdata.Identity{}, ""},
		{"FDR.{tail}", "FDRxZZ-A01.csv", flightdata.Identity{}, ""}, // the point is a point
		{"", "ZZ-A01_20310307.csv", flightdata.Identity{}, ""},
	} {
		id, start, ok := readName(c.pattern, stemOf(filepath.Join("some", "dir", c.file)))
		if id != c.want || ok != (c.want != flightdata.Identity{}) {
			t.Errorf("%q with %s: %+v, %v; want %+v", c.file, c.pattern, id, ok, c.want)
		}
		got := ""
		if !start.IsZero() {
			got = start.Format(time.RFC3339)
		}
		if got != c.start {
			t.Errorf("%q starts %q, want %q", c.file, got, c.start)
		}
	}
}

// TestNameRoundTrip fills a pattern in and reads it back.
func TestNameRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[A-Z0-9]{1,6}`)
		want := flightdata.Identity{
			Tail: "ZZ-" + word.Draw(t, "tail"), Type: word.Draw(t, "type"), Flight: word.Draw(t, "flight"),
			Aerodrome: word.Draw(t, "aerodrome"), Runway: rapid.StringMatching(`[0-9]{1,2}[LCR]?`).Draw(t, "runway"),
		}
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "start"), 0).UTC()
		want.Date = at.Format(time.DateOnly)
		parts := rapid.Permutation([]string{"{tail}", "{type}", "{flight}", "{date}", "{time}", "{aerodrome}", "{runway}"}).Draw(t, "order")
		pattern := strings.Join(parts, rapid.SampledFrom([]string{"_", " ", ".", "+(", "$^"}).Draw(t, "between"))
		name := strings.NewReplacer(
			"{tail}", want.Tail, "{type}", want.Type, "{flight}", want.Flight, "{date}", at.Format("20060102"),
			"{time}", at.Format("150405"), "{aerodrome}", want.Aerodrome, "{runway}", want.Runway,
		).Replace(pattern)
		id, start, ok := readName(pattern, name)
		if !ok || id != want || !start.Equal(at) {
			t.Fatalf("%q by %q: %+v at %v, %v", name, pattern, id, start, ok)
		}
	})
}

func TestStem(t *testing.T) {
	for path, want := range map[string]string{
		"dir/a.csv": "a", "a.CSV.GZ": "a", "a.parquet": "a", "a.b.arrow": "a.b", "a.csv.bak": "a.csv.bak",
		"a": "a", ".csv": "", "a.": "a.", "a.gz.zst.csv": "a", "": ".",
	} {
		if got := stemOf(filepath.FromSlash(path)); got != want {
			t.Errorf("%q: %q, want %q", path, got, want)
		}
	}
}

// TestTailsDecideWhoseNameItIs: two profiles with one pattern tell their
// files apart by the tails.
func TestTailsDecideWhoseNameItIs(t *testing.T) {
	a := &profile.Profile{Tails: []string{"ZZ-A*"}, File: profile.FileRule{Pattern: "{tail}_{flight}"}}
	b := &profile.Profile{Tails: []string{"ZZ-B*"}, File: profile.FileRule{Pattern: "{tail}_{date}"}}
	for file, want := range map[string]flightdata.Identity{
		"ZZ-A1_20310307.csv": {Tail: "ZZ-A1", Flight: "20310307", From: "file name"},
		"ZZ-B1_20310307.csv": {Tail: "ZZ-B1", Date: "2031-03-07", From: "file name"},
		"ZZ-C1_20310307.csv": {},
		"anything.csv":       {},
	} {
		if k := identify(file, []*profile.Profile{a, b}, nil); k.Identity != want {
			t.Errorf("%s: %+v, want %+v", file, k.Identity, want)
		}
	}
}

func FuzzReadName(f *testing.F) {
	f.Add("ZZ-A01_20310307T0411_MA12")
	f.Add("ZZ-A01_20310307T0411_../../etc")
	f.Add("\xff\x00")
	f.Fuzz(func(t *testing.T, stem string) {
		id, start, ok := readName("{tail}_{date}T{time}_{flight}", stem)
		if !ok && (id != flightdata.Identity{} || !start.IsZero()) {
			t.Errorf("%q does not fit and gives %+v", stem, id)
		}
		// What is read goes into file names and pages.
		if strings.ContainsAny(id.Tail+id.Flight+id.Date, "/\\<>&\"'=\n\r\x00. ") {
			t.Errorf("%q gives %+v", stem, id)
		}
	})
}
