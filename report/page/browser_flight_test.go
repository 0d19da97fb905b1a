package page_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/page"
)

// shown is the readout of the first attempt: parameter to text.
const shown = `Object.fromEntries([...document.querySelector("[data-traces]").querySelectorAll("td[data-series]")].map((td) => [td.dataset.series, td.textContent]))`

const cursorAt = `document.querySelector("[data-at]").textContent`

// wanted is what the readout must show at an instant, read off the clip with
// the words of the tables.
func wanted(clip *flightdata.Recording, t span.Instant) map[string]string {
	out := map[string]string{}
	for _, p := range clip.Parameters() {
		s := clip.Get(p).Slice(span.Span{From: span.Sec(20), To: span.Sec(90)})
		last := -1
		for i, at := range s.Times {
			if at <= t {
				last = i
			}
		}
		switch {
		case last < 0 || t.Sub(s.Times[last]) > s.MaxAge():
			out[string(p)] = "no sample"
		case s.Masks[last] != flightdata.Good:
			out[string(p)] = "masked: " + s.Masks[last].String()
		case s.Kind == flightdata.Discrete:
			out[string(p)] = s.State(s.Values[last])
		default:
			out[string(p)] = page.With(s.Values[last], s.Unit.Symbol)
		}
	}
	return out
}

// testCursor: whatever moves the cursor, every number in the readout is the
// sample of the clip that stands there.
func testCursor(t *testing.T, parent context.Context) {
	clip := fixtureClip(8)
	b := open(t, parent, flight(t, rejectThenTakeoff(), clip), 1280)
	zero := span.Sec(60)
	at := func(what, text string, where span.Instant) {
		t.Helper()
		if got := ask[string](b, cursorAt); !strings.HasPrefix(got, text) {
			t.Fatalf("%s: cursor at %q, want %q", what, got, text)
		}
		if diff := cmp.Diff(wanted(clip, where), ask[map[string]string](b, shown)); diff != "" {
			t.Fatalf("%s: readout differs from the clip (-clip +page):\n%s", what, diff)
		}
	}
	at("at the start", "0.00 s from onset, 04:11:00.000 UTC", zero)
	if live := ask[string](b, `document.querySelector("[data-live]").getAttribute("aria-live")`); live != "polite" {
		t.Errorf("readout is announced %q, want polite", live)
	}
	focus := `document.querySelector("figure:not([hidden]) svg.strips").focus()`
	ask[bool](b, focus+", true")
	for i := 1; i <= 9; i++ {
		b.do(chromedp.KeyEvent(kb.ArrowRight))
		at("right", "+"+page.Number(float64(i)*0.125, 2), zero.Add(time.Duration(i)*125*time.Millisecond))
	}
	b.do(chromedp.KeyEvent(kb.ArrowLeft))
	at("left", "+1.00 s", zero.Add(time.Second))
	b.do(chromedp.KeyEvent("n"))
	at("next instant", "+3.10 s", span.Sec(63.1))
	b.do(chromedp.KeyEvent("p"))
	at("previous instant", "+0.80 s", span.Sec(60.8))
	b.do(chromedp.KeyEvent(kb.PageUp))
	at("page up", "+5.80 s", span.Sec(65.8))
	b.do(chromedp.KeyEvent(kb.PageDown), chromedp.KeyEvent(kb.PageDown))
	at("page down", "−4.20 s", span.Sec(55.8))
	b.do(chromedp.KeyEvent(kb.Home))
	at("home", "−11.00 s", span.Sec(49))
	b.do(chromedp.KeyEvent(kb.End))
	at("end", "+12.20 s", span.Sec(72.2))
	b.do(chromedp.KeyEvent("z"), chromedp.KeyEvent(kb.Home))
	at("home of the whole clip", "−40.00 s", span.Sec(20))
	if value := ask[string](b, `document.activeElement.getAttribute("aria-valuetext")`); !strings.HasPrefix(value, "−40.00 s") {
		t.Errorf("slider says %q after zooming, want the focus kept and the cursor's place", value)
	}
	pointAt(b, -13.5)
	at("pointer over the gap", "−13.50 s", span.Sec(46.5))
	if got := ask[map[string]string](b, shown)["stabilizer_trim"]; got != "no sample" {
		t.Errorf("trim in its gap reads %q, want no sample", got)
	}
}

