package detect_test

import (
	"maps"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// eachCase runs a law over every case of every room.
func eachCase(t *testing.T, law func(*testing.T, *casefile.Case, *flightdata.Recording, *profile.Profile)) {
	t.Helper()
	for _, pattern := range []string{"testdata/*.txt", "takeoff/testdata/*.txt", "configuration/testdata/*.txt", "reject/testdata/*.txt"} {
		casefile.Each(t, pattern, os.ReadFile, func(t *testing.T, c *casefile.Case) {
			rec, prof := c.Build(t, os.ReadFile)
			law(t, c, rec, prof)
		})
	}
}

// told is what an assessment tells, without the recording behind it.
type told struct {
	Attempts   []detect.Attempt
	LookAlikes []takeoff.LookAlike
	Coverage   []detect.Coverage
}

func tell(a *detect.Assessment) told { return told{a.Attempts, a.LookAlikes, a.Coverage} }

// same prints how two tellings differ, "" when they do not. NaN equals NaN:
// both say that a figure cannot be told.
func same(want, got told) string {
	return cmp.Diff(want, got, cmpopts.EquateNaNs())
}

// TestClipGivesTheSame is the promise that a clip is a recording: cut to its
// windows, it gives every instant, finding and measure again to the last bit.
func TestClipGivesTheSame(t *testing.T) {
	eachCase(t, func(t *testing.T, _ *casefile.Case, rec *flightdata.Recording, prof *profile.Profile) {
		whole := detect.Assess(rec, prof)
		if diff := same(tell(whole), tell(detect.Assess(rec.Clip(whole.Windows), prof))); diff != "" {
			t.Errorf("the clip of %v tells something else (-whole +clip):\n%s", whole.Windows, diff)
		}
	})
}

// amid puts the recording into the middle of a long quiet one, so that its
// clip leaves most of it out.
func amid(rec *flightdata.Recording, d time.Duration) *flightdata.Recording {
	out := longer(later(rec, d), d)
	out.Span.From = rec.Span.From
	out.Windows = span.Of(out.Span)
	for p, s := range out.Series {
		more := *s
		if s.Len() == 0 || s.Times[0].Sub(rec.Span.From.Add(d)) > s.Period {
			continue
		}
		var times []span.Instant
		for at := s.Times[0].Add(-s.Period); at >= rec.Span.From; at = at.Add(-s.Period) {
			times = append(times, at)
		}
		slices.Reverse(times)
		more.Times = append(times, s.Times...)
		more.Values = append(slices.Repeat([]float64{s.Values[0]}, len(times)), s.Values...)
		if s.Masks != nil {
			more.Masks = append(slices.Repeat([]flightdata.Mask{s.Masks[0]}, len(times)), s.Masks...)
		}
		out.Series[p] = &more
	}
	return out
}

// TestClipOfALongRecording is the same promise where the clip is short against
// the recording; and what is quiet before and after changes no finding.
func TestClipOfALongRecording(t *testing.T) {
	eachCase(t, func(t *testing.T, c *casefile.Case, rec *flightdata.Recording, prof *profile.Profile) {
		long := amid(rec, 20*time.Minute)
		whole := detect.Assess(long, prof)
		if diff := same(tell(whole), tell(detect.Assess(long.Clip(whole.Windows), prof))); diff != "" {
			t.Errorf("the clip of %v tells something else (-whole +clip):\n%s", whole.Windows, diff)
		}
		if strings.Contains(c.Name, "data end") {
			return // longer, the thrust stays on, on the ground, for as long as it goes
		}
		if got, most := whole.Windows.Length(), long.Span.Length()/2; got > most {
			t.Errorf("the clip holds %v of %v", got, long.Span.Length())
		}
	})
}

// TestAssessIsDeterministic builds the maps of a recording anew for each run,
// so that their order changes.
func TestAssessIsDeterministic(t *testing.T) {
	eachCase(t, func(t *testing.T, _ *casefile.Case, rec *flightdata.Recording, prof *profile.Profile) {
		first := detect.Assess(rec, prof)
		for range 3 {
			other := *rec
			other.Series, other.Life = maps.Clone(rec.Series), maps.Clone(rec.Life)
			again := detect.Assess(&other, prof)
			if diff := same(tell(first), tell(again)); diff != "" {
				t.Fatalf("a second run tells something else:\n%s", diff)
			}
			if diff := cmp.Diff(first.Notes, again.Notes); diff != "" {
				t.Fatalf("a second run notes something else:\n%s", diff)
			}
		}
	})
}

// later is the recording with every instant d later.
func later(rec *flightdata.Recording, d time.Duration) *flightdata.Recording {
	out := *rec
	out.Span = span.Span{From: rec.Span.From.Add(d), To: rec.Span.To.Add(d)}
	out.Windows = span.Of(out.Span)
	out.Series = map[flightdata.Parameter]*flightdata.Series{}
	for p, s := range rec.Series {
		moved := *s
		moved.Times = make([]span.Instant, len(s.Times))
		for i, at := range s.Times {
			moved.Times[i] = at.Add(d)
		}
		out.Series[p] = &moved
	}
	return &out
}

// back moves every instant of an assessment's telling by d, and empties the
// sentences that print instants.
func back(v reflect.Value, d time.Duration) {
	switch x := v.Addr().Interface().(type) {
	case *span.Moment:
		*x = x.Later(d)
		return
	case *span.Instant:
		*x = x.Add(d)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).Name == "Why" {
				v.Field(i).SetString("")
				continue
			}
			back(v.Field(i), d)
		}
	case reflect.Slice:
		for i := range v.Len() {
			back(v.Index(i), d)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			back(v.Elem(), d)
		}
	}
}

