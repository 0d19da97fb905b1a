package page

import (
	"fmt"
	"time"

	"rollonset/report/trend"
)

// What stands behind an alert: its p, on how many sides, how many tests the
// rule makes, and what p must not exceed. One wording for sentences and tables.

// pWords open the list of alerts.
const pWords = "p is the probability of a figure so far out if nothing had changed, one-sided: of so many events, so few attempts told, such a drift towards the limit. A measure has no good side, so its p is two-sided. What p must not exceed (≤) is the rule's share of the false alerts allowed, divided by its tests on this page; groups are compared by q, which is p allowing for all groups of the kind. A cumulative sum chooses its own beginning, so the p of the events since then only describes: its false signals are limited by the level of its signal. Since is where the figures of a rule begin; the month in which a rise most likely began is in the sentences at the top."

// isSum says whether a rule is a cumulative sum.
func isSum(r trend.Rule) bool { return r == trend.SumRule || r == trend.GroupSumRule }

// testsOf names what a rule tests, so many of them.
func testsOf(a trend.Alert) string {
	if isSum(a.Rule) {
		return count(a.Tests, "sum")
	}
	return count(a.Tests, "test")
}

// pCell is the p of an alert with what it is held against.
func pCell(t *trend.Trends, a trend.Alert) cell {
	c := num(probability(a.P))
	switch {
	case isSum(a.Rule):
		c.Lines = []string{"describes", most(a), testsOf(a)}
		return c
	case a.TwoSided:
		c.Lines = []string{"two-sided"}
	case newsOf(a.Rule) == unheard:
		c.Lines = []string{"worst month"}
	}
	if g := groupOf(t, a.Series, a.By, a.Where); a.Rule == trend.GroupRule && g != nil {
		c.Lines = append(c.Lines, "q "+probability(g.Q))
	}
	c.Lines = append(c.Lines, most(a), testsOf(a))
	return c
}

func most(a trend.Alert) string { return "≤ " + probability(a.Bound) }

// sinceCell is when the matter of an alert begins. Two rules know no
// beginning: they look at all their months together.
func sinceCell(t *trend.Trends, a trend.Alert) cell {
	c := text(a.Since.Format(time.DateOnly))
	switch a.Rule {
	case trend.DriftRule:
		if last := lastTested(t, a); last != 0 {
			c = cell{Text: trend.MonthOf(a.Since).String(), Sub: "to " + last.String(), Key: c.Text}
		}
	case trend.GroupRule:
		c = cell{Text: t.Watched.From.String(), Sub: "to " + t.Watched.To.String(), Key: c.Text}
	}
	return c
}

func lastTested(t *trend.Trends, a trend.Alert) trend.Month {
	m, _, _ := marginsOf(t, claim{series: a.Series, where: a.Where})
	if m == nil {
		return 0
	}
	_, last := ends(m, t)
	return last.Month
}

func groupOf(t *trend.Trends, series string, by trend.By, where string) *trend.Group {
	for i := range t.Series {
		for _, g := range t.Series[i].Groups {
			if t.Series[i].Name != series || g.By != by {
				continue
			}
			for k := range g.Members {
				if g.Members[k].Name == where {
					return &g.Members[k]
				}
			}
		}
	}
	return nil
}

// sureWords say in a sentence how sure the best alert of a claim is.
func sureWords(t *trend.Trends, a trend.Alert) string {
	if isSum(a.Rule) {
		return fmt.Sprintf("How sure: a cumulative sum came to its signal; without a change each of the %s on this page would do so with a chance of at most %s", testsOf(a), probability(a.Bound))
	}
	p := "p " + probability(a.P) + ", one-sided"
	switch {
	case a.TwoSided:
		p = "p " + probability(a.P) + ", two-sided"
	case a.Rule == trend.GroupRule:
		if g := groupOf(t, a.Series, a.By, a.Where); g != nil {
			p += ", q " + probability(g.Q)
		}
		return fmt.Sprintf("How sure: %s, where %d comparisons ask for a q of at most %s", p, a.Tests, probability(a.Bound))
	}
	return fmt.Sprintf("How sure: %s, where each of %s asks for at most %s", p, testsOf(a), probability(a.Bound))
}