// pointAt moves the pointer over the visible picture to that many seconds
// from the onset, by the mapping that the picture carries.
func pointAt(b *tab, seconds float64) {
	ask[bool](b, fmt.Sprintf(`(() => {
		const svg = document.querySelector("figure:not([hidden]) svg.strips"), d = svg.dataset, box = svg.getBoundingClientRect();
		const x = +d.lo + (%v - d.from) / (d.to - d.from) * (d.hi - d.lo);
		svg.dispatchEvent(new PointerEvent("pointermove", { clientX: box.left + x * box.width / svg.viewBox.baseVal.width }));
		return true;
	})()`, seconds))
}

// testZoomAndSave: the button changes the picture, and the saved samples are
// those of the clip, all of them.
func testZoomAndSave(t *testing.T, parent context.Context) {
	clip := fixtureClip(8)
	b := open(t, parent, flight(t, rejectThenTakeoff(), clip), 1280)
	const visible = `[...document.querySelector("[data-traces]").querySelectorAll("figure")].filter((f) => f.checkVisibility()).map((f) => f.dataset.view).join()`
	const pressed = `document.querySelector("[data-zoom]").getAttribute("aria-pressed")`
	for _, want := range []string{"roll true", "whole false", "roll true"} {
		if got := ask[string](b, visible+` + " " + `+pressed); got != want {
			t.Errorf("picture and button: %q, want %q", got, want)
		}
		ask[bool](b, `document.querySelector("[data-zoom]").click(), true`)
	}
	ask[bool](b, `(() => { const make = URL.createObjectURL; URL.createObjectURL = (blob) => { blob.text().then((s) => { window.saved = s; }); return make(blob); };
		HTMLAnchorElement.prototype.click = function () { window.savedAs = this.download; };
		document.querySelector("[data-csv]").click(); return true; })()`)
	saved := ""
	for range 100 {
		if saved = ask[string](b, `window.saved ?? ""`); saved != "" {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	samples := 0
	for _, p := range clip.Parameters() {
		samples += clip.Get(p).Slice(span.Span{From: span.Sec(20), To: span.Sec(90)}).Len()
	}
	lines := strings.Split(strings.TrimSuffix(saved, "\r\n"), "\r\n")
	if len(lines) != samples+1 {
		t.Errorf("%d lines saved, want a head and %d samples", len(lines), samples)
	}
	for _, want := range []string{
		"ground_speed,kt,3.125,2031-03-07T04:11:03.125Z,12.9,,",
		"airspeed,kt,0,2031-03-07T04:11:00.000Z,0,,below the airspeed floor",
		"takeoff_warning,,1,2031-03-07T04:11:01.000Z,1,on,",
	} {
		if !strings.Contains(saved, want+"\r\n") {
			t.Errorf("no line %q in what was saved", want)
		}
	}
	if name := ask[string](b, `window.savedAs`); name != "samples-a1.csv" {
		t.Errorf("saved as %q", name)
	}
}

// overlaps is a script that lists texts of a picture that leave it, and pairs
// that cover each other. A box is as high as the line, so it is cut to the
// letters first.
const overlaps = `(() => {
	const out = [];
	for (const svg of document.querySelectorAll("svg.strips")) {
		if (!svg.checkVisibility()) continue;
		const frame = svg.getBoundingClientRect(), scale = frame.width / svg.viewBox.baseVal.width;
		const texts = [...svg.querySelectorAll("text")].filter((t) => t.textContent).map((t) => {
			const r = t.getBoundingClientRect();
			return { s: t.textContent, c: t.getAttribute("class"), l: r.left, r: r.right, t: r.top + 2 * scale, b: r.bottom - 2 * scale };
		});
		for (const a of texts) {
			if (a.l < frame.left - 0.5 || a.r > frame.right + 0.5 || a.t < frame.top - 0.5 || a.b > frame.bottom + 0.5) out.push("cut: " + a.s);
			for (const b of texts) {
				if (a === b || a.l > b.l || (a.c === "note" && b.c === "note" && a.l === b.l && a.t > b.t)) continue;
				if (b.l < a.r && a.t < b.b && b.t < a.b) out.push(a.s + " over " + b.s);
			}
		}
	}
	return out;
})()`

func testLabels(t *testing.T, parent context.Context) {
	clip := fixtureClip(8)
	for name, source := range map[string]string{"ordinary": flight(t, rejectThenTakeoff(), clip), "slow": flight(t, untoldTrim(), fixtureClip(1))} {
		b := open(t, parent, source, 1280)
		for _, view := range []string{"roll", "whole"} {
			if bad := ask[[]string](b, overlaps); len(bad) > 0 {
				t.Errorf("%s page, %s: %q", name, view, bad)
			}
			if n := ask[int](b, `document.querySelectorAll("svg.strips .tick").length`); n < 20 {
				t.Errorf("%s page: only %d tick labels", name, n)
			}
			ask[bool](b, `document.querySelectorAll("[data-zoom]").forEach((z) => z.click()), true`)
		}
	}
}

// testWithoutScript: both pictures stand there, no dead control does.
func testWithoutScript(t *testing.T, parent context.Context) {
	b := open(t, parent, flight(t, rejectThenTakeoff(), fixtureClip(8)), 1280, withoutScript())
	if n := ask[int](b, `[...document.querySelectorAll("figure")].filter((f) => f.checkVisibility()).length`); n != 4 {
		t.Errorf("%d pictures are shown, want both of both attempts", n)
	}
	if n := ask[int](b, `[...document.querySelectorAll("button")].filter((f) => f.checkVisibility()).length`); n != 0 {
		t.Errorf("%d buttons that can do nothing are shown", n)
	}
}

// contrast works out the ratio of WCAG 2.2, success criterion 1.4.3, between
// two colours of the style sheet.
const contrast = `((a, b) => {
	const lum = (name) => {
		const probe = document.createElement("i");
		document.body.append(probe);
		probe.style.color = "var(" + name + ")";
		const c = getComputedStyle(probe).color.match(/[\d.]+/g).slice(0, 3).map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
		probe.remove();
		return 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2];
	};
	const [x, y] = [lum(a), lum(b)].sort((p, q) => q - p);
	return (x + 0.05) / (y + 0.05);
})`

func testDarkAndPrint(t *testing.T, parent context.Context) {
	b := open(t, parent, flight(t, rejectThenTakeoff(), fixtureClip(8)), 1280)
	paper := map[string]string{}
	for _, m := range [][2]string{{"screen", "light"}, {"screen", "dark"}, {"print", "dark"}} {
		b.do(media(m[0], m[1]))
		paper[m[0]+" "+m[1]] = ask[string](b, `getComputedStyle(document.documentElement).backgroundColor`)
		for _, pair := range [][2]string{{"--ink", "--paper"}, {"--soft", "--paper"}, {"--accent", "--paper"}, {"--soft", "--wash"}, {"--on-bar", "--bar"}} {
			if ratio := ask[float64](b, contrast+fmt.Sprintf(`(%q, %q)`, pair[0], pair[1])); ratio < 4.5 || math.IsNaN(ratio) {
				t.Errorf("%v: %s on %s has contrast %.2f, want 4.5", m, pair[0], pair[1], ratio)
			}
		}
	}
	want := map[string]string{"screen light": "rgb(255, 255, 255)", "screen dark": "rgb(20, 23, 26)", "print dark": "rgb(255, 255, 255)"}
	if diff := cmp.Diff(want, paper); diff != "" {
		t.Errorf("paper (-want +got):\n%s", diff)
	}
	if n := ask[int](b, `[...document.querySelectorAll("button, input")].filter((f) => f.checkVisibility()).length`); n != 0 {
		t.Errorf("%d controls are printed", n)
	}
	b.do(media("", "light"))
	pdf, err := chromedp.Call(b.ctx, cdppage.PrintToPDF, cdppage.PrintToPDFParams{PreferCSSPageSize: new(true)})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(pdf.Data, []byte("%PDF-")) || !bytes.Contains(pdf.Data, []byte("/Type /Page")) {
		t.Error("no PDF came out of printing")
	}
}
