package archive

import (
	"bytes"
	"fmt"
	"math"
	"path"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/parquet-go/parquet-go"
	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// readClip reads a clip with the library alone, cell by cell, as any other
// program would by the description at flightdata.ClipKey.
func readClip(data []byte) (*flightdata.Recording, flightdata.ClipMeta, error) {
	f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, flightdata.ClipMeta{}, err
	}
	text, ok := f.Lookup(flightdata.ClipKey)
	if !ok {
		return nil, flightdata.ClipMeta{}, fmt.Errorf("no %s", flightdata.ClipKey)
	}
	meta, err := flightdata.ParseClipMeta([]byte(text))
	if err != nil {
		return nil, meta, err
	}
	cells := map[string][]parquet.Value{}
	for _, column := range f.Root().Columns() {
		for _, group := range f.RowGroups() {
			values, err := chunk(group.ColumnChunks()[column.Index()], int(group.NumRows()))
			if err != nil {
				return nil, meta, err
			}
			cells[column.Name()] = append(cells[column.Name()], values...)
		}
	}
	series := map[flightdata.Parameter]*flightdata.Series{}
	for _, c := range meta.Columns {
		if series[c.Parameter], err = seriesOf(c, cells); err != nil {
			return nil, meta, err
		}
	}
	return meta.Restore(series), meta, nil
}

func chunk(c parquet.ColumnChunk, rows int) ([]parquet.Value, error) {
	pages := c.Pages()
	defer pages.Close()
	out := make([]parquet.Value, 0, rows)
	for len(out) < rows {
		page, err := pages.ReadPage()
		if err != nil {
			return nil, err
		}
		values := make([]parquet.Value, page.NumValues())
		if n, err := page.Values().ReadValues(values); n != len(values) {
			return nil, fmt.Errorf("%d of %d values: %w", n, len(values), err)
		}
		for _, v := range values {
			out = append(out, v.Clone())
		}
	}
	return out, nil
}

func seriesOf(c flightdata.ClipColumn, cells map[string][]parquet.Value) (*flightdata.Series, error) {
	s := &flightdata.Series{}
	for i, v := range cells[string(c.Parameter)] {
		if v.IsNull() {
			continue
		}
		s.Times = append(s.Times, span.Instant(cells[flightdata.ClipTime][i].Int64()))
		value := v.Double()
		if c.Kind == flightdata.Discrete {
			var err error
			if value, err = c.Value(string(v.ByteArray())); err != nil {
				return nil, err
			}
		}
		s.Values = append(s.Values, value)
		if c.Masked {
			s.Masks = append(s.Masks, flightdata.Mask(cells[string(c.Parameter)+flightdata.ClipMaskSuffix][i].Int32()))
		}
	}
	return s, nil
}

// sameRecording compares all of two recordings: lists by their elements, NaN
// equal to NaN, and no masks equal to masks that are all good.
var sameRecording = cmp.Options{
	cmp.AllowUnexported(unit.Unit{}), cmpopts.EquateNaNs(), cmpopts.EquateEmpty(),
	cmpopts.AcyclicTransformer("masks", func(s *flightdata.Series) flightdata.Series {
		out := *s
		if out.MaskCounts()[flightdata.Good] == out.Len() {
			out.Masks = nil
		}
		return out
	}),
}

func TestClipGivesTheRecordingBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecording(t)
		windows := drawWindows(t)
		var b bytes.Buffer
		if err := WriteClip(&b, r, windows); err != nil {
			t.Fatal(err)
		}
		got, _, err := readClip(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		want := r.Clip(windows)
		want.Source.Path = path.Base(want.Source.Path)
		if diff := cmp.Diff(want, got, sameRecording); diff != "" {
			t.Fatalf("-clip +read:\n%s", diff)
		}
		var again bytes.Buffer
		if err := WriteClip(&again, got, windows); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Fatal("the clip of a clip, in the same windows, has other bytes")
		}
	})
}

// drawWindows draws up to three windows, some beyond the recording.
func drawWindows(t *rapid.T) span.Set {
	edge := rapid.Int64Range(-5e9, 40e9)
	var set span.Set
	for range rapid.IntRange(0, 3).Draw(t, "windows") {
		set = set.Or(span.Of(span.Span{From: span.Instant(edge.Draw(t, "from")), To: span.Instant(edge.Draw(t, "to"))}))
	}
	return set
}

