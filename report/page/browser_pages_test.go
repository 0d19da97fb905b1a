package page_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rollonset/report/archive"
	"rollonset/report/page"
	"rollonset/report/trend"
)

// everyPage is one of each kind, with something in every table.
func everyPage(t *testing.T) map[string]string {
	t.Helper()
	march := monthOf(t, "2031-03")
	report, _ := periodPage(t, trend.Period{From: march, To: march}, nil)
	var brief bytes.Buffer
	if err := page.Brief(&brief, page.BriefOptions{Summary: rejectThenTakeoff(), Attempt: 1, Clip: fixtureClip(8), Levels: options().Levels, Type: "QX40"}); err != nil {
		t.Fatal(err)
	}
	return map[string]string{
		"flight": flight(t, changedInRoll(), fixtureClip(8)), "untold": flight(t, untoldTrim(), nil), "night": night(t, rejectThenTakeoff(), untoldTrim(), changedInRoll()),
		"trends": trendPage(t, plantedTrends(t)), "period": report, "brief": brief.String(),
	}
}

// changedInRoll is a reject whose table of checks is as wide as it gets: a
// rule in words, a stretch with brackets and a worst margin of its own.
func changedInRoll() archive.Summary {
	s := fixtureSummary(rejectedAttempt())
	f := &s.Attempts[0].Findings[0]
	f.InRoll, f.Rule = true, "held until the aircraft rotated or flew; raised one step, more than 1 outside"
	f.Raw, f.Limit, f.WorstMargin, f.MarginShare = "FLAP_HANDLE_POSITION in deg", "5 or 10 or 15 ± 0.5 deg", f64(-12.5), f64(0.5)
	return s
}

func f64(v float64) *float64 { return &v }

// TestEveryPageInBrowser asks the same of every kind of page.
func TestEveryPageInBrowser(t *testing.T) {
	parent := browser(t)
	for name, source := range everyPage(t) {
		t.Run(name, func(t *testing.T) {
			b := open(t, parent, source, 1200)
			testNothingHidden(b, 1200)
			testRealContrast(b)
			testTabReachesAll(b)
			b.do(media("", "light"), chromedp.EmulateViewport(360, 800))
			testNothingHidden(b, 360)
			testLetters(b)
			testHeadsInFront(b)
			testPrint(t, b, name)
		})
	}
}

// scrolling lists the boxes with a table that is wider than they are. Parts
// that open on demand may be: the months of a trend have 16 columns.
const scrolling = `[...document.querySelectorAll(".scroll")].filter((e) => e.checkVisibility() && !e.closest("details") && e.querySelector("table") && e.scrollWidth > e.clientWidth + 1).map((e) => e.getAttribute("aria-label"))`

// testNothingHidden: neither the page nor a table of it has to be moved
// sideways to be read.
func testNothingHidden(b *tab, width int) {
	b.t.Helper()
	if w := ask[int](b, `document.documentElement.scrollWidth`); w > width {
		b.t.Errorf("%d px wide on a screen of %d", w, width)
	}
	if hidden := ask[[]string](b, scrolling); len(hidden) > 0 {
		b.t.Errorf("at %d px there are columns out of sight in %q", width, hidden)
	}
}

// testLetters: on a phone the letters of every picture can be read; those of
// 10.5 px name the states in the bars of the traces.
func testLetters(b *tab) {
	b.t.Helper()
	small := ask[[]string](b, `[...document.querySelectorAll("svg.strips")].filter((s) => s.checkVisibility()).map((s) => [s.id, s.getBoundingClientRect().width / s.viewBox.baseVal.width * 11.5]).filter(([, size]) => size < 11).map(([id, size]) => id + " " + size.toFixed(1))`)
	if len(small) > 0 {
		b.t.Errorf("letters too small on a phone: %q", small)
	}
	// A single word of the brief stands on one line.
	torn := ask[[]string](b, `[...document.querySelectorAll(".brief :is(th, td)")].filter((e) => /^[A-Za-z]+$/.test(e.textContent)).filter((e) => { const r = document.createRange(); r.selectNodeContents(e); const tops = [...r.getClientRects()].map((c) => c.top); return Math.max(...tops) - Math.min(...tops) > 8; }).map((e) => e.textContent)`)
	if len(torn) > 0 {
		b.t.Errorf("words torn apart on a phone: %q", torn)
	}
}

