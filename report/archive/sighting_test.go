package archive

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollonset/detect/takeoff"
)

// day is an instant of 2031-03-07 in microseconds.
func day(seconds float64) float64 { return 1930608000e6 + seconds*1e6 }

// sighted is a whole takeoff that begins 400 s into a recording of 900 s.
func sighted(recording string, start float64) Sighting {
	nan := math.NaN()
	return Sighting{
		ID: recording + "-1", Folder: "flights/2031/03/07/" + recording, File: recording + ".csv", Recording: recording, Number: 1, Tail: "ZZ-Q01",
		Outcome: string(takeoff.Airborne), Start: day(start), Duration: 900,
		Advance: 400, Onset: 401, Roll: 399, Rotation: 425, LiftOff: 430, Cut: nan, Stop: nan, Bracket: 1, Peak: 141.25, Told: 5, CutSpeed: nan, Reaction: nan,
	}
}

// cutAt leaves of a takeoff what lies before a second of its recording.
func cutAt(s Sighting, at float64) Sighting {
	keep := func(v float64) float64 {
		if v > at {
			return math.NaN()
		}
		return v
	}
	s.Outcome, s.Duration = string(takeoff.Undetermined), at
	s.Rotation, s.LiftOff = keep(s.Rotation), keep(s.LiftOff)
	return s
}

// cutFrom leaves what lies after it, as detection finds it: the thrust is up
// and the aircraft rolls when the recording begins.
func cutFrom(s Sighting, at float64) Sighting {
	s.Start += at * 1e6
	s.Duration -= at
	s.Advance, s.Onset, s.Roll, s.Rotation, s.LiftOff = 0.1, 1.1, 0, s.Rotation-at, s.LiftOff-at
	return s
}

func spansOf(all []Sighting) []RecordingSpan {
	var out []RecordingSpan
	for _, s := range all {
		out = append(out, RecordingSpan{Next: Next{Folder: s.Folder, File: s.File, Recording: s.Recording}, Tail: s.Tail, Start: s.Start, Duration: s.Duration})
	}
	return out
}

