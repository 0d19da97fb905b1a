package trend_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"rollonset/report/trend"
)

// year is the baseline of the tests: 2031, followed by 2032.
var year = trend.Period{From: trend.MonthOf(begin), To: trend.MonthOf(begin) + 11}

var changed = time.Date(2032, 3, 1, 0, 0, 0, 0, time.UTC)

// doubledAt doubles the rate of flap events at one base from a day on.
func doubledAt(base string, from time.Time) func(time.Time, *trend.Row, *rand.Rand) {
	return func(day time.Time, row *trend.Row, r *rand.Rand) {
		if row.Check == "flaps" && row.Aerodrome == base && !day.Before(from) && r.Float64() < testChecks[0].rate {
			row.Event = row.Told
		}
	}
}

func TestDoubledRateAtOneBase(t *testing.T) {
	t.Parallel()
	const seeds = 4
	named, fleetwide, others := 0, 0, 0
	for seed := range uint64(seeds) {
		f := fleet{months: 24, perDay: 120, tails: 12, rejects: 0.0005, plant: doubledAt("ZZB", changed)}
		tr := build(t, f.rows(seed), trend.Options{Baseline: year})
		at := false
		for _, a := range tr.Alerts {
			switch {
			case a.Series != "flaps":
				others++
			case a.By == trend.ByBase && a.Where == "ZZB":
				at = true
				if a.Rule == trend.GroupSumRule && math.Abs(a.Since.Sub(changed).Hours()/24) > 95 {
					t.Errorf("seed %d: since %s, planted %s: %s", seed, a.Since, changed, a.Text)
				}
				if a.Events == 0 || a.Told == 0 || !strings.Contains(a.Text, "per 1,000") {
					t.Errorf("alert without its figure: %+v", a)
				}
			case a.By == trend.ByBase:
				t.Errorf("seed %d: wrong base: %s", seed, a.Text)
			case a.By == "":
				fleetwide++
			}
		}
		if at {
			named++
		}
	}
	t.Logf("named at its base in %d of %d archives, %d alerts of the fleet, %d of other series", named, seeds, fleetwide, others)
	if named < 3 {
		t.Errorf("the doubled base was named in %d of %d archives", named, seeds)
	}
	if others > 4 { // 4 years are watched, one false alert a year is stated
		t.Errorf("%d alerts of series without change in %d archives", others, seeds)
	}
}

func TestTrimMarginDrifts(t *testing.T) {
	f := fleet{months: 24, perDay: 20, tails: 12, rejects: 0.0005, plant: func(day time.Time, row *trend.Row, _ *rand.Rand) {
		if row.Check == "trim" && row.Type == "QX-60" { // 0.02 units a month, on one type; no event more
			row.Value -= 0.02 * day.Sub(begin).Hours() / 24 / 30.4
		}
	}}
	tr := build(t, f.rows(1), trend.Options{Baseline: year})
	drifts := alertsOf(tr, trend.DriftRule)
	if len(drifts) != 1 || drifts[0].Series != "trim" || drifts[0].Where != "QX-60" {
		t.Fatalf("alerts of drift %+v, want one: trim on QX-60", drifts)
	}
	if !drifts[0].Since.Equal(begin) {
		t.Errorf("since %s, want from the start of the baseline", drifts[0].Since)
	}
	for _, a := range tr.Alerts {
		if a.Rule != trend.DriftRule {
			t.Errorf("another alert: %s", a.Text)
		}
	}
	for _, m := range seriesOf(tr, "trim").Margins {
		if m.Type == "QX-60" && math.Abs(m.Drift.Slope+0.02) > 0.005 {
			t.Errorf("slope %v per month, planted -0.02", m.Drift.Slope)
		}
	}
	// A margin that grows is no alert, but is told.
	f.plant = func(day time.Time, row *trend.Row, _ *rand.Rand) {
		if row.Check == "trim" {
			row.Value += 0.02 * day.Sub(begin).Hours() / 24 / 30.4
		}
	}
	tr = build(t, f.rows(1), trend.Options{Baseline: year})
	if got := alertsOf(tr, trend.DriftRule); len(got) != 0 {
		t.Errorf("a growing margin alerts: %+v", got)
	}
}

