package evidence

import (
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"rollonset/detect"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/archive"
)

// share writes the tables of the night and gives their folder.
func share(t *testing.T, c Cover) *archive.Archive {
	t.Helper()
	to, err := archive.Create(filepath.Join(t.TempDir(), "shared"))
	if err != nil {
		t.Fatal(err)
	}
	s := Shared{From: night(t), Cover: c, Versions: nightVersions, LeftOut: func(folder string, err error) { t.Errorf("%s was left out: %v", folder, err) }}
	counts, err := s.Write(context.Background(), to)
	if err != nil {
		t.Fatal(err)
	}
	if counts.Attempts != 48 || counts.Recordings < 46 {
		t.Fatalf("%+v; the night has 48 attempts on 46 recordings", counts)
	}
	return to
}

func nightCover(t *testing.T, k int) Cover {
	t.Helper()
	_, census := all(t, night(t))
	return Cover{Key: testKey(t, 4), Groups: census.Groups(k)}
}

// TestNoIdentityInShare greps every byte and every decoded cell of the shared
// folder for every identity of the archive, with and without places.
func TestNoIdentityInShare(t *testing.T) {
	flights, _ := all(t, night(t))
	words := &Words{}
	for _, f := range flights {
		words.Add(f.Summary)
	}
	for _, places := range []bool{false, true} {
		c := nightCover(t, 5)
		c.Places = places
		to := share(t, c)
		files := 0
		err := filepath.WalkDir(to.Dir(), func(p string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			files++
			rel, _ := filepath.Rel(to.Dir(), p)
			text := append([]byte(rel+"\n"), mustRead(t, p)...)
			if filepath.Ext(p) == ".parquet" {
				text = append(text, decoded(t, p)...)
			}
			if found := words.In(text); len(found) > 0 {
				t.Errorf("%s holds %q", rel, found)
			}
			return nil
		})
		if err != nil || files < 5 {
			t.Fatalf("%d files, %v", files, err)
		}
	}
}

// row reads the text columns that a reader could group by.
type row struct {
	Type, Tail, Aerodrome, Runway, Profile string
	Date                                   any
}

func rowsOf(t *testing.T, file string) []row {
	t.Helper()
	rows, err := parquet.ReadFile[any](file)
	if err != nil {
		t.Fatal(err)
	}
	var out []row
	for _, r := range rows {
		m := r.(map[string]any)
		word := func(name string) string { s, _ := m[name].(string); return s }
		out = append(out, row{word("type"), word("tail"), word("aerodrome"), word("runway"), word("profile"), m["date"]})
	}
	return out
}