// testHeadsInFront: where rows are blocks, every cell that is shown has its
// head in front, and those of a check that matter are shown.
func testHeadsInFront(b *tab) {
	b.t.Helper()
	bare := ask[[]string](b, `[...document.querySelectorAll(".stack tbody td, .flow tbody td")].filter((td) => td.checkVisibility() && !td.closest("details")).filter((td) => {
		const th = td.closest("table").tHead.rows[0].cells[td.cellIndex], inFront = getComputedStyle(td, "::before").content;
		return inFront !== JSON.stringify(th.textContent.trim());
	}).map((td) => td.textContent)`)
	if len(bare) > 0 {
		b.t.Errorf("cells without their head in front: %q", bare)
	}
	// A date in a text is a part of its line and no line of its own.
	if torn := ask[[]string](b, `[...document.querySelectorAll(".whole")].filter((e) => e.checkVisibility() && getComputedStyle(e).display !== "inline").map((e) => e.parentElement.textContent)`); len(torn) > 0 {
		b.t.Errorf("texts torn apart at a date: %q", torn)
	}
	if n := ask[int](b, `document.querySelectorAll(".k-checks").length`); n > 0 {
		for _, key := range []string{"Verdict", "Value at onset", "Limit"} {
			if !ask[bool](b, `[...document.querySelectorAll(".k-checks tbody tr:first-child td")].some((td) => getComputedStyle(td, "::before").content === '"`+key+`"' && td.checkVisibility() && td.getBoundingClientRect().right <= 360)`) {
				b.t.Errorf("the %s of the first check is not in sight", key)
			}
		}
	}
}

// realContrast lists texts whose contrast with what is behind them is below
// 4.5, success criterion 1.4.3 of WCAG 2.2; texts in pictures lie on the paper.
const realContrast = `(() => {
	const rgb = (s) => { const v = s.match(/[\d.]+/g).map(Number); return v.length > 3 && v[3] === 0 ? null : v.slice(0, 3); };
	const lum = (c) => { const [r, g, b] = c.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
	const behind = (e) => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c) return c; } return [255, 255, 255]; };
	const bad = new Set();
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement;
		if (!walk.currentNode.data.trim() || !e.checkVisibility() || e.closest("script, style, title, desc, .state")) continue;
		const style = getComputedStyle(e), front = rgb(e.closest("svg") ? style.fill : style.color);
		const [x, y] = [lum(front), lum(behind(e))].sort((p, q) => q - p), ratio = (x + 0.05) / (y + 0.05);
		if (ratio < 4.5) bad.add(walk.currentNode.data.trim().slice(0, 40) + " " + ratio.toFixed(2));
	}
	return [...bad];
})()`

func testRealContrast(b *tab) {
	b.t.Helper()
	for _, scheme := range []string{"light", "dark"} {
		b.do(media("screen", scheme))
		if bad := ask[[]string](b, realContrast); len(bad) > 0 {
			b.t.Errorf("%s: too little contrast: %q", scheme, bad)
		}
	}
}

// testTabReachesAll: the tab key reaches everything that can be worked or
// scrolled.
func testTabReachesAll(b *tab) {
	b.t.Helper()
	want := ask[int](b, `[...document.querySelectorAll("a[href], summary, .scroll, button, input, [role=slider]")].filter((e) => e.checkVisibility()).length`)
	ask[bool](b, `document.activeElement.blur(), window.reached = new Set(), document.addEventListener("focusin", (e) => window.reached.add(e.target)), true`)
	b.do(chromedp.KeyEvent(strings.Repeat("\t", want+2)))
	if got := ask[int](b, `window.reached.size`); got < want {
		b.t.Errorf("the tab key reaches %d of %d", got, want)
	}
}

var pdfPages = regexp.MustCompile(`/Type /Page\b[^s]`)

// testPrint: heads repeat, rows and pictures stay whole, and one event is two
// or three sheets of A4, a brief one.
func testPrint(t *testing.T, b *tab, name string) {
	t.Helper()
	b.do(media("print", "light"))
	for script, what := range map[string]string{
		`[...document.querySelectorAll("thead")].every((e) => getComputedStyle(e).display === "table-header-group")`:           "a head that does not repeat on the next sheet",
		`[...document.querySelectorAll("thead button")].every((e) => getComputedStyle(e).display === "contents")`:              "a head with a control, which keeps it from being repeated",
		`[...document.querySelectorAll("tr, figure, svg.strips")].every((e) => getComputedStyle(e).breakInside === "avoid")`:   "a row or a picture that may be cut by the end of a sheet",
		`[...document.querySelectorAll("figure")].filter((e) => e.checkVisibility()).every((e) => e.dataset.view !== "whole")`: "the picture of the whole clip beside that of the roll",
	} {
		if !ask[bool](b, script) {
			t.Errorf("print has %s", what)
		}
	}
	b.do(media("", "light"), chromedp.EmulateViewport(1200, 900))
	pdf, err := chromedp.Call(b.ctx, cdppage.PrintToPDF, cdppage.PrintToPDFParams{PreferCSSPageSize: new(true)})
	if err != nil {
		t.Fatal(err)
	}
	sheets := len(pdfPages.FindAll(pdf.Data, -1))
	most, ok := map[string]int{"flight": 3, "untold": 2, "brief": 1, "night": 2}[name]
	if sheets == 0 || ok && sheets > most {
		t.Errorf("%d sheets of A4, want at most %d", sheets, most)
	}
	t.Logf("%d sheets", sheets)
}
