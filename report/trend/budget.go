package trend

// The shares of the budget of false alerts. The expected number of false
// alerts is the sum over all tests of their probabilities, dependent or not,
// so giving each test a part of the whole keeps the whole.
var shares = []struct {
	rule  Rule
	share float64
}{
	{MonthRule, 0.10},
	{SumRule, 0.25},
	{SPIRule, 0.05},
	{GroupRule, 0.15},
	{GroupSumRule, 0.20},
	{DriftRule, 0.15},
	{CoverageRule, 0.05},
	{LifeRule, 0.05},
}

func newBudget(perYear float64, watchedMonths int) Budget {
	b := Budget{PerYear: perYear, Years: float64(watchedMonths) / 12}
	b.Expected = perYear * b.Years
	for _, s := range shares {
		b.Rules = append(b.Rules, RuleBudget{Rule: s.rule, Expected: b.Expected * s.share})
	}
	return b
}

// bound is the probability of a false alert that each test of a rule may
// have, and how many tests there are.
func (b *Budget) bound(rule Rule) (float64, int) {
	for _, r := range b.Rules {
		if r.Rule == rule && r.Tests > 0 {
			return r.Expected / float64(r.Tests), r.Tests
		}
	}
	return 0, 0
}

// each records how many tests a rule makes on this page and gives the
// probability of a false alert that each may have.
func (b *Budget) each(rule Rule, tests int) float64 {
	for i := range b.Rules {
		if r := &b.Rules[i]; r.Rule == rule {
			r.Tests = tests
			if tests > 0 {
				return r.Expected / float64(tests)
			}
		}
	}
	return 0
}
