package flightdata_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	. "rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
)

// drawRecording gives a recording of a few series whose span holds them.
func drawRecording(t *rapid.T) *Recording {
	r := &Recording{Series: map[Parameter]*Series{}, Life: map[Parameter]Life{}, Span: span.Span{From: 0, To: 100}}
	for _, p := range []Parameter{GroundSpeed, ParkingBrake, Heading} {
		if rapid.Bool().Draw(t, "has "+string(p)) {
			r.Series[p] = drawSeries(t)
			r.Life[p] = Observe(r.Series[p])
		}
	}
	r.Windows = span.Of(span.Span{From: 0, To: 101})
	return r
}

func TestClipKeepsExactlyTheWindows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecording(t)
		edge := rapid.Int64Range(-10, 120)
		var spans []span.Span
		for range rapid.IntRange(0, 4).Draw(t, "windows") {
			spans = append(spans, span.Span{From: span.Instant(edge.Draw(t, "from")), To: span.Instant(edge.Draw(t, "to"))})
		}
		windows := span.Of(spans...)
		c := r.Clip(windows)
		if !c.IsClip || r.IsClip {
			t.Fatalf("the clip says %v of itself, the original %v", c.IsClip, r.IsClip)
		}
		for _, w := range c.Windows {
			if w.From < r.Span.From || w.To > r.Span.To+1 {
				t.Fatalf("window %v reaches out of the recording %v", w, r.Span)
			}
		}
		for _, p := range r.Parameters() {
			s, cut := r.Series[p], c.Get(p)
			want, got := []Point{}, []Point{}
			var masks []Mask
			for i, at := range s.Times {
				if windows.Holds(at) {
					want = append(want, Point{At: at, Value: s.Values[i]})
					if s.Masks != nil {
						masks = append(masks, s.Masks[i])
					}
				}
			}
			for i, at := range cut.Times {
				got = append(got, Point{At: at, Value: cut.Values[i]})
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatalf("%s in %v:\n%s", p, windows, diff)
			}
			if !slices.Equal(masks, cut.Masks) || cut.Period != s.Period {
				t.Fatalf("%s in %v: %+v", p, windows, cut)
			}
		}
		// Proof of life stays that of the whole recording.
		if diff := cmp.Diff(r.Life, c.Life); diff != "" {
			t.Fatalf("life:\n%s", diff)
		}
		// A clip of a clip by the same windows is that clip.
		if diff := cmp.Diff(c.Series, c.Clip(windows).Series, cmpopts.EquateComparable(unit.Unit{})); diff != "" {
			t.Fatalf("cut twice:\n%s", diff)
		}
	})
}

// TestClipHoldsTheLastSample: the span of a recording ends on its last sample,
// which a half-open window would otherwise lose.
func TestClipHoldsTheLastSample(t *testing.T) {
	r := &Recording{Span: span.Span{From: 0, To: 10}, Series: map[Parameter]*Series{
		GroundSpeed: {Times: []span.Instant{0, 10}, Values: []float64{1, 2}},
	}}
	if c := r.Clip(span.Of(span.Span{From: 0, To: 1000})); c.Get(GroundSpeed).Len() != 2 {
		t.Errorf("the clip of everything holds %d of 2 samples", c.Get(GroundSpeed).Len())
	}
}

func TestObserve(t *testing.T) {
	brake := &Series{
		Kind: Discrete, States: []string{"released", "set"}, Times: make([]span.Instant, 3),
		Values: []float64{1, 0, 1}, Masks: []Mask{Good, NotANumber, Good},
	}
	if diff := cmp.Diff(Life{Samples: 2, States: []string{"set"}, Lo: 1, Hi: 1, Masked: [Masks]int{NotANumber: 1}}, Observe(brake)); diff != "" {
		t.Errorf("a state that only a masked sample holds was not seen:\n%s", diff)
	}
	trim := &Series{Times: make([]span.Instant, 4), Values: []float64{900, 4, 3, 5}, Masks: []Mask{OutOfRange, Good, Good, Good}}
	if diff := cmp.Diff(Life{Samples: 3, Lo: 3, Hi: 5, Masked: [Masks]int{OutOfRange: 1}}, Observe(trim)); diff != "" {
		t.Errorf("a masked value is no proof of life:\n%s", diff)
	}
	if diff := cmp.Diff(Life{}, Observe(&Series{})); diff != "" {
		t.Errorf("an empty series shows nothing:\n%s", diff)
	}
}

func TestHas(t *testing.T) {
	r := &Recording{Life: map[Parameter]Life{GroundSpeed: {Samples: 1}, Airspeed: {}}}
	if !r.Has(GroundSpeed) || r.Has(Airspeed) || r.Has(Pitch) {
		t.Error("a parameter is there when it has a good sample")
	}
}

func TestClocks(t *testing.T) {
	r := &Recording{ClockOrigin: 15060_250_000_000}
	if _, ok := r.UTC(0); ok {
		t.Error("a recording without a date knows its UTC")
	}
	r.Start = time.Date(2031, 12, 31, 23, 59, 59, 0, time.UTC)
	if got, ok := r.UTC(span.Sec(1.5)); !ok || got.Format(time.RFC3339Nano) != "2032-01-01T00:00:00.5Z" {
		t.Errorf("a second and a half into the new year: %v", got)
	}
	if got := r.FileClock(span.Sec(0.5)); got != 15060.75 {
		t.Errorf("the file's clock shows %v", got)
	}
}

func TestNoteString(t *testing.T) {
	if got := (Note{Text: "odd"}).String(); got != "odd" {
		t.Error(got)
	}
	if got := (Note{Place: "column GS, row 7", Text: "odd"}).String(); got != "column GS, row 7: odd" {
		t.Error(got)
	}
}