func drawRecording(t *rapid.T) *flightdata.Recording {
	text := rapid.StringN(0, 8, -1)
	r := &flightdata.Recording{
		Source: flightdata.Source{
			Path: "night/" + rapid.StringMatching(`[a-zA-Z0-9_]{1,9}\.csv`).Draw(t, "path"), SHA256: strings.Repeat("0f", 32),
			Bytes: rapid.Int64().Draw(t, "bytes"), Format: "CSV", Rows: 3, Columns: 9, Used: 2,
		},
		Identity:    flightdata.Identity{Tail: text.Draw(t, "tail"), Flight: text.Draw(t, "flight"), Date: "2031-03-07"},
		ClockOrigin: rapid.Int64().Draw(t, "origin"), Clock: "seconds",
		Span:   span.Span{From: 0, To: sec(32)},
		Series: map[flightdata.Parameter]*flightdata.Series{}, Life: map[flightdata.Parameter]flightdata.Life{},
	}
	if rapid.Bool().Draw(t, "dated") {
		r.Start = time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "start"), rapid.Int64Range(0, 999999999).Draw(t, "ns")).UTC()
	}
	if rapid.Bool().Draw(t, "planned") {
		r.Plan = &flightdata.Plan{Line: 3, List: "night list.csv", Entry: "5e1f", V1: ptr(rapid.Float64().Draw(t, "v1"))}
	}
	for range rapid.IntRange(0, 2).Draw(t, "notes") {
		r.Notes = append(r.Notes, flightdata.Note{Place: text.Draw(t, "place"), Text: text.Draw(t, "note")})
	}
	for _, p := range []flightdata.Parameter{flightdata.GroundSpeed, "n1.1", "n1.2", flightdata.ParkingBrake, "own <one>"} {
		if rapid.Bool().Draw(t, string(p)) {
			s := drawSeries(t, p)
			r.Series[p], r.Life[p] = s, flightdata.Observe(s)
		}
	}
	r.Life["never recorded"] = flightdata.Life{Lo: math.Inf(1), Hi: nan}
	return r
}

// drawSeries draws a series of either kind with its own rate, doubled times,
// masks, and values that only a mask can excuse.
func drawSeries(t *rapid.T, p flightdata.Parameter) *flightdata.Series {
	s := &flightdata.Series{
		Parameter: p, Unit: unit.Must(rapid.SampledFrom([]string{"kt", "%", "rad", ""}).Draw(t, "unit")),
		Period: time.Duration(rapid.Int64Range(0, 4e9).Draw(t, "period")), Circular: rapid.Bool().Draw(t, "circular"),
		Origin: flightdata.Origin{Names: []string{rapid.StringN(0, 5, -1).Draw(t, "name")}, Unit: "km/h"},
	}
	value := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{nan, math.Inf(-1), math.Copysign(0, -1), 0.1}))
	if p == flightdata.ParkingBrake {
		s.Kind, s.Unit, s.States = flightdata.Discrete, unit.Unit{}, []string{"released", "set", "", "?NaN", "set"}
		value = rapid.SampledFrom([]float64{0, 1, 2, 3, 4, nan, -1, 1.5, 7})
	}
	masked := rapid.Bool().Draw(t, "masked")
	at := span.Instant(rapid.Int64Range(0, 1e9).Draw(t, "phase"))
	for range rapid.IntRange(0, 30).Draw(t, "samples") {
		s.Times, s.Values = append(s.Times, at), append(s.Values, value.Draw(t, "value"))
		if masked {
			s.Masks = append(s.Masks, flightdata.Mask(rapid.IntRange(0, flightdata.Masks-1).Draw(t, "mask")))
		}
		at += span.Instant(rapid.SampledFrom([]int64{0, 62500000, 250000000, 1e9}).Draw(t, "step"))
	}
	return s
}