func TestSensorDiesOnOneTail(t *testing.T) {
	t.Parallel()
	dead := func(kill func(*trend.Row)) fleet {
		return fleet{months: 24, perDay: 40, tails: 12, rejects: 0.0005, plant: func(day time.Time, row *trend.Row, _ *rand.Rand) {
			if row.Check == "flaps" && row.Tail == "ZZ-Q03" && !day.Before(changed) {
				kill(row)
			}
		}}
	}
	for _, c := range []struct {
		rule trend.Rule
		kill func(*trend.Row)
	}{
		{trend.CoverageRule, func(row *trend.Row) { row.Told, row.Event = false, false }},
		// Worse: the check says "within limits" by a parameter that is stuck.
		{trend.LifeRule, func(row *trend.Row) { row.Event, row.Life = false, false }},
	} {
		tr := build(t, dead(c.kill).rows(2), trend.Options{Baseline: year})
		got := alertsOf(tr, c.rule)
		if len(got) != 1 || got[0].Where != "ZZ-Q03" || got[0].Series != "flaps" || !got[0].Since.Equal(changed) {
			t.Errorf("%s: alerts %+v, want one: flaps on ZZ-Q03 since %s", c.rule, got, changed)
		}
	}
	// Dead on every tail: the fleet's rate falls, and that is not good news.
	f := fleet{months: 24, perDay: 20, tails: 4, plant: func(day time.Time, row *trend.Row, _ *rand.Rand) {
		if row.Check == "flaps" && day.Year() == 2032 {
			row.Event, row.Life = false, false
		}
	}}
	tr := build(t, f.rows(3), trend.Options{Baseline: year})
	if s := seriesOf(tr, "flaps"); !strings.Contains(s.Caution, "show no life") || !(s.Change.Ratio < 1) {
		t.Errorf("caution %q at ratio %v", s.Caution, s.Change.Ratio)
	}
	if s := seriesOf(tr, "trim"); s.Caution != "" {
		t.Errorf("caution without cause: %s", s.Caution)
	}
	// Never told from the first day: no change, but named.
	f.plant = func(_ time.Time, row *trend.Row, _ *rand.Rand) {
		if row.Check == "flaps" && row.Tail == "ZZ-Q01" {
			row.Told, row.Event = false, false
		}
	}
	tr = build(t, f.rows(3), trend.Options{Baseline: year})
	if len(tr.Blind) != 1 || tr.Blind[0].Tail != "ZZ-Q01" || tr.Blind[0].Since != year.From || len(tr.Alerts) != 0 {
		t.Errorf("blind %+v, alerts %+v", tr.Blind, tr.Alerts)
	}
}

// Archives without any change raise no more alerts than the budget states:
// years with one alert a year, and years with ten so that there are some to
// count; a small fleet whose counts are few, and a larger one.
func TestNullArchives(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		perDay, seeds int
		budget        float64
	}{{20, 16, 1}, {20, 8, 10}, {80, 3, 10}} {
		f := fleet{months: 24, perDay: c.perDay, tails: 8, rejects: 0.0005}
		alerts, stated := 0.0, 0.0
		rules := map[trend.Rule]int{}
		for seed := range uint64(c.seeds) {
			tr := build(t, f.rows(1000+seed), trend.Options{Baseline: year, FalseAlerts: c.budget})
			alerts += float64(len(tr.Alerts))
			stated += tr.Budget.Expected
			for _, a := range tr.Alerts {
				rules[a.Rule]++
			}
			if len(tr.Quiet) == 0 {
				t.Fatal("nothing is said to be not significant")
			}
		}
		t.Logf("%d takeoffs a day, %d years, budget %v a year: %v alerts, stated %v; %v", c.perDay, c.seeds, c.budget, alerts, stated, rules)
		if alerts > stated+3*math.Sqrt(stated) {
			t.Errorf("%v alerts without change, stated %v", alerts, stated)
		}
	}
}
