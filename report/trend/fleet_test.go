package trend_test

import (
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"rollonset/report/trend"
)

// fleet is an invented operator for tests: takeoffs of two types on four
// bases, each check out of limits with its own probability. What is planted
// is a change of one takeoff's rows.
type fleet struct {
	months  int
	perDay  int
	tails   int
	plant   func(day time.Time, row *trend.Row, r *rand.Rand)
	rejects float64
}

var begin = time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)

// testChecks are the checks and their rates in nothing planted.
var testChecks = []struct {
	name   string
	rate   float64
	margin float64 // mean, NaN for a discrete
}{{"flaps", 0.004, 4}, {"trim", 0.003, 2.5}, {"parking_brake", 0.002, math.NaN()}, {"speedbrake", 0.001, math.NaN()}}

// testTails are the registrations, the first f.tails of them in use.
var testTails = func() (out []string) {
	for i := range 60 {
		out = append(out, fmt.Sprintf("ZZ-Q%02d", i))
	}
	return out
}()

var testBases = []string{"ZZA", "ZZB", "ZZC", "ZZD"}

// rows are the fleet's rows, the same for the same seed.
func (f fleet) rows(seed uint64) iter.Seq2[trend.Row, error] {
	return func(yield func(trend.Row, error) bool) {
		r := rand.New(rand.NewPCG(seed, 77))
		end := begin.AddDate(0, f.months, 0)
		for day := begin; day.Before(end); day = day.AddDate(0, 0, 1) {
			for range f.perDay {
				for _, row := range f.takeoff(day, r) {
					if !yield(row, nil) {
						return
					}
				}
			}
		}
	}
}

func (f fleet) takeoff(day time.Time, r *rand.Rand) []trend.Row {
	tail := r.IntN(f.tails)
	base := trend.Row{
		Kind: trend.CheckKind, Date: day, Type: []string{"QX-40", "QX-60"}[tail%2], Tail: testTails[tail],
		Aerodrome: testBases[r.IntN(len(testBases))], Runway: []string{"09", "27"}[r.IntN(2)], Value: math.NaN(),
	}
	var out []trend.Row
	for _, c := range testChecks {
		row := base
		row.Check, row.Unit, row.Told, row.Life = c.name, "unit", true, true
		row.Event = r.Float64() < c.rate
		if !math.IsNaN(c.margin) {
			row.Value = c.margin + 0.5*r.NormFloat64()
		}
		// One attempt in a hundred cannot be told by some hiccup.
		if r.Float64() < 0.01 {
			row.Told, row.Event, row.Value = false, false, math.NaN()
		}
		if f.plant != nil {
			f.plant(day, &row, r)
		}
		out = append(out, row)
	}
	reject := base
	reject.Kind, reject.Told, reject.Life = trend.RejectKind, true, true
	if r.Float64() < f.rejects {
		reject.Event, reject.Class = true, []string{"low-speed", "low-speed", "low-speed", "high-speed"}[r.IntN(4)]
	}
	return append(out, reject)
}

// of yields given rows.
func of(rows ...trend.Row) iter.Seq2[trend.Row, error] {
	return func(yield func(trend.Row, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
	}
}

// collect reads all rows.
func collect(rows iter.Seq2[trend.Row, error]) []trend.Row {
	var out []trend.Row
	for row := range rows {
		out = append(out, row)
	}
	return out
}

func alertsOf(tr *trend.Trends, rule trend.Rule) []trend.Alert {
	var out []trend.Alert
	for _, a := range tr.Alerts {
		if a.Rule == rule {
			out = append(out, a)
		}
	}
	return out
}

func seriesOf(tr *trend.Trends, name string) *trend.Series {
	i := slices.IndexFunc(tr.Series, func(s trend.Series) bool { return s.Name == name })
	return &tr.Series[i]
}
