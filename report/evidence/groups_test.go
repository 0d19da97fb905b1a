package evidence

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"rollonset/report/archive"
)

// TestGroupsLaw: of any flights, a reader who groups by all that is named
// never sees a group of fewer than k flights, Other included, unless the whole
// family is smaller than k.
func TestGroupsLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 7).Draw(t, "k")
		flights := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) archive.Flight {
			n := func(what string, most int) int { return rapid.IntRange(0, most).Draw(t, what) }
			return archive.Flight{
				Date: fmt.Sprintf("2031-%02d-15", n("month", 1)+1), Type: fmt.Sprint("T", n("type", 2)),
				Aerodrome: fmt.Sprint("A", n("aerodrome", 3)), Runway: fmt.Sprint("R", n("runway", 2)), Tail: fmt.Sprint("ZZ-", n("tail", 4)),
			}
		}), 0, 60).Draw(t, "flights")
		var c Census
		for _, f := range flights {
			c.Add(&archive.Summary{Flight: f})
		}
		g := c.Groups(k)
		count := map[string]int{}
		for _, f := range flights {
			n := g.Of(&archive.Summary{Flight: f})
			for _, view := range []string{
				"month " + n.Month, "type " + n.Month + n.Type, "place " + n.Month + n.Type + n.Aerodrome,
				"runway " + n.Month + n.Type + n.Aerodrome + n.Runway, "tail " + n.Month + n.Type + n.Tail,
			} {
				count[view]++
			}
		}
		for view, n := range count {
			if n < k && len(flights) >= k {
				t.Fatalf("a reader sees %d flights with %q; the least is %d", n, view, k)
			}
		}
	})
}

func TestGroupsOf(t *testing.T) {
	var c Census
	add := func(n int, f archive.Flight) {
		for range n {
			c.Add(&archive.Summary{Flight: f})
		}
	}
	add(6, archive.Flight{Date: "2031-03-01", Type: "QX40", Aerodrome: "ZZMA", Runway: "04", Tail: "ZZ-Q01"})
	add(5, archive.Flight{Date: "2031-03-02", Type: "QX40", Aerodrome: "ZZMB", Runway: "22", Tail: "ZZ-Q04"})
	add(7, archive.Flight{Date: "2031-03-02", Type: "TP08"})
	add(5, archive.Flight{Date: "2031-03-02", Type: "TP09"})
	add(2, archive.Flight{Date: "2031-04-02", Type: "TP08", Tail: "ZZ-P01"})
	add(9, archive.Flight{Date: "2031-05-02", Type: "TP08", Tail: "ZZ-P01"})
	g := c.Groups(5)
	for _, k := range []struct {
		f    archive.Flight
		want Named
	}{
		{archive.Flight{Date: "2031-03-30", Type: "QX40", Aerodrome: "ZZMA", Runway: "04", Tail: "ZZ-Q01"}, Named{"2031-03", "QX40", "ZZMA", "04", "ZZ-Q01"}},
		{archive.Flight{Date: "2031-03-30", Type: "QX40", Aerodrome: "ZZMC", Tail: "ZZ-Q09"}, Named{"2031-03", "QX40", Other, "", Other}},
		// April has two flights; May joins it, or April were told by subtraction.
		{archive.Flight{Date: "2031-04-02", Type: "TP08", Tail: "ZZ-P01"}, Named{"", Other, "", "", Other}},
		{archive.Flight{Date: "2031-05-02", Type: "TP08"}, Named{"", Other, "", "", ""}},
		{archive.Flight{Date: "not known", Type: "TP08"}, Named{"", Other, "", "", ""}},
	} {
		if got := g.Of(&archive.Summary{Flight: k.f}); got != k.want {
			t.Errorf("%+v is named %+v, want %+v", k.f, got, k.want)
		}
	}
	if got := (*Groups)(nil).Of(&archive.Summary{Flight: archive.Flight{Date: "2031-03-01", Type: "QX40"}}); got != (Named{Type: Other}) {
		t.Errorf("nothing may be named without a census, got %+v", got)
	}
}
