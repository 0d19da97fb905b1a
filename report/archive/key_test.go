package archive

import (
	"path"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
)

const key0 = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

func TestFolderOf(t *testing.T) {
	start := time.Date(2031, 3, 7, 4, 11, 59, 0, time.UTC)
	for name, c := range map[string]struct {
		id    flightdata.Identity
		start time.Time
		path  string
		want  string
	}{
		"all known":           {flightdata.Identity{Tail: "ZZ-Q17", Flight: "MA12", Date: "2031-03-07"}, start, "x.csv", "flights/2031/03/07/ZZ-Q17-MA12-0411-01234567"},
		"no time of day":      {flightdata.Identity{Tail: "ZZ-Q17", Flight: "MA12", Date: "2031-03-07"}, time.Time{}, "x.csv", "flights/2031/03/07/ZZ-Q17-MA12-01234567"},
		"date from the start": {flightdata.Identity{Tail: "ZZ-Q17"}, start, "x.csv", "flights/2031/03/07/ZZ-Q17-0411-01234567"},
		"no identity":         {flightdata.Identity{Date: "2031-03-07"}, time.Time{}, "in/night 4.csv.gz", "flights/2031/03/07/night_4-01234567"},
		"undated":             {flightdata.Identity{Tail: "ZZ-Q17"}, time.Time{}, `D:\in\night.csv`, "flights/undated/night-01234567"},
		"no name at all":      {flightdata.Identity{}, time.Time{}, "", "flights/undated/_-01234567"},
		"climbing":            {flightdata.Identity{Tail: "../..", Flight: `..\..`, Date: "2031-03-07"}, time.Time{}, "", "flights/2031/03/07/_.._..-.._..-01234567"},
		"hostile date":        {flightdata.Identity{Tail: "A", Date: "../../../x"}, time.Time{}, "n.csv", "flights/undated/n-01234567"},
		"device of Windows":   {flightdata.Identity{Tail: "CON.1", Date: "2031-03-07"}, time.Time{}, "", "flights/2031/03/07/_CON.1-01234567"},
		"flag of a command":   {flightdata.Identity{Tail: "-rf", Date: "2031-03-07"}, time.Time{}, "", "flights/2031/03/07/_-rf-01234567"},
		"hidden":              {flightdata.Identity{Tail: ".ssh", Date: "2031-03-07"}, time.Time{}, "", "flights/2031/03/07/_.ssh-01234567"},
		"control characters":  {flightdata.Identity{Tail: "A\x00\n\x1b[2J", Date: "2031-03-07"}, time.Time{}, "", "flights/2031/03/07/A____2J-01234567"},
		"other letters":       {flightdata.Identity{Tail: "Ä\u202eÅ", Date: "2031-03-07"}, time.Time{}, "", "flights/2031/03/07/___-01234567"},
		"long": {
			flightdata.Identity{Tail: strings.Repeat("T", 500), Flight: strings.Repeat("F", 500), Date: "2031-03-07"},
			start, "",
			"flights/2031/03/07/" + strings.Repeat("T", 30) + "-" + strings.Repeat("F", 30) + "-0411-01234567",
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := &flightdata.Recording{Identity: c.id, Start: c.start, Source: flightdata.Source{Path: c.path}}
			if got := folderOf(r, key0); got != c.want {
				t.Errorf("folder %s, want %s", got, c.want)
			}
		})
	}
}

// Whatever a recording calls itself, its folder stays inside the archive, is
// one that reading finds again, and is a name that Windows takes.
func TestFolderIsHarmless(t *testing.T) {
	part := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"..", "/", `\`, "con", "COM1.x", "LPT9", "nul.", "a:b", "aux.-"}))
	rapid.Check(t, func(t *rapid.T) {
		r := &flightdata.Recording{
			Identity: flightdata.Identity{Tail: part.Draw(t, "tail"), Flight: part.Draw(t, "flight"), Date: rapid.SampledFrom([]string{"", "2031-03-07", "x"}).Draw(t, "date")},
			Source:   flightdata.Source{Path: part.Draw(t, "path")},
		}
		folder := folderOf(r, key0)
		last := path.Base(folder)
		base, _, _ := strings.Cut(strings.ToUpper(last), ".")
		switch {
		case path.Clean(folder) != folder || !filepath.IsLocal(folder):
			t.Fatalf("%s leads elsewhere", folder)
		case !isFlightFolder(folder):
			t.Fatalf("%s is not found again", folder)
		case len(last) > 80:
			t.Fatalf("%s has %d bytes", last, len(last))
		case strings.HasSuffix(last, "."), base == "CON", base == "AUX", base == "NUL", base == "COM1", base == "LPT9":
			t.Fatalf("%s is no name on Windows", last)
		case !strings.HasSuffix(last, "01234567"):
			t.Fatalf("%s has lost the key", last)
		}
	})
}

// The key was worked out by hand with printf and sha256sum over
// 00000000 00000002 "ab" 00000000 00000001 "c" 00000000 00000000.
func TestKey(t *testing.T) {
	if got, want := Key("ab", "c", ""), "528e931465bb50b57f335f8f47b78a4e3a2ee8b14454d7d3586105668d33c410"; got != want {
		t.Errorf("key %s, want %s", got, want)
	}
	if Key("ab", "c", "1") == Key("a", "bc", "1") {
		t.Error("two triples run together")
	}
}

func TestCheckElement(t *testing.T) {
	for _, name := range []string{"", ".", "..", "a/b", `a\b`, "nul", "COM3.json", "-x", ".x", "x.", "a b", strings.Repeat("x", 100)} {
		if checkElement("run", name) == nil {
			t.Errorf("%q passed", name)
		}
	}
	for _, name := range []string{"20310307T041100Z-1", "a.b_c", "console"} {
		if err := checkElement("run", name); err != nil {
			t.Error(err)
		}
	}
}
