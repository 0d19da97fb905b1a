package page_test

import (
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"rollonset/report/trend"
)

// TestTinyGroupsDoNotLead: one event in three takeoffs is the highest rate of
// all runways. It is no evidence: the runway where the rate rose leads, the
// tiny one comes after all on which an event was due, and its figure, far
// beyond the picture, stands at the edge.
func TestTinyGroupsDoNotLead(t *testing.T) {
	f := trendFleet{planted: true, months: 22, perDay: 60}
	rows := func(yield func(trend.Row, error) bool) {
		for n := range 3 {
			row := trend.Row{
				Date: time.Date(2032, 8, 1+n, 0, 0, 0, 0, time.UTC), Kind: trend.CheckKind, Check: "flaps", Type: "QX40", Tail: "ZZ-Q00",
				Aerodrome: "ZZT", Runway: "01", Told: true, Life: true, Value: math.NaN(), Event: n == 0, Severity: "high",
			}
			if !yield(row, nil) {
				return
			}
		}
		f.rows(yield)
	}
	tr, err := trend.Build(rows, trend.Options{})
	if err != nil {
		t.Fatal(err)
	}
	source := trendPage(t, tr)
	_, after, ok := strings.Cut(source, `id="s1-runway"`)
	picture, _, _ := strings.Cut(after, "</svg>")
	if !ok {
		t.Fatal("no picture of the runways of flaps")
	}
	var order []string
	for _, m := range regexp.MustCompile(`(ZZ[A-Z] \d\d) \((\d+/\d+)\)</text>`).FindAllStringSubmatch(picture, -1) {
		order = append(order, m[1])
	}
	if len(order) != 7 || order[0] != "ZZC 27" || order[6] != "ZZT 01" {
		t.Errorf("runways in the order %q, want ZZC 27 first of 7 and ZZT 01 last", order)
	}
	if !strings.Contains(picture, "ZZT 01 (1/3)") || !strings.Contains(picture, ">333</text>") {
		t.Error("what lies beyond the picture is not marked with its figure, or its takeoffs are not said")
	}
}

// TestQuietMarginsAreFolded: of a series with a drift the types without one
// are folded away below it; a series without any is folded as a whole.
func TestQuietMarginsAreFolded(t *testing.T) {
	source := trendPage(t, plantedTrends(t))
	_, trim, _ := strings.Cut(source, `<summary>Margins of ordinary takeoffs</summary>`)
	drift, folded := strings.Index(trim, "The median shrinks by"), strings.Index(trim, "<summary>Without a drift beyond chance, or not tested: QX40</summary>")
	if drift < 0 || folded < drift {
		t.Errorf("the drift stands at %d, the quiet type is folded at %d", drift, folded)
	}
	quiet := trendPage(t, trendsOf(t, trendFleet{months: 22, perDay: 40}))
	if !strings.Contains(quiet, `<details class="trend-part"><summary>Margins of ordinary takeoffs: nothing moves beyond chance</summary>`) {
		t.Error("margins without anything to say are not folded, or do not say so")
	}
}
