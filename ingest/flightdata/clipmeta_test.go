package flightdata_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	. "rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// metaOf gives the metadata of a clip with something in every field.
func metaOf() ClipMeta {
	v1 := 121.5
	return ClipMeta{
		Source:   Source{Path: "r.csv", SHA256: "ab", Bytes: 7, Format: "CSV", Rows: 3, Columns: 5, Used: 4},
		Identity: Identity{Tail: "ZZ-A01", Flight: "MA12", Date: "2031-03-07", From: "file name"},
		Start:    time.Date(2031, 3, 7, 4, 11, 0, 5, time.UTC), ClockOrigin: -5, Clock: "seconds",
		Span: span.Span{To: 9e9}, Windows: span.Of(span.Span{To: 3e9}, span.Span{From: 5e9, To: 9e9}),
		Life:    map[Parameter]Life{GroundSpeed: {Samples: 3, Lo: -0.1, Hi: 1e300, Masked: [Masks]int{OutOfRange: 2}}, ParkingBrake: {Samples: 1, States: []string{"set"}}},
		Plan:    &Plan{List: "flights.csv", Line: 4, Entry: "cd", V1: &v1},
		Notes:   []Note{{Place: "column GS", Text: "a <note> & \"quotes\""}},
		Doubted: map[Parameter]string{Pitch: "it stands on its head"},
		Columns: []ClipColumn{
			{Parameter: GroundSpeed, Unit: unit.Must("kt"), Period: time.Second, Origin: Origin{Names: []string{"GS"}, Unit: "m/s"}, Masked: true},
			{Parameter: ParkingBrake, Kind: Discrete, States: []string{"released", "set"}, Period: time.Second, Origin: Origin{Names: []string{"A", "B"}}},
		},
		Profile: ClipProfile{Name: "AB01", Version: "1", SHA256: "ef"}, Detection: "1",
	}
}

// TestClipMetaRoundTrip: what is written is read, and written again the same.
func TestClipMetaRoundTrip(t *testing.T) {
	m := metaOf()
	text, err := m.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	got, err := ParseClipMeta(text)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(m, got, cmpopts.EquateComparable(unit.Unit{})); diff != "" {
		t.Errorf("(-written +read):\n%s", diff)
	}
	again, err := got.MarshalJSON()
	if err != nil || !bytes.Equal(again, text) {
		t.Errorf("written again it is\n%s\nand was\n%s\n%v", again, text, err)
	}
}

// TestWordsAreLossless: any value of a discrete, a state or not, comes back
// from the word that a clip holds for it.
func TestWordsAreLossless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := ClipColumn{Kind: Discrete, States: rapid.SliceOfN(rapid.SampledFrom([]string{"off", "on", "?3", "??3", "?", "3"}), 0, 4).Draw(t, "states")}
		v := rapid.OneOf(rapid.Float64Range(-2, 5), rapid.Map(rapid.IntRange(-2, 5), func(i int) float64 { return float64(i) })).Draw(t, "value")
		if got, err := c.Value(c.Word(v)); err != nil || got != v {
			t.Fatalf("%g of %q is written %q and read %g, %v", v, c.States, c.Word(v), got, err)
		}
	})
}

// FuzzParseClipMeta: metadata come from a file; whatever they hold, they are
// refused or read so that they can be written again.
func FuzzParseClipMeta(f *testing.F) {
	text, err := metaOf().MarshalJSON()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add(text[:len(text)/2])
	f.Add([]byte(`{"schema":1}`))
	f.Add([]byte("null"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ParseClipMeta(data)
		if err != nil {
			return
		}
		first, err := m.MarshalJSON()
		if err != nil {
			t.Fatalf("read and not writable: %v", err)
		}
		again, err := ParseClipMeta(first)
		if err != nil {
			t.Fatalf("own text is refused: %v\n%s", err, first)
		}
		second, err := again.MarshalJSON()
		if err != nil || !bytes.Equal(first, second) {
			t.Fatalf("the text changes when read and written again:\n%s\n%s\n%v", first, second, err)
		}
	})
}
