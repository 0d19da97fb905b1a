package trend_test

import (
	"fmt"
	"strings"
	"time"

	"rollonset/report/trend"
)

// Five events in 1,250 takeoffs: the rate, and what it may be.
func ExampleRateInterval() {
	in := trend.RateInterval(5, 1250, 0.95).Times(1000)
	fmt.Printf("4.0 per 1,000 (%.1f to %.1f)\n", in.Low, in.High)
	// Output: 4.0 per 1,000 (1.3 to 9.3)
}

// "It doubled": from four events to eight, in the same number of takeoffs.
func ExampleRateRatio() {
	r := trend.RateRatio(8, 2000, 4, 2000, 0.95)
	fmt.Printf("ratio %.1f (%.2f to %.1f), p %.2f: %s\n", r.Ratio, r.Interval.Low, r.Interval.High, r.P, trend.RatioMethod)
	// Output: ratio 2.0 (0.54 to 9.1), p 0.39: exact test given the total number of events (binomial); two-sided p by least likelihood; interval by Clopper-Pearson
}

// A sum for a doubled rate that signals when it comes to 5 events, about a
// reference of one event in 500 takeoffs.
func ExampleEventSum() {
	sum := trend.EventSum{Factor: 2, Cells: 5 * 16}
	fmt.Printf("signals at %.0f; falsely once in %.0f takeoffs, a doubled rate after %.0f\n",
		sum.Signal(), 500*sum.RunLength(1), 500*sum.RunLength(2))
	// Output: signals at 5; falsely once in 56636 takeoffs, a doubled rate after 3522
}

// Two years of an invented fleet whose flap events double at ZZB in March of
// the second.
func ExampleBuild() {
	f := fleet{months: 24, perDay: 120, tails: 12, rejects: 0.0005}
	f.plant = doubledAt("ZZB", time.Date(2032, 3, 1, 0, 0, 0, 0, time.UTC))
	tr, err := trend.Build(f.rows(1), trend.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("baseline %s, watched %s\n", tr.Baseline, tr.Watched)
	for _, a := range tr.Alerts {
		if a.By == trend.ByBase {
			fmt.Printf("%s:\n%s\n", a.Rule, strings.ReplaceAll(a.Text, "; ", ";\n"))
		}
	}
	fmt.Printf("%d things were looked at and are not significant, such as:\n%s: %s\n", len(tr.Quiet), tr.Quiet[0].Series, tr.Quiet[0].Text)
	// Output:
	// baseline 2031-01 to 2031-12, watched 2032-01 to 2032-12
	// group above the others:
	// flaps at base ZZB: 85 in 10964 takeoffs, 7.75 per 1,000 (6.19 to 9.59), all 207 in 43457 takeoffs, 4.76 per 1,000 (4.14 to 5.46);
	// shrunken 7.44 per 1,000 (6.20 to 8.76), q 0.0000144.
	// cumulative sum of a group at its signal:
	// flaps at base ZZB: 77 in 8211 takeoffs, 9.38 per 1,000 (7.40 to 11.7) since 2032-04-01, baseline 35 in 10781 takeoffs, 3.25 per 1,000 (2.26 to 4.52), drawn to that of all 3.86 per 1,000;
	// the sum tuned to 2 times that rate signalled on 2032-10-01 and stands at 31.3, signal 14.4 (were the baseline exact, a false signal once in about 22 million takeoffs).
	// 33 things were looked at and are not significant, such as:
	// flaps: No month since 2032-01 lies above its probability limit: 207 in 43457 takeoffs, 4.76 per 1,000 (4.14 to 5.46), baseline 174 in 43379 takeoffs, 4.01 per 1,000 (3.44 to 4.65).
}
