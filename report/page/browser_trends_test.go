package page_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"rollonset/report/trend"
)

// TestTrendsInBrowser opens the trend page and the report of a period in one
// browser, a tab for each question.
func TestTrendsInBrowser(t *testing.T) {
	parent := browser(t)
	source := trendPage(t, plantedTrends(t))
	march := monthOf(t, "2031-03")
	report, _ := periodPage(t, trend.Period{From: march, To: march}, nil)
	for _, c := range []struct {
		name string
		test func(*testing.T, context.Context, string, string)
	}{
		{"labels", testTrendLabels},
		{"keyboard", testTrendKeyboard},
		{"save", testTrendSave},
		{"narrow", testTrendNarrow},
		{"dark and print", testTrendDarkAndPrint},
		{"without script", testTrendWithoutScript},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, parent, source, report) })
	}
}

// openAll opens everything that can be opened.
const openAll = `document.querySelectorAll("details").forEach((d) => { d.open = true; }), true`

// sheetsOf are how many sheets of A4 a page may take: what is not needed on
// paper is left to the screen. The pages of the fixture have few months, and
// as many tables and pictures as those of years.
var sheetsOf = map[string]int{"trends": 10, "period": 4}

// testTrendLabels: no label of any picture is cut or covers another.
func testTrendLabels(t *testing.T, parent context.Context, source, report string) {
	for name, page := range map[string]string{"trends": source, "period": report} {
		b := open(t, parent, page, 1280)
		ask[bool](b, openAll)
		if bad := ask[[]string](b, overlaps); len(bad) > 0 {
			t.Errorf("%s: %q", name, bad)
		}
		if n := ask[int](b, `document.querySelectorAll("svg.strips .tick").length`); n < 10 {
			t.Errorf("%s: only %d tick labels", name, n)
		}
	}
}

// testTrendKeyboard: the tab key reaches every link, summary, box that scrolls
// and button, in the order of the page, and Enter opens a part.
func testTrendKeyboard(t *testing.T, parent context.Context, source, _ string) {
	b := open(t, parent, source, 1280)
	want := ask[int](b, `[...document.querySelectorAll("a[href], summary, .scroll, button, input")].filter((e) => e.checkVisibility()).length`)
	ask[bool](b, `document.body.focus(), window.reached = new Set(), document.addEventListener("focusin", (e) => window.reached.add(e.target)), true`)
	b.do(chromedp.KeyEvent(strings.Repeat("\t", want+2)))
	if got := ask[int](b, `window.reached.size`); got < want {
		t.Errorf("the tab key reaches %d of %d", got, want)
	}
	ask[bool](b, `document.querySelector("details:not([open]) > summary").focus(), true`)
	before := ask[int](b, `document.querySelectorAll("details[open]").length`)
	b.do(chromedp.KeyEvent("\r"))
	if after := ask[int](b, `document.querySelectorAll("details[open]").length`); after != before+1 {
		t.Errorf("Enter opened %d parts", after-before)
	}
}

