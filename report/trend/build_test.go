package trend_test

import (
	"encoding/json"
	"errors"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/report/trend"
)

func build(t *testing.T, rows iter.Seq2[trend.Row, error], opt trend.Options) *trend.Trends {
	t.Helper()
	tr, err := trend.Build(rows, opt)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// compare says where two trends differ.
func compare(a, b *trend.Trends) string {
	return cmp.Diff(a, b, cmpopts.EquateNaNs(), cmpopts.IgnoreUnexported(trend.Shrunken{}))
}

func TestOrderOfRowsIsOfNoAccount(t *testing.T) {
	rows := collect(fleet{months: 16, perDay: 6, tails: 5, rejects: 0.01}.rows(4))
	opt := trend.Options{Markers: []trend.Marker{{Date: begin.AddDate(0, 7, 3), Label: "new card"}}}
	want := build(t, of(rows...), opt)
	r := rand.New(rand.NewPCG(1, 2))
	for range 3 {
		r.Shuffle(len(rows), func(i, j int) { rows[i], rows[j] = rows[j], rows[i] })
		if diff := compare(want, build(t, of(rows...), opt)); diff != "" {
			t.Fatalf("shuffled rows give other trends:\n%s", diff)
		}
	}
}

// month makes n takeoffs of one check in a month, the first few of them events.
func month(m, n int, reviews ...trend.Review) []trend.Row {
	var out []trend.Row
	for i := range n {
		row := trend.Row{Kind: trend.CheckKind, Check: "flaps", Date: begin.AddDate(0, m, i%28), Told: true, Life: true, Value: math.NaN()}
		if i < len(reviews) {
			row.Event, row.Review = true, reviews[i]
		}
		out = append(out, row)
	}
	return out
}

func TestReviewsAreCountedApart(t *testing.T) {
	rows := month(0, 100, trend.Valid, trend.Nuisance, trend.DataFault, trend.Unreviewed, trend.Unreviewed)
	for m := 1; m < 8; m++ {
		rows = append(rows, month(m, 100, trend.Unreviewed)...)
	}
	s := seriesOf(build(t, of(rows...), trend.Options{}), "flaps")
	want := trend.Tally{Attempts: 100, Told: 100, Valid: 1, Unreviewed: 2, Nuisance: 1, DataFault: 1}
	if diff := cmp.Diff(want, s.Months[0].Tally); diff != "" {
		t.Error(diff)
	}
	// Nuisance and data fault are in no rate; the unreviewed only in the first.
	if s.Months[0].Rate.Events != 3 || s.Months[0].Rate.PerThousand != 30 || s.ValidRate.Events != 1 || s.ValidRate.Told != 800 {
		t.Errorf("rate %+v, of valid events %+v", s.Months[0].Rate, s.ValidRate)
	}
	tr := build(t, of(rows...), trend.Options{ValidOnly: true})
	if s := seriesOf(tr, "flaps"); s.Rate.Events != 1 || s.WatchedRate.Events != 0 {
		t.Errorf("valid only: %+v", s.Rate)
	}
	// Unreviewed events against a reviewed baseline: said.
	tr = build(t, of(rows...), trend.Options{})
	if !slices.ContainsFunc(tr.Notes, func(n string) bool {
		return strings.Contains(n, "2 of 3 reviewed events of the baseline were nuisance or data fault; 4 events since then")
	}) {
		t.Errorf("notes %q", tr.Notes)
	}
}

func TestMonthWithoutExposureIsNoZero(t *testing.T) {
	var rows []trend.Row
	for m := range 24 {
		switch {
		case m == 3 || m == 14: // nobody flies
		case m == 4: // flown, but never told
			for _, r := range month(m, 50) {
				r.Told = false
				rows = append(rows, r)
			}
		case m == 13 || m == 15 || m == 16:
			rows = append(rows, month(m, 200, make([]trend.Review, 5)...)...)
		default:
			rows = append(rows, month(m, 200, make([]trend.Review, 1+m%2)...)...)
		}
	}
	s := seriesOf(build(t, of(rows...), trend.Options{Baseline: year}), "flaps")
	if s.SPI.Lines.Points != 10 {
		t.Errorf("lines of %d points, want 10: two baseline months were not told", s.SPI.Lines.Points)
	}
	for _, m := range []int{3, 4, 14} {
		p := s.Months[m]
		if !math.IsNaN(p.Rate.PerThousand) || !math.IsNaN(p.Exact.High) || p.Signal || !math.IsInf(p.Rate.Interval.High, 1) {
			t.Errorf("month %s without exposure: %+v", p.Month, p)
		}
	}
	// The empty month neither continues nor breaks the run of three.
	last := s.SPI.Crossings[len(s.SPI.Crossings)-1]
	if last.Rule != trend.SPIThreeAboveOne || last.First != year.To+2 || last.Last != year.To+5 || last.Rate.Told != 600 {
		t.Errorf("last crossing %+v", last)
	}
}

func TestMonthLimitIsStrict(t *testing.T) {
	var rows []trend.Row
	for m := range 12 {
		rows = append(rows, month(m, 100, make([]trend.Review, 1)...)...)
	}
	opt := trend.Options{Baseline: year}
	limit := int(math.Round(seriesOf(build(t, of(append(rows, month(12, 100)...)...), opt), "flaps").Months[12].Alert / 10))
	for extra, want := range map[int]bool{0: false, 1: true} {
		tr := build(t, of(append(slices.Clone(rows), month(12, 100, make([]trend.Review, limit+extra)...)...)...), opt)
		if got := len(alertsOf(tr, trend.MonthRule)) == 1; got != want {
			t.Errorf("%d events at a limit of %d: alert %v, want %v", limit+extra, limit, got, want)
		}
	}
}

func TestTakeoffsBetweenEvents(t *testing.T) {
	var rows []trend.Row
	for day := range 10 { // 10 takeoffs a day, an event on days 2, 5 and 7
		for i := range 10 {
			rows = append(rows, trend.Row{Kind: trend.CheckKind, Check: "trim", Date: begin.AddDate(0, 0, day), Told: true, Life: true, Event: i == 0 && (day == 2 || day == 5 || day == 7), Value: math.NaN()})
		}
	}
	b := seriesOf(build(t, of(rows...), trend.Options{}), "trim").Between
	if diff := cmp.Diff([]float64{29, 19}, b.Gaps); diff != "" {
		t.Error(diff)
	}
	if b.Since != 25 || math.Abs(b.Chance-math.Pow(0.97, 25)) > 1e-12 || b.Chart.Mean != 24 {
		t.Errorf("since %v with chance %v, mean %v", b.Since, b.Chance, b.Chart.Mean)
	}
}

func TestMarker(t *testing.T) {
	var rows []trend.Row
	for m := range 12 {
		n := 6
		if m >= 6 {
			n = 2
		}
		rows = append(rows, month(m, 100, make([]trend.Review, n)...)...)
	}
	action := trend.Marker{Date: begin.AddDate(0, 6, 0), Label: "new card", Check: "flaps"}
	other := trend.Marker{Date: begin.AddDate(0, 6, 0), Label: "tug driver briefing", Check: "parking_brake"}
	s := seriesOf(build(t, of(rows...), trend.Options{Markers: []trend.Marker{action, other}}), "flaps")
	if len(s.Markers) != 1 {
		t.Fatalf("%d markers, want that of the check", len(s.Markers))
	}
	e := s.Markers[0]
	if want := begin.AddDate(1, 0, -1); !e.From.Equal(begin) || e.To.Before(want.AddDate(0, 0, -5)) || e.To.After(want) || e.Months != 12 {
		t.Errorf("compared from %s to %s, the archive reaches from %s to about %s", e.From, e.To, begin, want)
	}
	if e.Before.Events != 36 || e.Before.Told != 600 || e.After.Events != 12 || e.After.Told != 600 {
		t.Errorf("before %v, after %v", e.Before, e.After)
	}
	want := trend.RateRatio(12, 600, 36, 600, 0.95)
	if diff := cmp.Diff(want, e.Ratio); diff != "" || e.Ratio.P > 0.001 {
		t.Errorf("p %v\n%s", e.Ratio.P, diff)
	}
}

func TestRejects(t *testing.T) {
	var rows []trend.Row
	for i := range 100 {
		row := trend.Row{Kind: trend.RejectKind, Date: begin.AddDate(0, 0, i), Told: i != 99, Value: math.NaN(), Life: true}
		if class := map[int]string{5: "low-speed", 6: "high-speed", 7: "before the roll", 8: "low-speed"}[i]; class != "" {
			row.Event, row.Class = true, class
		}
		rows = append(rows, row)
	}
	tr := build(t, of(rows...), trend.Options{})
	for name, want := range map[string]int{trend.RejectsAll: 4, trend.RejectsBefore: 1, trend.RejectsLow: 2, trend.RejectsHigh: 1} {
		if s := seriesOf(tr, name); s.Rate.Events != want || s.Rate.Told != 99 {
			t.Errorf("%s: %v, want %d in 99", name, s.Rate, want)
		}
	}
}

func TestMarginPercentiles(t *testing.T) {
	var rows []trend.Row
	r := rand.New(rand.NewPCG(1, 1))
	var values []float64
	for range 4000 {
		v := 1.5 + r.NormFloat64() // some margins are negative: out of limits
		values = append(values, v)
		rows = append(rows, trend.Row{Kind: trend.MeasureKind, Check: "margin", Type: "QX-40", Unit: "deg", Date: begin, Told: true, Value: v})
	}
	// Reviewed as a data fault: no measurement. Not measured: none either.
	rows = append(rows,
		trend.Row{Kind: trend.MeasureKind, Check: "margin", Date: begin, Told: true, Event: true, Review: trend.DataFault, Value: 1e6},
		trend.Row{Kind: trend.MeasureKind, Check: "margin", Date: begin, Told: true, Value: math.NaN()})
	got := build(t, of(rows...), trend.Options{}).Measures[0].Margins[0].Months[0]
	slices.Sort(values)
	if got.N != 4000 {
		t.Fatalf("n = %d", got.N)
	}
	for _, c := range []struct{ p, got float64 }{{0.05, got.P05}, {0.25, got.P25}, {0.5, got.P50}, {0.75, got.P75}, {0.95, got.P95}} {
		want := values[int(c.p*4000)]
		if math.Abs(c.got-want) > 0.01*math.Abs(want)+0.005 {
			t.Errorf("%v quantile %v, of the values themselves %v", c.p, c.got, want)
		}
	}
}

func TestDefaultBaseline(t *testing.T) {
	for _, c := range []struct {
		months   int
		from, to int // of the baseline, from begin
		watched  int
	}{
		{3, 0, -1, 0},  // too short for any
		{8, 0, 3, 4},   // first half
		{17, 0, 7, 9},  // only five months follow the year: first half
		{18, 0, 11, 6}, // the calendar year, for six months follow
		{29, 0, 11, 17},
		{30, 12, 23, 6}, // frozen for a year, then the next
	} {
		var rows []trend.Row
		for m := range c.months {
			rows = append(rows, month(m, 10)...)
		}
		tr := build(t, of(rows...), trend.Options{})
		want := trend.Period{}
		if c.to >= c.from {
			want = trend.Period{From: year.From + trend.Month(c.from), To: year.From + trend.Month(c.to)}
		}
		if tr.Baseline != want || tr.Watched.Months() != c.watched {
			t.Errorf("%d months: baseline %s, want %s; %d watched, want %d", c.months, tr.Baseline, want, tr.Watched.Months(), c.watched)
		}
		if (tr.BaselineWhy == "") != (c.watched == 0) {
			t.Errorf("%d months: the baseline was chosen for %q", c.months, tr.BaselineWhy)
		}
		if c.watched == 0 && !strings.Contains(tr.Notes[0], trend.BaselineRule+"; here are 3 months") {
			t.Errorf("the note does not say the rule of the baseline: %q", tr.Notes[0])
		}
		if c.watched == 0 && (len(tr.Alerts) > 0 || len(tr.Notes) == 0) {
			t.Errorf("without a baseline: alerts %v, notes %q", tr.Alerts, tr.Notes)
		}
	}
}

func TestBuildRefuses(t *testing.T) {
	broken := errors.New("folder x: cannot be read")
	failing := func(yield func(trend.Row, error) bool) {
		_ = yield(month(0, 1)[0], nil) && yield(trend.Row{}, broken)
	}
	if _, err := trend.Build(failing, trend.Options{}); !errors.Is(err, broken) || !strings.Contains(err.Error(), "after 1 rows") {
		t.Errorf("error of the rows: %v", err)
	}
	for _, c := range []struct {
		row  trend.Row
		opt  trend.Options
		want string
	}{
		{trend.Row{Kind: trend.CheckKind, Date: begin}, trend.Options{}, "row 1, a check of 2031-01-01, has no name"},
		{trend.Row{Kind: "chek", Date: begin}, trend.Options{}, `row 1 of 2031-01-01 is of kind "chek"; give check, reject or measure`},
		{trend.Row{}, trend.Options{Level: 95}, "the level of intervals is 95; give a number between 0 and 1"},
		{trend.Row{}, trend.Options{FalseAlerts: -1}, "false alerts a year"},
		{trend.Row{}, trend.Options{Factor: 1}, "growth that sums are tuned to is 1"},
		{trend.Row{}, trend.Options{CoverageFall: 20}, "fall of coverage is 20"},
		{trend.Row{}, trend.Options{MinMonth: -2}, "give 1 or more"},
		{trend.Row{}, trend.Options{Baseline: trend.Period{From: year.To, To: year.From}}, "the baseline ends (2031-01) before it begins (2031-12)"},
	} {
		if _, err := trend.Build(of(c.row), c.opt); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
	}
}

func TestNothingAndUndated(t *testing.T) {
	tr := build(t, of(), trend.Options{})
	if len(tr.Series) != 0 || len(tr.Notes) != 1 || tr.Span.String() != "none" {
		t.Errorf("no rows: %+v", tr)
	}
	row := month(0, 1)[0]
	row.Date = time.Time{}
	tr = build(t, of(append(month(0, 2), row)...), trend.Options{})
	if tr.Undated != 1 || tr.Series[0].Total.Told != 2 || !strings.Contains(strings.Join(tr.Notes, " "), "1 of 3 rows have no date") {
		t.Errorf("undated: %+v", tr)
	}
	text, err := json.Marshal(tr.Span)
	if err != nil || string(text) != `{"From":"2031-01","To":"2031-01"}` {
		t.Errorf("months as JSON: %s, %v", text, err)
	}
}

func TestGroups(t *testing.T) {
	var rows []trend.Row
	add := func(base string, takeoffs, events int, severity string) {
		for i := range takeoffs {
			rows = append(rows, trend.Row{
				Kind: trend.CheckKind, Check: "trim", Date: begin.AddDate(0, 0, i%28), Aerodrome: base, Runway: "09",
				Told: true, Life: true, Event: i < events, Severity: severity, Value: math.NaN(),
			})
		}
	}
	add("ZZA", 1000, 2, "high")
	add("ZZB", 50, 1, "low")
	add("ZZC", 1000, 12, "low")
	add("", 30, 1, "low") // where it was is not known
	s := seriesOf(build(t, of(rows...), trend.Options{}), "trim")
	g := s.Groups[slices.Index(trend.Ways(), trend.ByBase)]
	if g.Unplaced != 30 || len(g.Members) != 3 || s.Total.High != 2 {
		t.Fatalf("%d unplaced, %d members, %d of high severity", g.Unplaced, len(g.Members), s.Total.High)
	}
	// One event in 50 is 20 per 1,000, but hardly more than the fleet's rate
	// once it is seen beside the others.
	small := g.Members[1]
	if small.Rate.PerThousand != 20 || small.Shrunken.Rate > 13 || small.Shrunken.Rate < 7 {
		t.Errorf("rate %v is shrunken to %v", small.Rate.PerThousand, small.Shrunken.Rate)
	}
	if high := g.Members[2].Shrunken.Higher; high < 0.9 {
		t.Errorf("12 in 1,000 exceeds 15 in 2,050 with probability %v", high)
	}
	if runways := s.Groups[slices.Index(trend.Ways(), trend.ByRunway)]; runways.Members[0].Name != "ZZA 09" {
		t.Errorf("a runway is named %q, want its aerodrome with it", runways.Members[0].Name)
	}
	if tails := s.Groups[slices.Index(trend.Ways(), trend.ByTail)]; len(tails.Members) != 0 || tails.Unplaced != 2080 {
		t.Errorf("rows without a tail make the group %+v", tails)
	}
}

// A sensor that dies, is mended and dies again is two alerts.
func TestCoverageFallsTwice(t *testing.T) {
	var rows []trend.Row
	for m := range 24 {
		for _, row := range month(m, 40) {
			row.Tail = "ZZ-Q01"
			row.Told = m != 14 && m != 15 && m != 20
			rows = append(rows, row)
		}
	}
	var since []string
	for _, a := range alertsOf(build(t, of(rows...), trend.Options{Baseline: year}), trend.CoverageRule) {
		if a.Where == "ZZ-Q01" {
			since = append(since, a.Since.Format(time.DateOnly))
			if a.Events != 0 || a.Told != 80 && a.Told != 40 {
				t.Errorf("told on %d of %d", a.Events, a.Told)
			}
		}
	}
	if diff := cmp.Diff([]string{"2032-03-01", "2032-09-01"}, since); diff != "" {
		t.Error(diff)
	}
}

// TestOverAgreesWithTheSeries: a period is counted by the rule of the series,
// the interval and what counts as an event alike.
func TestOverAgreesWithTheSeries(t *testing.T) {
	for _, opt := range []trend.Options{{Baseline: year}, {Baseline: year, ValidOnly: true, Level: 0.9}} {
		f := fleet{months: 24, perDay: 20, tails: 12, rejects: 0.01}
		tr := build(t, f.rows(1), opt)
		for i := range tr.Series {
			s := &tr.Series[i]
			for p, want := range map[trend.Period]trend.Rate{tr.Baseline: s.BaselineRate, tr.Watched: s.WatchedRate, tr.Span: s.Rate} {
				if sum, got := tr.Over(s, p); !cmp.Equal(want, got) || sum.Told != want.Told {
					t.Errorf("%s in %s: %v, the series says %v", s.Name, p, got, want)
				}
			}
		}
	}
}
