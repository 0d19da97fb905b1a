package page_test

import (
	"context"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"
)

// column is a script that lists the visible cells of one column of the
// attempt table.
const column = `((n) => [...document.querySelectorAll("#attempts tbody tr")].filter((r) => !r.hidden).map((r) => r.cells[n].textContent))`

func testSortAndFilter(t *testing.T, parent context.Context) {
	b := open(t, parent, night(t, rejectThenTakeoff(), untoldTrim(), hostileNames()), 1280)
	click := func(n int) []string {
		return ask[[]string](b, `(() => { const th = document.querySelectorAll("#attempts thead th"); th[`+string(rune('0'+n))+`].querySelector("button").click(); return [...th].map((h) => h.getAttribute("aria-sort")).filter((s) => s !== "none"); })()`)
	}
	for _, step := range []struct {
		column int
		sorted string
		want   []string
	}{
		{7, "ascending", []string{"15", "15", "157", "157"}},
		{7, "descending", []string{"157", "157", "15", "15"}},
		{0, "ascending", []string{"2031-03-07 04:11:00", "2031-03-07 04:11:00", "2031-03-07 04:17:12", "2031-03-07 04:17:12"}},
		{6, "descending", nil}, // second press below
	} {
		got := click(step.column)
		if step.want == nil {
			got = click(step.column)
			step.want = []string{"rejected", "rejected", "airborne", "airborne"}
		}
		if diff := cmp.Diff([]string{step.sorted}, got); diff != "" {
			t.Errorf("column %d: aria-sort (-want +got):\n%s", step.column, diff)
		}
		if diff := cmp.Diff(step.want, ask[[]string](b, column+`(`+string(rune('0'+step.column))+`)`)); diff != "" {
			t.Errorf("column %d (-want +got):\n%s", step.column, diff)
		}
	}
	ask[bool](b, `document.querySelector("[data-filters]").focus(), true`)
	b.do(chromedp.KeyEvent("zz-q07 REJ"))
	if diff := cmp.Diff([]string{"ZZ-Q07"}, ask[[]string](b, column+`(1)`)); diff != "" {
		t.Errorf("filtered tails (-want +got):\n%s", diff)
	}
	if got := ask[string](b, `document.querySelector("[data-counts]").textContent`); got != "1 of 4 shown" {
		t.Errorf("count says %q", got)
	}
}

// testNarrow: on a phone nothing but the tables and pictures scrolls
// sideways, each in its own box.
func testNarrow(t *testing.T, parent context.Context) {
	for name, source := range map[string]string{
		"flight": flight(t, rejectThenTakeoff(), fixtureClip(8)), "hostile flight": flight(t, hostileNames(), fixtureClip(1)),
		"night": night(t, rejectThenTakeoff(), untoldTrim()), "hostile night": night(t, hostileNames()),
	} {
		b := open(t, parent, source, 360)
		if w := ask[int](b, `document.documentElement.scrollWidth`); w > 360 {
			t.Errorf("%s page is %d px wide on a screen of 360", name, w)
		}
		if hidden := ask[bool](b, `[...document.querySelectorAll("figure:not([hidden])")].some((f) => { const c = f.querySelector(".cursor").getBoundingClientRect(), box = f.querySelector(".scroll").getBoundingClientRect(); return c.left < box.left || c.right > box.right; })`); hidden {
			t.Errorf("%s page starts with its cursor out of sight", name)
		}
		if cut := ask[[]string](b, `[...document.querySelectorAll("figure:not([hidden])")].flatMap((f) => { const box = f.querySelector(".scroll").getBoundingClientRect(); return [...f.querySelectorAll(".rule-label")].filter((l) => { const r = l.getBoundingClientRect(); return r.left < box.right && r.right > box.right; }).map((l) => l.textContent); })`); len(cut) > 0 && name != "hostile flight" { // a name of its is wider than the screen
			t.Errorf("%s page cuts the names of instants: %q", name, cut)
		}
		if silent := ask[bool](b, `[...document.querySelectorAll("figure:not([hidden])")].some((f) => f.querySelector(".scroll").scrollWidth > 360 && !f.querySelector(".sideways").checkVisibility())`); silent {
			t.Errorf("%s page has a picture that goes on beyond the screen and does not say so", name)
		}
		if n := ask[int](b, `[...document.scripts].filter((s) => s.textContent.includes("alert") && s.type !== "application/json").length`); n != 0 {
			t.Errorf("%s page runs %d scripts of its data", name, n)
		}
	}
}
