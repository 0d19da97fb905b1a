package page_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"rollonset/report/trend"
)

// TestEveryAlertSaysHowSure: each alert has the tests of its rule and what
// its p, or of groups its q, must not exceed; and it does not exceed it.
func TestEveryAlertSaysHowSure(t *testing.T) {
	tr := plantedTrends(t)
	source := words(trendPage(t, tr))
	for _, a := range tr.Alerts {
		sum := a.Rule == trend.SumRule || a.Rule == trend.GroupSumRule
		p := a.P
		if a.Rule == trend.GroupRule {
			p = qOf(tr, a)
			if !strings.Contains(source, "q "+trend.Probability(p)) {
				t.Errorf("the q %v of the alert is not on the page: %s", p, a.Text)
			}
		}
		if a.Tests == 0 || a.Bound <= 0 || !sum && p > a.Bound {
			t.Errorf("%d tests, p %v, bound %v: %s", a.Tests, p, a.Bound, a.Text)
		}
		for _, want := range []string{trend.Probability(a.P), "≤ " + trend.Probability(a.Bound), strconv.Itoa(a.Tests) + map[bool]string{true: " sums", false: " tests"}[sum]} {
			if !strings.Contains(source, want) {
				t.Errorf("the page does not say %q of %s", want, a.Text)
			}
		}
	}
}

func qOf(tr *trend.Trends, a trend.Alert) float64 {
	for i := range tr.Series {
		for _, g := range tr.Series[i].Groups {
			for _, m := range g.Members {
				if tr.Series[i].Name == a.Series && g.By == a.By && m.Name == a.Where {
					return m.Q
				}
			}
		}
	}
	return 2
}

// TestOnePForADrift: sentence, alert, list of what is quiet and picture give
// one p for one drift.
func TestOnePForADrift(t *testing.T) {
	tr := plantedTrends(t)
	source := words(trendPage(t, tr))
	tested := 0
	for i := range tr.Series {
		for _, m := range tr.Series[i].Margins {
			if m.Type == "" {
				continue
			}
			tested++
			p := "p " + trend.Probability(m.P)
			picture := fmt.Sprintf("over %d months, %s", m.Drift.N, p)
			if m.Alert {
				picture = fmt.Sprintf("over %d months, beyond chance: %s", m.Drift.N, p)
			}
			if !strings.Contains(source, picture) || !strings.Contains(source, p+", one-sided, towards the limit") {
				t.Errorf("%s on %s: no %q below its picture, or the side is not said", tr.Series[i].Name, m.Type, picture)
			}
		}
	}
	if tested == 0 {
		t.Fatal("no margin was tested")
	}
}

// TestOneBaselineRate: the baseline rate of a series is one number on the
// page, in figures, pictures, sums and alerts.
func TestOneBaselineRate(t *testing.T) {
	tr := plantedTrends(t)
	source := words(trendPage(t, tr))
	for i := range tr.Series {
		s := &tr.Series[i]
		if !s.Sum.Watched {
			continue
		}
		want := fmt.Sprintf("Tuned to 2 times the baseline rate, %s per 1,000.", figure(s.BaselineRate.PerThousand))
		if s.BaselineRate.Events == 0 { // twice none is none: then the half event is said
			want = "Tuned to 2 times the baseline rate, of which there was no event, taken as " + figure(s.Sum.Reference) + " per 1,000."
		}
		if !strings.Contains(source, want) {
			t.Errorf("%s: no %q", s.Name, want)
		}
		if s.Sum.Alarm && !strings.Contains(source, "baseline "+s.BaselineRate.String()+"; the sum tuned to") {
			t.Errorf("%s: the alert of its sum gives another baseline", s.Name)
		}
	}
	if strings.Contains(source, "reference") {
		t.Error("the page has a reference rate beside the baseline rate")
	}
}

func figure(v float64) string { return strconv.FormatFloat(v, 'f', trend.Digits(v), 64) }