// TestTimetable is the attack of somebody with the shared tables and the
// public timetable of the month: he knows for every flight its day, time,
// number, type and aerodrome. For each shared recording he takes the flights
// that fit all that the tables say. No recording may fit fewer than k.
func TestTimetable(t *testing.T) {
	const k = 5
	f, err := os.Open("../../sampledata/night/flights.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	timetable, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	types := map[string]string{"ZZ-Q": "QX40", "ZZ-J": "TJ22", "ZZ-P": "TP08"}
	for _, places := range []bool{false, true} {
		c := nightCover(t, k)
		c.Places = places
		rows := rowsOf(t, share(t, c).Path(archive.TablePath(archive.RecordingsTable, SharedRun)))
		// With places, he first names each pseudonym by how often it occurs;
		// grant him that he is always right.
		name := map[string]string{}
		for _, line := range timetable[1:] {
			name[c.Key.Pseudonym("aerodrome", line[4])] = line[4]
		}
		least, most := len(timetable), 0
		for _, r := range rows {
			fits := 0
			for _, line := range timetable[1:] {
				if r.Type != Other && r.Type != types[line[0][:4]] {
					continue
				}
				if at := name[r.Aerodrome]; r.Aerodrome != "" && r.Aerodrome != Other && at != line[4] {
					continue
				}
				fits++
			}
			least, most = min(least, fits), max(most, fits)
			if fits < k {
				t.Errorf("places %t: a recording of %+v fits %d flights of the timetable", places, r, fits)
			}
			if !places && (r.Aerodrome != "" || r.Runway != "") {
				t.Errorf("a place is told without being asked for: %+v", r)
			}
		}
		t.Logf("places %t: each recording fits %d to %d of %d flights", places, least, most, len(timetable)-1)
	}
}

// TestRareType: with a k that no type reaches, nothing tells the types apart,
// neither a name nor the number of checks.
func TestRareType(t *testing.T) {
	to := share(t, nightCover(t, 20))
	for _, table := range []string{archive.RecordingsTable, archive.AttemptsTable, archive.FindingsTable} {
		seen := map[row]int{}
		for _, r := range rowsOf(t, to.Path(archive.TablePath(table, SharedRun))) {
			seen[r]++
		}
		if len(seen) != 1 {
			t.Errorf("%s: %v", table, seen)
		}
		text := string(decoded(t, to.Path(archive.TablePath(table, SharedRun))))
		for _, word := range []string{"QX40", "TJ22", "TP08", "gust", "slats"} {
			if strings.Contains(text, word) {
				t.Errorf("%s still says %q", table, word)
			}
		}
	}
}

// TestNoWeight: what follows from the weight alone is in no shared table.
func TestNoWeight(t *testing.T) {
	to := share(t, nightCover(t, 5))
	for table, columns := range map[string][]string{
		archive.AttemptsTable: {"v1_kt", "energy_mj", "energy_per_wheel_mj"},
	} {
		rows, err := parquet.ReadFile[any](to.Path(archive.TablePath(table, SharedRun)))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			for _, c := range columns {
				v, there := r.(map[string]any)[c]
				if !there || v != nil {
					t.Fatalf("%s.%s is %v", table, c, v)
				}
			}
		}
	}
	rows, err := parquet.ReadFile[any](to.Path(archive.TablePath(archive.FindingsTable, SharedRun)))
	if err != nil {
		t.Fatal(err)
	}
	bands, margins := 0, 0
	for _, r := range rows {
		if m := r.(map[string]any); m["check"] == "trim" {
			bands++
			if m["margin"] != nil {
				margins++
			}
			if m["limit_low"] != nil || m["value"] != nil || m["limit"] != nil {
				t.Fatalf("the band of a trim is told: %v", m)
			}
		}
	}
	if bands == 0 || margins == 0 {
		t.Errorf("%d trims with %d margins", bands, margins)
	}
}

// TestBare: a flight without a clip is covered as well.
func TestBare(t *testing.T) {
	c := nightCover(t, 5)
	flights, _ := all(t, night(t))
	for _, f := range flights {
		words := &Words{}
		words.Add(f.Summary)
		f.Summary.Clip, f.Summary.Attempts = nil, nil
		prof, err := c.profile(f)
		if err != nil {
			t.Fatal(err)
		}
		out := c.bare(f.Summary, nightVersions, archive.ProfileInfoOf(prof))
		text, err := jsonOf(out)
		if err != nil {
			t.Fatal(err)
		}
		if found := words.In(text); len(found) > 0 {
			t.Errorf("%s: the copy holds %q", f.Summary.Flight.Folder, found)
		}
		if len(out.Key) != 64 || !strings.HasPrefix(out.Flight.Folder, "flights/undated/recording-") || out.Flight.Date != "2031-03" || !Reduced(&out) {
			t.Errorf("%+v", out.Flight)
		}
	}
}

