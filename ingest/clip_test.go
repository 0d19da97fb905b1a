package ingest_test

import (
	"bytes"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/parquet-go/parquet-go"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
	"rollonset/report/archive"
)

// sameClip takes an empty list for none, which a file cannot tell apart.
var sameClip = cmp.Options{cmpopts.EquateComparable(unit.Unit{}), cmpopts.EquateEmpty(), cmpopts.EquateNaNs()}

// clipOf writes a clip as the archive does.
func clipOf(t testing.TB, a *detect.Assessment) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := archive.WriteAssessedClip(&b, a, archive.Versions{Detection: "1"}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// bare is the clip of a recording without what no clip keeps: the folder that
// it lay in, and masks that all say good, which are none.
func bare(r *flightdata.Recording, windows span.Set) *flightdata.Recording {
	c := r.Clip(windows)
	c.Source.Path = filepath.Base(c.Source.Path)
	if c.Plan != nil {
		plan := *c.Plan
		plan.List = filepath.Base(plan.List)
		c.Plan = &plan
	}
	for _, s := range c.Series {
		if s.MaskCounts()[flightdata.Good] == s.Len() {
			s.Masks = nil
		}
	}
	return c
}

func TestClipIsARecording(t *testing.T) {
	p := parse(t, twin)
	rows := smallFlight()
	list := readList(t, "tail,v1_kt,trim\nZZ-A01,121,4.5\n")
	r := open(t, put(t, departure, csvOf(rows)), ingest.Options{Flights: list}, p)
	for name, windows := range map[string]span.Set{
		"all of it":   r.Windows,
		"one stretch": span.Of(span.Span{From: span.Sec(15), To: span.Sec(40)}),
		"two stretches, one on the edge": span.Of(
			span.Span{From: span.Sec(2), To: span.Sec(5.5)}, span.Span{From: span.Sec(50), To: span.Sec(500)}),
		"none": nil,
	} {
		t.Run(name, func(t *testing.T) {
			path := put(t, "clip.parquet", clipOf(t, &detect.Assessment{Recording: r, Profile: p, Windows: windows}))
			got, prof, err := ingest.Open(path, []*profile.Profile{p}, ingest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if prof != p {
				t.Errorf("profile %s", prof.Name)
			}
			if diff := cmp.Diff(bare(r, windows), got, sameClip); diff != "" {
				t.Errorf("the clip differs from what was cut (-cut +opened):\n%s", diff)
			}
		})
	}
	if r.Plan == nil || r.Get(flightdata.FlapLever).Masks == nil || r.Get(flightdata.ParkingBrake).Masks == nil {
		t.Error("the recording shows too little: no plan or no masks")
	}
}

// TestClipsOfMadeFlights cuts whole flights of the fleet and reads them back.
func TestClipsOfMadeFlights(t *testing.T) {
	profiles, err := profile.LoadDir("../sampledata/fleet")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range recordings(t, madeFlights(t, 6, profiles)) {
		r, p, err := ingest.Open(path, profiles, ingest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		middle := span.Span{From: r.Span.To / 3, To: r.Span.To / 2}
		clip := put(t, "clip.parquet", clipOf(t, &detect.Assessment{Recording: r, Profile: p, Windows: span.Of(middle)}))
		got := open(t, clip, ingest.Options{}, profiles...)
		if diff := cmp.Diff(bare(r, span.Of(middle)), got, sameClip); diff != "" {
			t.Errorf("%s (-cut +opened):\n%s", path, diff)
		}
	}
}

// TestClipProfile: the very profile by its hash, else the one of that name.
func TestClipProfile(t *testing.T) {
	p := parse(t, twin)
	newer := parse(t, twin, `version: "1"`, `version: "2"`)
	other := parse(t, twin, "name: AB01", "name: AB02")
	r := open(t, put(t, "r.csv", csvOf(smallFlight())), ingest.Options{}, p)
	path := put(t, "clip.parquet", clipOf(t, &detect.Assessment{Recording: r, Profile: p, Windows: r.Windows}))
	for _, c := range []struct {
		given []*profile.Profile
		want  *profile.Profile
	}{
		{[]*profile.Profile{newer, other, p}, p},
		{[]*profile.Profile{other, newer}, newer},
	} {
		if _, got, err := ingest.Open(path, c.given, ingest.Options{}); err != nil || got != c.want {
			t.Errorf("%v, %v", got, err)
		}
		if fp, err := ingest.Identify(path, c.given, ingest.Options{}); err != nil || fp.Profile != c.want || len(fp.SHA256) != 64 {
			t.Errorf("Identify: %+v, %v", fp, err)
		}
	}
	_, _, err := ingest.Open(path, []*profile.Profile{other}, ingest.Options{})
	if want := "the clip was judged with profile AB01, which is not among the profiles given"; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
}

// clipRow is a row of a clip that somebody has changed.
type clipRow struct {
	Time  *int64   `parquet:"time,optional"`
	Speed *float64 `parquet:"ground_speed,optional"`
	Brake *string  `parquet:"parking_brake,optional"`
	Mask  *int32   `parquet:"parking_brake.mask,optional"`
}

// changed writes a clip of two samples whose rows, columns or metadata a test
// has changed.
func changed[row any](t testing.TB, rows []row, edit func(meta string) string) []byte {
	t.Helper()
	brake := &flightdata.Series{
		Parameter: flightdata.ParkingBrake, Kind: flightdata.Discrete, States: []string{"released", "set"},
		Times: []span.Instant{0, 1e9}, Values: []float64{0, 1}, Masks: []flightdata.Mask{0, flightdata.NotANumber}, Period: time.Second,
	}
	speed := &flightdata.Series{Parameter: flightdata.GroundSpeed, Unit: unit.Must("kt"), Times: brake.Times, Values: []float64{1, 2}, Period: time.Second}
	r := &flightdata.Recording{
		Span: span.Span{To: 1e9}, Windows: span.Of(span.Span{To: 1e9 + 1}), Clock: "seconds",
		Series: map[flightdata.Parameter]*flightdata.Series{flightdata.ParkingBrake: brake, flightdata.GroundSpeed: speed},
	}
	m := r.ClipMeta()
	m.Profile.Name = "AB01"
	text, err := m.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := parquet.Write(&b, rows, parquet.KeyValueMetadata(flightdata.ClipKey, edit(string(text)))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func ptr[T any](v T) *T { return &v }

// TestChangedClip: a clip proves a finding, so nothing in it may be guessed.
func TestChangedClip(t *testing.T) {
	asWritten := func(meta string) string { return meta }
	good := func() []clipRow {
		return []clipRow{{ptr(int64(0)), ptr(1.0), ptr("released"), ptr(int32(0))}, {ptr(int64(1e9)), ptr(2.0), ptr("set"), ptr(int32(1))}}
	}
	with := func(edit func(rows []clipRow)) []clipRow {
		rows := good()
		edit(rows)
		return rows
	}
	p := parse(t, twin)
	r := open(t, put(t, "clip.parquet", changed(t, good(), asWritten)), ingest.Options{}, p)
	if got := show(r.Get(flightdata.ParkingBrake)); got != "0:released 1:(not a number)" || !r.IsClip {
		t.Fatalf("the clip before it is changed reads %s", got)
	}
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"a state that is none", changed(t, with(func(r []clipRow) { r[0].Brake = ptr("off") }), asWritten), `column parking_brake: "off" is none of its states (released, set)`},
		{"a mask that is none", changed(t, with(func(r []clipRow) { r[1].Mask = ptr(int32(200)) }), asWritten), "column parking_brake.mask: row 2: 200 is no mask"},
		{"a mask below zero", changed(t, with(func(r []clipRow) { r[0].Mask = ptr(int32(-1)) }), asWritten), "column parking_brake.mask: row 1: -1 is no mask"},
		{"a mask is missing", changed(t, with(func(r []clipRow) { r[1].Mask = nil }), asWritten), "column parking_brake.mask: 1 mask for 2 samples"},
		{"a mask without its sample", changed(t, with(func(r []clipRow) { r[0].Mask, r[1].Brake, r[0].Brake = nil, nil, ptr("set") }), asWritten), "column parking_brake.mask: row 2 has a mask and no sample"},
		{"a row without a time", changed(t, with(func(r []clipRow) { r[0].Time = nil }), asWritten), "column time: 1 of 2 rows have a time"},
		{"time runs backwards", changed(t, with(func(r []clipRow) { r[1].Time = ptr(int64(-1)) }), asWritten), "column time: row 2: time runs backwards"},
		{"a time past what a float holds", changed(t, with(func(r []clipRow) { r[1].Time = ptr(int64(1 << 60)) }), asWritten), "is no time in nanoseconds"},
		{"no time column", changed(t, []struct {
			Speed float64 `parquet:"ground_speed"`
			Brake string  `parquet:"parking_brake"`
			Mask  int32   `parquet:"parking_brake.mask"`
		}{{1, "set", 0}}, asWritten), "column time: named in the clip's metadata and not in the file"},
		{"no mask column", changed(t, []struct {
			Time  int64   `parquet:"time"`
			Speed float64 `parquet:"ground_speed"`
			Brake string  `parquet:"parking_brake"`
		}{{1, 1, "set"}}, asWritten), "column parking_brake.mask: named in the clip's metadata and not in the file"},
		{"no parameter column", changed(t, []struct {
			Time  int64  `parquet:"time"`
			Brake string `parquet:"parking_brake"`
			Mask  int32  `parquet:"parking_brake.mask"`
		}{{1, "set", 0}}, asWritten), "column ground_speed: named in the clip's metadata and not in the file"},
		{"words where numbers belong", changed(t, []struct {
			Time  int64  `parquet:"time"`
			Speed string `parquet:"ground_speed"`
			Brake string `parquet:"parking_brake"`
			Mask  int32  `parquet:"parking_brake.mask"`
		}{{1, "fast", "set", 0}}, asWritten), `column ground_speed: 1 cell not readable (row 1 holds "fast")`},
		{"metadata cut off", changed(t, good(), func(m string) string { return m[:len(m)/2] }), "metadata rollonset.clip: unexpected end"},
		{"metadata of another layout", changed(t, good(), func(m string) string { return strings.Replace(m, `"schema":1`, `"schema":9`, 1) }), "layout 9 of the clip is not known here"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := put(t, "clip.parquet", c.data)
			r, _, err := ingest.Open(path, []*profile.Profile{p}, ingest.Options{})
			var e *ingest.Error
			if !errors.As(err, &e) || r != nil || !strings.HasPrefix(err.Error(), path) || !strings.Contains(err.Error(), c.want) || e.Remedy == "" {
				t.Errorf("%v\nwant %s", err, c.want)
			}
		})
	}
}
