package page_test

import (
	"bytes"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"rollonset/report/archive"
	"rollonset/report/page"
	"rollonset/report/trend"
)

// trendFleet are the rows of a small invented operator: 22 months, two types,
// three bases. What is planted: flap events at ZZC rise fourfold from
// July 2032, trim margins of QX60 shrink, the brake of ZZ-Q02 dies.
type trendFleet struct {
	planted, hostile bool
	months, perDay   int
}

func (f trendFleet) rows(yield func(trend.Row, error) bool) {
	r := rand.New(rand.NewPCG(7, 7))
	begin := time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)
	change := begin.AddDate(1, 6, 0)
	for day := begin; day.Before(begin.AddDate(0, f.months, 0)); day = day.AddDate(0, 0, 1) {
		for range f.perDay {
			k := r.IntN(6)
			base := trend.Row{
				Date: day, Kind: trend.CheckKind, Type: []string{"QX40", "QX60"}[k%2], Tail: "ZZ-Q0" + string(rune('0'+k)),
				Aerodrome: []string{"ZZA", "ZZB", "ZZC"}[r.IntN(3)], Runway: []string{"09", "27"}[r.IntN(2)], Told: true, Life: true, Value: math.NaN(),
			}
			if f.hostile {
				base.Aerodrome, base.Tail = `<img src=x onerror="alert(1)">`, "</script><script>alert(2)</script>"
			}
			after := f.planted && !day.Before(change)
			for _, c := range []struct {
				name string
				rate float64
			}{{"flaps", 0.004}, {"trim", 0.002}, {"parking brake", 0.003}} {
				row := base
				row.Check, row.Severity = c.name, "high"
				if after && c.name == "flaps" && row.Aerodrome == "ZZC" {
					c.rate *= 4
				}
				row.Event = r.Float64() < c.rate
				if row.Event && r.IntN(3) == 0 {
					row.Review = []trend.Review{trend.Valid, trend.Nuisance, trend.DataFault}[r.IntN(3)]
				}
				if c.name == "trim" {
					row.Unit, row.Value = "units", 2+0.3*r.NormFloat64()
					if f.planted && row.Type == "QX60" {
						row.Value -= day.Sub(begin).Hours() / 24 / 1000
					}
				}
				if after && c.name == "parking brake" && row.Tail == "ZZ-Q02" {
					row.Told, row.Event = false, false
				}
				if !yield(row, nil) {
					return
				}
			}
			row := base
			row.Kind = trend.RejectKind
			if r.Float64() < 0.002 {
				row.Event, row.Class, row.Severity = true, "low-speed", "low"
				speed := base
				speed.Kind, speed.Check, speed.Unit, speed.Value = trend.MeasureKind, trend.RejectSpeed, "kt", 30+50*r.Float64()
				if !yield(speed, nil) {
					return
				}
			}
			if !yield(row, nil) {
				return
			}
		}
	}
}