func TestSeenTwice(t *testing.T) {
	whole := sighted("a", 0)
	other := func(change func(*Sighting)) Sighting {
		s := sighted("b", 0)
		change(&s)
		return s
	}
	nothing := [][]string(nil)
	for _, c := range []struct {
		name string
		all  []Sighting
		want [][]string // the IDs of each attempt, the one that counts first
		end  string     // the sighting that tells the end, "" for the first
	}{
		{"one recording", []Sighting{whole}, nothing, ""},
		{"exported twice, one begins 100 s later", []Sighting{whole, other(func(s *Sighting) {
			s.Start, s.Advance, s.Onset, s.Roll, s.Rotation, s.LiftOff = day(100), 300, 301, 299, 325, 330
		})}, [][]string{{"a-1", "b-1"}}, ""},
		{"more checks told", []Sighting{whole, other(func(s *Sighting) { s.Told++ })}, [][]string{{"b-1", "a-1"}}, ""},
		{"a narrower bracket", []Sighting{whole, other(func(s *Sighting) { s.Bracket = 0.5 })}, [][]string{{"b-1", "a-1"}}, ""},
		{"another aircraft", []Sighting{whole, other(func(s *Sighting) { s.Tail = "ZZ-Q02" })}, nothing, ""},
		{"the next takeoff", []Sighting{whole, other(func(s *Sighting) { s.Start = day(600) })}, nothing, ""},
		{"another takeoff of that time by a wrong clock", []Sighting{whole, other(func(s *Sighting) { s.Start = day(10) })}, nothing, ""},
		{"another takeoff of that very onset", []Sighting{whole, other(func(s *Sighting) { s.LiftOff = 440 })}, nothing, ""},
		{"two attempts of one recording", []Sighting{whole, other(func(s *Sighting) { s.Recording, s.ID, s.Number = "a", "a-2", 2 })}, nothing, ""},
		{"cut in the roll", []Sighting{cutAt(whole, 410), cutFrom(sighted("b", 0), 410)}, [][]string{{"a-1", "b-1"}}, "b-1"},
		{"cut with a minute lost is told apart", []Sighting{cutAt(whole, 410), other(func(s *Sighting) { *s = cutFrom(*s, 410); s.Start += 61e6 })}, nothing, ""},
		{"cut with an overlap", []Sighting{cutAt(whole, 415), cutFrom(sighted("b", 0), 405)}, [][]string{{"a-1", "b-1"}}, "b-1"},
		{"cut, and whole in a third", []Sighting{cutAt(whole, 410), cutFrom(sighted("b", 0), 410), sighted("c", 0)}, [][]string{{"c-1", "a-1", "b-1"}}, ""},
		{"without a tail, the same figures", []Sighting{whole, other(func(s *Sighting) { s.Tail = "" })}, [][]string{{"a-1", "b-1"}}, ""},
		{"without a tail, other figures", []Sighting{whole, other(func(s *Sighting) { s.Tail, s.Peak = "", 141.5 })}, nothing, ""},
		{"without a date, the same figures", []Sighting{whole, other(func(s *Sighting) { s.Start = math.NaN() })}, [][]string{{"a-1", "b-1"}}, ""},
		{"with neither", []Sighting{whole, other(func(s *Sighting) { s.Tail, s.Start = "", math.NaN() })}, nothing, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got [][]string
			for _, s := range SeenTwice(c.all, nil) {
				var ids []string
				for _, m := range s.Sightings {
					ids = append(ids, m.ID)
				}
				got = append(got, ids)
				if end := s.Sightings[s.End].ID; c.end != "" && end != c.end || c.end == "" && s.End != 0 {
					t.Errorf("its end is told by %s", end)
				}
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// An attempt that breaks off is not told by a recording that begins in the air,
// but that one is named.
func TestGoesOn(t *testing.T) {
	a := cutAt(sighted("a", 0), 429)
	spans := append(
		spansOf([]Sighting{a}),
		RecordingSpan{Next{"f", "b.csv", "b"}, "ZZ-Q01", day(429.5), 600},
		RecordingSpan{Next{"g", "c.csv", "c"}, "ZZ-Q01", day(500), 600},   // too late
		RecordingSpan{Next{"h", "d.csv", "d"}, "ZZ-Q02", day(429.5), 600}, // another aircraft
	)
	seen := SeenTwice([]Sighting{a}, spans)
	if len(seen) != 1 || !cmp.Equal(seen[0].GoesOn, []Next{{"f", "b.csv", "b"}}) {
		t.Errorf("%+v", seen)
	}
}

// Whatever the order, the same attempts are found, each sighting in one of
// them at most and each counted once.
func TestSeenTwiceWhateverTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []Sighting
		for i := range rapid.IntRange(1, 12).Draw(t, "recordings") {
			s := sighted(string(rune('a'+i)), 300*float64(rapid.IntRange(0, 4).Draw(t, "start")))
			s.Tail = rapid.SampledFrom([]string{"ZZ-Q01", "ZZ-Q02", ""}).Draw(t, "tail")
			s.Told = rapid.IntRange(0, 3).Draw(t, "told")
			switch at := rapid.Float64Range(402, 428).Draw(t, "cut"); rapid.IntRange(0, 3).Draw(t, "shape") {
			case 0:
				s = cutAt(s, at)
			case 1:
				s = cutFrom(s, at)
			case 2:
				s.Start = math.NaN()
			}
			all = append(all, s)
		}
		want := SeenTwice(all, spansOf(all))
		shuffled := rapid.Permutation(all).Draw(t, "order")
		got := SeenTwice(shuffled, spansOf(shuffled))
		if diff := cmp.Diff(want, got, equalNaN); diff != "" {
			t.Fatal(diff)
		}
		in := map[string]bool{}
		for _, s := range got {
			recordings := map[string]bool{}
			for _, m := range s.Sightings {
				if in[m.ID] || recordings[m.Recording] {
					t.Fatalf("%s is in two attempts, or two of its recording in one", m.ID)
				}
				in[m.ID], recordings[m.Recording] = true, true
			}
			if !slices.ContainsFunc(s.Sightings[:1], func(m Sighting) bool { return s.Counts(m.ID) }) || s.End >= len(s.Sightings) {
				t.Fatalf("%+v", s)
			}
		}
	})
}

var equalNaN = cmp.Comparer(func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) })
