package span_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	. "rollonset/ingest/span"
)

func drawMoment(t *rapid.T, name string) Moment {
	if rapid.IntRange(0, 9).Draw(t, name+" unknown") == 0 {
		return Moment{}
	}
	edge := rapid.Int64Range(-20, 20)
	return Within(Instant(edge.Draw(t, name+" at")), Instant(edge.Draw(t, name+" earliest")), Instant(edge.Draw(t, name+" latest")))
}

func TestMomentLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawMoment(t, "a"), drawMoment(t, "b")
		if a.Known && (a.Earliest > a.At || a.Latest < a.At || a.Width() < 0) {
			t.Fatalf("%+v lies outside its own bracket", a)
		}
		mirror := map[Order]Order{Before: After, After: Before, NotResolvable: NotResolvable}
		if Compare(b, a) != mirror[Compare(a, b)] {
			t.Fatalf("Compare(%+v, %+v) = %v, the other way round %v", a, b, Compare(a, b), Compare(b, a))
		}
		// An order is claimed exactly when every pair of instants bears it out.
		if a.Known && b.Known {
			want := Order(-1)
			for x := a.Earliest; x <= a.Latest; x++ {
				for y := b.Earliest; y <= b.Latest; y++ {
					switch o := order(x, y); {
					case want < 0:
						want = o
					case want != o:
						want = NotResolvable
					}
				}
			}
			if got := Compare(a, b); got != want {
				t.Fatalf("Compare(%+v, %+v) = %v, pair by pair %v", a, b, got, want)
			}
		} else if Compare(a, b) != NotResolvable {
			t.Fatalf("an unknown moment has an order: %v", Compare(a, b))
		}
		d := time.Duration(rapid.Int64Range(-50, 50).Draw(t, "d"))
		if a.Later(d).Later(-d) != a || a.Later(d).Width() != a.Width() || a.Later(d).Known != a.Known {
			t.Fatalf("%+v moved by %d and back is %+v", a, d, a.Later(d).Later(-d))
		}
		if Compare(a.Later(d), b.Later(d)) != Compare(a, b) {
			t.Fatalf("moving both by %d changed their order", d)
		}
	})
}

func order(x, y Instant) Order {
	switch {
	case x < y:
		return Before
	case x > y:
		return After
	}
	return NotResolvable
}

func TestMoment(t *testing.T) {
	if m := Exactly(7); m.Width() != 0 || !m.Known || m.At != 7 {
		t.Errorf("Exactly(7) = %+v", m)
	}
	if m := Within(5, 6, 8); m.Earliest != 5 || m.Latest != 8 {
		t.Errorf("a best value before its bracket widens it: %+v", m)
	}
	if m := Within(9, 6, 8); m.Earliest != 6 || m.Latest != 9 {
		t.Errorf("a best value after its bracket widens it: %+v", m)
	}
	// Brackets that share one instant leave it open which came first.
	if got := Compare(Within(1, 0, 2), Within(3, 2, 4)); got != NotResolvable {
		t.Errorf("brackets that touch: %v, want not resolvable", got)
	}
	if got := Compare(Within(1, 0, 2), Within(3, 3, 4)); got != Before {
		t.Errorf("brackets apart: %v, want before", got)
	}
	if got := Compare(Exactly(3), Exactly(3)); got != NotResolvable {
		t.Errorf("the same instant: %v, want not resolvable", got)
	}
}