func TestClipLayout(t *testing.T) {
	var b bytes.Buffer
	a := testAssessment()
	if err := WriteAssessedClip(&b, a, versions); err != nil {
		t.Fatal(err)
	}
	f, err := parquet.OpenFile(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	meta, _ := f.Lookup(flightdata.ClipKey)
	golden(t, "clip.golden.txt", f.Schema().String()+"\ncreated by "+f.Metadata().CreatedBy+"\n"+strings.ReplaceAll(meta, ",\"", ",\n\"")+"\n")
	if f.Schema().Fields()[0].Name() != flightdata.ClipTime {
		t.Error("time is not the first column")
	}
}

// The same assessment gives the same bytes, whichever folder the recording
// and the flight list lay in.
func TestClipBytesAreFixed(t *testing.T) {
	var one, two bytes.Buffer
	a, b := testAssessment(), testAssessment()
	b.Recording.Source.Path = `D:\night\` + path.Base(a.Recording.Source.Path)
	b.Recording.Plan.List = "/elsewhere/night.csv"
	for _, err := range []error{WriteAssessedClip(&one, a, versions), WriteAssessedClip(&two, b, versions)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(one.Bytes(), two.Bytes()) {
		t.Error("the bytes differ")
	}
}

func TestClipOfClipClaimsNoMore(t *testing.T) {
	r := testRecording().Clip(span.Of(span.Span{From: sec(10), To: sec(20)}))
	var b bytes.Buffer
	if err := WriteClip(&b, r, span.Of(span.Span{From: sec(15), To: sec(40)})); err != nil {
		t.Fatal(err)
	}
	got, _, err := readClip(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if want := span.Of(span.Span{From: sec(15), To: sec(20)}); !cmp.Equal(want, got.Windows) {
		t.Errorf("windows %v, want %v", got.Windows, want)
	}
}

func TestClipRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		add  flightdata.Parameter
		back bool
		want string
	}{
		"a parameter named time": {add: "time", want: "rename the parameter in the profile"},
		"a name taken by a mask": {add: "flap_lever.mask", want: "rename the parameter in the profile"},
		"times that fall back":   {add: "pitch", back: true, want: "sample times fall back from 59.000000000 s to 2.000000000 s"},
	} {
		t.Run(name, func(t *testing.T) {
			r := testRecording()
			s := ramp(c.add, "deg", "X", 1, 60, 0, 1)
			if c.back {
				s.Times[60] = sec(2)
			}
			r.Series[c.add] = s
			err := WriteClip(&bytes.Buffer{}, r, r.Windows)
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), string(c.add)) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
}

func TestWriteClipCSV(t *testing.T) {
	asm := testAssessment()
	r := asm.Recording
	r.Series["own"] = ramp("own", "", "X", 7, 60, -1, -2)
	brake := r.Series["parking_brake"]
	brake.States = []string{"=cmd()", "set"}
	brake.Values[9], brake.Values[10] = 1, nan
	windows := span.Of(span.Span{From: sec(7), To: sec(11)}, span.Span{From: sec(30), To: sec(32)})
	var b bytes.Buffer
	if err := WriteClipCSV(&b, r, windows); err != nil {
		t.Fatal(err)
	}
	golden(t, "clip.golden.csv", b.String())
}

// Damaged metadata is refused with the place, never half taken.
func TestParseClipMetaRefuses(t *testing.T) {
	good, err := testRecording().ClipMeta().MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := flightdata.ParseClipMeta(good); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ from, to, want string }{
		"another layout":    {`"schema":1`, `"schema":2`, "layout 2 of the clip is not known here"},
		"an unknown key":    {`"clock":`, `"clokc":`, "unknown field"},
		"an unknown unit":   {`"unit":"kt"`, `"unit":"furlong"`, `column ground_speed: unknown unit "furlong"`},
		"an unknown kind":   {`"kind":"discrete"`, `"kind":"secret"`, `column parking_brake: unknown kind "secret"`},
		"other masks":       {`"masks":["good"`, `"masks":["bad"`, "masks of the clip"},
		"a start of no day": {`"start_utc":"2031`, `"start_utc":"20x1`, "start_utc"},
		"a column twice":    {`{"parameter":"flap_lever","kind"`, `{"parameter":"ground_speed","kind"`, "described twice"},
		"a negative period": {`"period_ns":5`, `"period_ns":-5`, "is negative"},
		"half of it":        {`"columns":`, ``, "rollonset.clip"},
	} {
		text := strings.Replace(string(good), c.from, c.to, 1)
		if text == string(good) {
			t.Fatalf("%s: nothing to spoil", name)
		}
		if _, err := flightdata.ParseClipMeta([]byte(text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
	}
	c := flightdata.ClipColumn{Parameter: "parking_brake", States: []string{"released", "set"}}
	for _, word := range []string{"SET", "", "?", "1"} {
		if v, err := c.Value(word); err == nil || !strings.Contains(err.Error(), "none of its states (released, set)") {
			t.Errorf("%q is %v, error %v", word, v, err)
		}
	}
}

// The types of the columns carry no more than the layout promises, or a
// reader that looks at logical types would take masks for something else.
func TestClipColumnTypes(t *testing.T) {
	var b bytes.Buffer
	if err := WriteAssessedClip(&b, testAssessment(), versions); err != nil {
		t.Fatal(err)
	}
	f, err := parquet.OpenFile(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range f.Metadata().Schema[1:] {
		got = append(got, fmt.Sprint(e.Name, " ", e.Type.V, " ", e.LogicalType.Value != nil, " ", e.ConvertedType.Valid))
	}
	want := []string{
		"time INT64 false false", "flap_lever DOUBLE false false", "flap_lever.mask INT32 false false",
		"ground_speed DOUBLE false false", "parking_brake BYTE_ARRAY true true",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