// testTrendSave: a table is saved as it stands, minus signs as hyphens.
func testTrendSave(t *testing.T, parent context.Context, source, _ string) {
	b := open(t, parent, source, 1280)
	ask[bool](b, openAll)
	ask[bool](b, `(() => {
		const make = URL.createObjectURL;
		URL.createObjectURL = (blob) => { blob.text().then((s) => { window.saved = s; }); return make(blob); };
		HTMLAnchorElement.prototype.click = function () { window.savedAs = this.download; };
		document.querySelector('[data-save="s1-months-table"]').click(); return true; })()`)
	saved := ""
	for range 100 {
		if saved = ask[string](b, `window.saved ?? ""`); saved != "" {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	lines := strings.Split(strings.TrimSuffix(saved, "\r\n"), "\r\n")
	if len(lines) != 23 || !strings.HasPrefix(lines[0], "Month,Attempts,Told,Coverage,Events") || !strings.HasPrefix(lines[1], "2031-01,1860,1860,100.0 %,") {
		t.Errorf("%d lines saved: %q", len(lines), lines[:min(2, len(lines))])
	}
	if name := ask[string](b, `window.savedAs`); name != "s1-months-table.csv" {
		t.Errorf("saved as %q", name)
	}
}

// testTrendNarrow: on a phone only tables and pictures scroll sideways.
func testTrendNarrow(t *testing.T, parent context.Context, source, report string) {
	hostile := trendPage(t, trendsOf(t, trendFleet{hostile: true, months: 8, perDay: 8}))
	for name, page := range map[string]string{"trends": source, "period": report, "hostile": hostile} {
		b := open(t, parent, page, 360)
		ask[bool](b, openAll)
		if w := ask[int](b, `document.documentElement.scrollWidth`); w > 360 {
			t.Errorf("%s is %d px wide on a screen of 360", name, w)
		}
		if size := ask[float64](b, `Math.min(...[...document.querySelectorAll("svg.strips")].map((s) => s.getBoundingClientRect().width / s.viewBox.baseVal.width * 11.5))`); size < 11 {
			t.Errorf("%s: letters of pictures are %.1f px on a phone", name, size)
		}
		if wide := ask[[]string](b, `[...document.querySelectorAll("svg.strips")].filter((s) => s.getBoundingClientRect().right > 360 || s.closest(".scroll")).map((s) => s.id)`); len(wide) > 0 {
			t.Errorf("%s: pictures have to be moved sideways on a phone: %q", name, wide)
		}
		if bad := ask[[]string](b, overlaps); len(bad) > 0 {
			t.Errorf("%s on a phone: %q", name, bad)
		}
	}
}

func testTrendDarkAndPrint(t *testing.T, parent context.Context, source, report string) {
	for name, page := range map[string]string{"trends": source, "period": report} {
		b := open(t, parent, page, 1280)
		for _, m := range [][2]string{{"screen", "light"}, {"screen", "dark"}, {"print", "dark"}} {
			b.do(media(m[0], m[1]))
			for _, pair := range [][2]string{{"--ink", "--paper"}, {"--soft", "--paper"}, {"--accent", "--paper"}, {"--soft", "--wash"}, {"--ink", "--wash"}} {
				if ratio := ask[float64](b, contrast+fmt.Sprintf(`(%q, %q)`, pair[0], pair[1])); !(ratio >= 4.5) {
					t.Errorf("%s %v: %s on %s has contrast %.2f, want 4.5", name, m, pair[0], pair[1], ratio)
				}
			}
		}
		// The heads that sort look like heads on paper.
		if n := ask[int](b, `[...document.querySelectorAll("button, input")].filter((f) => f.checkVisibility() && !f.closest("thead")).length`); n != 0 {
			t.Errorf("%s: %d controls are printed", name, n)
		}
		// A sheet has 688 px between its margins; what is wider makes the browser
		// shrink all of it.
		b.do(chromedp.EmulateViewport(688, 900))
		if w := ask[int](b, `document.documentElement.scrollWidth`); w > 688 {
			t.Errorf("%s: %d px wide on a sheet of 688, so that all of it is printed smaller", name, w)
		}
		b.do(media("", "light"))
		pdf, err := chromedp.Call(b.ctx, cdppage.PrintToPDF, cdppage.PrintToPDFParams{PreferCSSPageSize: new(true)})
		if err != nil {
			t.Fatal(err)
		}
		sheets := len(pdfPages.FindAll(pdf.Data, -1))
		if sheets == 0 || sheets > sheetsOf[name] {
			t.Errorf("%s: %d sheets of A4, want at most %d", name, sheets, sheetsOf[name])
		}
		t.Logf("%s: %d sheets", name, sheets)
	}
}

func testTrendWithoutScript(t *testing.T, parent context.Context, source, report string) {
	for name, page := range map[string]string{"trends": source, "period": report} {
		b := open(t, parent, page, 1280, withoutScript())
		if n := ask[int](b, `[...document.querySelectorAll("button, input")].filter((f) => f.checkVisibility()).length`); n != 0 {
			t.Errorf("%s: %d controls that can do nothing are shown", name, n)
		}
		if n := ask[int](b, `[...document.querySelectorAll("svg.strips")].filter((f) => f.checkVisibility()).length`); n == 0 {
			t.Errorf("%s: no picture is shown", name)
		}
	}
}