func trendsOf(t testing.TB, f trendFleet, markers ...trend.Marker) *trend.Trends {
	t.Helper()
	tr, err := trend.Build(f.rows, trend.Options{Markers: markers})
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

func trendPage(t testing.TB, tr *trend.Trends) string {
	t.Helper()
	var b bytes.Buffer
	if err := page.Trends(&b, tr, page.TrendOptions{Index: "index.html", Caution: archive.Caution, Source: "Read: a fixture."}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// plantedOnce are the trends of the fleet with all three changes and an
// action; nobody changes them, so they are made once.
var plantedOnce = sync.OnceValues(func() (*trend.Trends, error) {
	f := trendFleet{planted: true, months: 22, perDay: 60}
	return trend.Build(f.rows, trend.Options{Markers: []trend.Marker{{Date: time.Date(2032, 3, 1, 0, 0, 0, 0, time.UTC), Label: "Bulletin, invented", Check: "flaps"}}})
})

func plantedTrends(t testing.TB) *trend.Trends {
	t.Helper()
	tr, err := plantedOnce()
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

func TestTrendPageGolden(t *testing.T) {
	short := trendsOf(t, trendFleet{months: 5, perDay: 4})
	golden(t, "trends-short.txt", words(trendPage(t, short)))
	golden(t, "trends-none.txt", words(trendPage(t, trendsOf(t, trendFleet{}))))
	var b bytes.Buffer
	tr := plantedTrends(t)
	if err := page.TrendText(&b, tr, page.TrendOptions{By: []trend.By{trend.ByBase}, Source: "Read: a fixture."}); err != nil {
		t.Fatal(err)
	}
	golden(t, "trends-account.txt", b.String())
	if first := trendPage(t, tr); first != trendPage(t, tr) {
		t.Error("the same trends gave two different pages")
	}
}

// TestTrendPageAnswers: the first paragraphs answer what a safety officer
// asks, and name what was planted and nothing else.
func TestTrendPageAnswers(t *testing.T) {
	opening := strings.Join(page.TrendWords(plantedTrends(t)), "\n")
	for question, want := range map[string]string{
		"is anything rising, and where": `The rate of flaps events is rising since about (June|July) 2032, by more than chance, most clearly at base ZZC`,
		"is it more than chance":        `\d+ events in \d+ takeoffs, [\d.]+ per 1,000 there, against [\d.]+ on the whole fleet`,
		"is it coverage":                `It is no effect of coverage: the check was told on 100.0 % of attempts before and on 100.0 % since`,
		"what is not":                   `Not rising by more than chance: parking brake, trim, rejects, rejects before the roll, high-speed rejects and low-speed rejects`,
		"is the ordinary flight nearer": `The margin of trim on type QX60 shrank: the median of ordinary takeoffs went from [\d.]+ units in January 2031 to [\d.]+ units in October 2032`,
		"a sensor that died":            `Coverage, not safety: parking brake is told on tail ZZ-Q02 on 0 of \d+ attempts since July 2032`,
		"how sure are the alerts":       `chance alone would raise at most 0.833 alerts on a page like this, on the average; this one has \d+, on 3 matters`,
	} {
		if !regexp.MustCompile(want).MatchString(opening) {
			t.Errorf("%s: nothing matches %q in\n%s", question, want, opening)
		}
	}
	quiet := strings.Join(page.TrendWords(trendsOf(t, trendFleet{months: 22, perDay: 40})), "\n")
	for _, want := range []string{"No event rate is rising by more than chance", "No margin of ordinary takeoffs is shrinking", "No check is told, or shows life, on fewer attempts", "this one has none"} {
		if !strings.Contains(quiet, want) {
			t.Errorf("without any change: no %q in\n%s", want, quiet)
		}
	}
}

// TestTrendPageHasDenominators: every alert names its rule, and every
// picture has a text alternative and a table of its figures.
func TestTrendPageHasDenominators(t *testing.T) {
	tr := plantedTrends(t)
	source := trendPage(t, tr)
	for _, a := range tr.Alerts {
		if !strings.Contains(source, "<td class=\"wide\">"+string(a.Rule)) && !strings.Contains(source, "<td>"+string(a.Rule)) {
			t.Errorf("the page does not name the rule %q", a.Rule)
		}
	}
	pictures := strings.Count(source, "<svg ")
	if n := strings.Count(source, "<desc "); n != pictures || pictures < 10 {
		t.Errorf("%d pictures, %d text alternatives", pictures, n)
	}
	if strings.Contains(source, "<desc id=\"\"></desc>") || regexp.MustCompile(`<desc[^>]*></desc>`).MatchString(source) {
		t.Error("a text alternative is empty")
	}
	for i := range tr.Series {
		if !strings.Contains(source, `id="s`+string(rune('1'+i))+`-months-table"`) {
			t.Errorf("no table of the months of %s", tr.Series[i].Name)
		}
	}
	for _, bad := range []string{"NaN", "Inf", "%!"} {
		if strings.Contains(words(source), bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
}

func TestNothingGetsOutOfTrends(t *testing.T) {
	source := trendPage(t, trendsOf(t, trendFleet{hostile: true, months: 8, perDay: 8}, trend.Marker{Date: time.Date(2031, 5, 1, 0, 0, 0, 0, time.UTC), Label: `"><script>alert(3)</script>`}))
	for _, bad := range []string{"<script>alert", "<img src=x", `onerror="alert`} {
		if strings.Contains(source, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if m := regexp.MustCompile(`(src|href|action|poster|srcset)="(https?:|//)|@import|url\(`).FindString(source); m != "" {
		t.Errorf("the page refers to the outside: %s", m)
	}
}