// TestTimeShift: where the clock starts changes nothing but the instants.
func TestTimeShift(t *testing.T) {
	eachCase(t, func(t *testing.T, _ *casefile.Case, rec *flightdata.Recording, prof *profile.Profile) {
		want := tell(detect.Assess(rec, prof))
		back(reflect.ValueOf(&want).Elem(), 0)
		for _, d := range []time.Duration{1, 1234567891234 * time.Nanosecond} {
			got := tell(detect.Assess(later(rec, d), prof))
			back(reflect.ValueOf(&got).Elem(), -d)
			if diff := same(want, got); diff != "" {
				t.Errorf("%v later (-as it is +moved back):\n%s", d, diff)
			}
		}
	})
}

// longer holds the last value of every series that is alive at the end.
func longer(rec *flightdata.Recording, d time.Duration) *flightdata.Recording {
	out := *rec
	out.Span.To = rec.Span.To.Add(d)
	out.Windows = span.Of(out.Span)
	out.Series, out.Life = map[flightdata.Parameter]*flightdata.Series{}, maps.Clone(rec.Life)
	for p, s := range rec.Series {
		more := *s
		if n := s.Len(); n > 0 && rec.Span.To.Sub(s.Times[n-1]) <= s.Period {
			for at := s.Times[n-1].Add(s.Period); at <= out.Span.To; at = at.Add(s.Period) {
				more.Times, more.Values = append(more.Times, at), append(more.Values, s.Values[n-1])
				if s.Masks != nil {
					more.Masks = append(more.Masks, s.Masks[n-1])
				}
			}
		}
		out.Series[p] = &more
	}
	return &out
}

// TestQuietDataAfterTheEnd: five more minutes in which nothing happens change
// no attempt, except those that the end of the data had cut off.
func TestQuietDataAfterTheEnd(t *testing.T) {
	eachCase(t, func(t *testing.T, c *casefile.Case, rec *flightdata.Recording, prof *profile.Profile) {
		if strings.Contains(c.Name, "data end") {
			t.Skip("the case is about the end of the data")
		}
		want := tell(detect.Assess(rec, prof))
		got := tell(detect.Assess(longer(rec, 300*time.Second), prof))
		// A look-alike under thrust that is still on lasts as long as the data.
		for _, x := range []told{want, got} {
			for i := range x.LookAlikes {
				if x.LookAlikes[i].Span.To >= rec.Span.To {
					x.LookAlikes[i].Span.To, x.LookAlikes[i].Why = math.MaxInt64, ""
				}
			}
		}
		if diff := same(want, got); diff != "" {
			t.Errorf("five quiet minutes change it (-before +after):\n%s", diff)
		}
	})
}