// TestCutApart: attempts hours apart become flights of their own, and neither
// tells how far apart they were.
func TestCutApart(t *testing.T) {
	flights, _ := all(t, night(t))
	at := func(s float64) *archive.Moment { return &archive.Moment{At: s, Earliest: s, Latest: s} }
	s := archive.Summary{Attempts: []archive.AttemptSummary{
		{Number: 1, ThrustAdvance: at(100), Onset: at(101), Stop: at(130)},
		{Number: 2, ThrustAdvance: at(400), Onset: at(401), LiftOff: at(440)},
		{Number: 3, ThrustAdvance: at(9000), Onset: at(9001), LiftOff: at(9040)},
	}}
	if got := (Cover{}).parts(&s); len(got) != 2 || len(got[0]) != 2 || len(got[1]) != 1 || got[1][0] != 3 {
		t.Errorf("cut into %v", got)
	}
	if got := (Cover{Whole: true}).parts(&s); len(got) != 1 || len(got[0]) != 3 {
		t.Errorf("whole, cut into %v", got)
	}
	// The same on samples: a real flight, and the same again two hours later.
	for _, f := range flights {
		if len(f.Summary.Attempts) != 1 || f.Summary.Attempts[0].Onset == nil {
			continue
		}
		long := twice(f, span.Sec(7200))
		copies, err := nightCover(t, 5).Deidentify(long, nightVersions, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(copies) != 2 {
			t.Fatalf("%d copies of two flights", len(copies))
		}
		for _, c := range copies {
			if d := c.Summary.Recording.Duration; d > 1800 {
				t.Errorf("a copy lasts %g s: it tells of the other", d)
			}
		}
		if copies[0].Summary.Flight.Flight == copies[1].Summary.Flight.Flight || copies[0].Summary.Recording.SHA256 == copies[1].Summary.Recording.SHA256 {
			t.Error("the two copies can be told to be of one recording")
		}
		return
	}
	t.Fatal("the night has no flight with one attempt")
}

// twice is a flight whose samples come again after a while.
func twice(f Flight, later span.Instant) Flight {
	clip := *f.Clip
	clip.Series = map[flightdata.Parameter]*flightdata.Series{}
	for p, s := range f.Clip.Series {
		n := *s
		n.Times, n.Values, n.Masks = nil, nil, nil
		for _, shift := range []span.Instant{0, later} {
			for i, t := range s.Times {
				n.Times, n.Values = append(n.Times, t+shift), append(n.Values, s.Values[i])
				if s.Masks != nil {
					n.Masks = append(n.Masks, s.Masks[i])
				}
			}
		}
		clip.Series[p] = &n
	}
	clip.Windows = clip.Windows.Or(shiftedSet(clip.Windows, -later))
	clip.Span.To += later
	out := f
	out.Clip = &clip
	out.Summary = archive.Summarise(detect.Assess(&clip, f.Profile), nightVersions)
	return out
}

func TestBehind(t *testing.T) {
	a := night(t)
	k := testKey(t, 4)
	for s, err := range a.Summaries() {
		if err != nil {
			t.Fatal(err)
		}
		for kind, want := range map[string]string{"tail": s.Flight.Tail, "recording": s.Flight.Folder, "flight": s.Flight.Folder} {
			p := map[string]string{
				"tail": k.Pseudonym("tail", s.Flight.Tail), "recording": k.Pseudonym("recording", recordingMark(&s, 0)),
				"flight": k.Pseudonym("flight", flightMark(s.Flight, 0)),
			}[kind]
			if err := CheckPseudonym(p); err != nil {
				t.Error(err)
			}
			got, err := k.Behind(a, p)
			if err != nil || len(got) != 1 || !strings.Contains(got[0], want) {
				t.Errorf("%s stands for %q, %v; want %s", p, got, err, want)
			}
			if got, err := testKey(t, 5).Behind(a, p); err != nil || len(got) != 0 {
				t.Errorf("another key finds %q, %v", got, err)
			}
		}
		break
	}
	for _, bad := range []string{"", "tail-", "ZZ-Q01", "tail-0b344c61d8dg", "crew-0b344c61d8db", "tail-0b344c61d8db0"} {
		if CheckPseudonym(bad) == nil {
			t.Errorf("%q was taken for a pseudonym", bad)
		}
	}
}
