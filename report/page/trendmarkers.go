package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"rollonset/report/trend"
)

// markersOf are the markers, in order of date; a letter names each in pictures.
func markersOf(t *trend.Trends) []trend.Marker {
	var out []trend.Marker
	for i := range t.Series {
		for _, e := range t.Series[i].Markers {
			if !slices.Contains(out, e.Marker) {
				out = append(out, e.Marker)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b trend.Marker) int {
		return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Label, b.Label))
	})
	return out
}

// letter names a marker: A to Z, then A2 and so on.
func letter(i int) string {
	s := string(rune('A' + i%26))
	if i >= 26 {
		s += strconv.Itoa(i/26 + 1)
	}
	return s
}

func markerTable(t *trend.Trends) table {
	out := table{ID: "markers", Kind: "markers", Narrow: stacks, Caption: "What was done, and the rates before and after", Head: []head{
		{Text: "Mark"},
		{Text: "From"},
		{Text: "Action"},
		{Text: "Check or reject"},
		{Text: "Before", Unit: "per 1,000", Num: true},
		{Text: "After", Unit: "per 1,000", Num: true},
		{Text: "After over before", Num: true},
		{Text: "p, two-sided", Num: true},
		{Text: "Changed"},
	}}
	bound := markerBound(t)
	for k, m := range markersOf(t) {
		for i := range t.Series {
			for _, e := range t.Series[i].Markers {
				if e.Marker != m {
					continue
				}
				out.Rows = append(out.Rows, []cell{
					rowHead(letter(k)), text(m.Date.Format(time.DateOnly)), text(m.Label), text(t.Series[i].Name), countedRate(e.Before), countedRate(e.After),
					{Text: three(e.Ratio.Ratio), Num: true, Sub: "(" + three(e.Ratio.Interval.Low) + " to " + three(e.Ratio.Interval.High) + ")"},
					num(probability(e.Ratio.P)), text(changed(e, bound)),
				})
			}
		}
	}
	return out
}

// markerBound is what p must not exceed for a rate to be called changed: one
// in twenty pages without any change would show such a comparison.
func markerBound(t *trend.Trends) float64 { return 0.05 / float64(max(1, comparisons(t))) }

func comparisons(t *trend.Trends) int {
	n := 0
	for i := range t.Series {
		n += len(t.Series[i].Markers)
	}
	return n
}

// changed says in a word what an action is compared with.
func changed(e trend.Effect, bound float64) string {
	switch {
	case e.Before.Told == 0 || e.After.Told == 0:
		return "cannot be told: one side has no takeoff"
	case e.Ratio.P > bound:
		return "not beyond chance"
	case e.Ratio.Ratio > 1:
		return "higher"
	}
	return "lower"
}

// markerWords say what was compared, marker by marker: the days, what else
// lies in them, where a rise begins, and what changed beyond chance.
func markerWords(t *trend.Trends) []string {
	n := comparisons(t)
	if n == 0 {
		return nil
	}
	out := []string{fmt.Sprintf("A rate is called changed where p, two-sided, of the exact test given the total number of events, is at most %s: 0.05 over %s. What is not beyond chance may have changed all the same, within the interval of the ratio. Other things changed too: a ratio says that the rate changed, not why; and an action often follows bad months, after which a rate falls back by itself. The comparison is of the whole fleet: it can hide what changed at one base or type.",
		probability(markerBound(t)), count(n, "comparison"))}
	for k, m := range markersOf(t) {
		out = append(out, markerSentences(t, k, m))
	}
	return out
}

func markerSentences(t *trend.Trends, k int, m trend.Marker) string {
	var names []string // of the series that changed
	var first *trend.Effect
	told := false // whether any rate has both sides
	text, all := "", claims(t)
	for i := range t.Series {
		s := &t.Series[i]
		for j := range s.Markers {
			e := &s.Markers[j]
			if e.Marker != m {
				continue
			}
			if first == nil {
				first = e
			}
			told = told || e.Before.Told > 0 && e.After.Told > 0
			if word := changed(*e, markerBound(t)); word == "higher" || word == "lower" {
				names = append(names, fmt.Sprintf("%s %s, %s times (%s to %s)", s.Name, word, three(e.Ratio.Ratio), three(e.Ratio.Interval.Low), three(e.Ratio.Interval.High)))
			}
			text += beginWords(t, s, all, m) + coverBeside(s, e)
		}
	}
	out := fmt.Sprintf("%s, %s, %s: %s%s", letter(k), dateWords(m.Date), m.Label, windowWords(first), besideWords(t, k, first))
	switch {
	case !told:
		return out + " So nothing can be said of this action." + text
	case len(names) == 0:
		return out + " No rate changed beyond chance." + text
	}
	return out + " Changed beyond chance: " + list(names) + "." + text
}

func dateWords(d time.Time) string { return d.Format("2 January 2006") }

// windowWords name the days on both sides of a marker.
func windowWords(e *trend.Effect) string {
	date := e.Marker.Date
	switch none := "the archive has no day of the " + count(e.Months, "month"); {
	case !e.From.Before(date):
		return none + " before it."
	case e.To.Before(date):
		return none + " from it on."
	}
	side := func(from, to time.Time, whole bool) string {
		months := fmt.Sprintf("%d months", e.Months)
		if !whole {
			months = "only " + monthsLong(to.Sub(from).Hours()/24+1)
		}
		return fmt.Sprintf("%s (%s to %s)", months, dateWords(from), dateWords(to))
	}
	before := e.From.Equal(date.AddDate(0, -e.Months, 0))
	after := e.To.Equal(date.AddDate(0, e.Months, -1))
	out := fmt.Sprintf("compared are %s before it and %s from it on.", side(e.From, date.AddDate(0, 0, -1), before), side(date, e.To, after))
	if !before || !after {
		out += " Sides of unlike length hold unlike seasons."
	}
	return out
}

const daysPerMonth = 30.44

func monthsLong(days float64) string {
	if days < 45 {
		return count(int(math.Round(days)), "day")
	}
	return "about " + count(int(math.Round(days/daysPerMonth)), "month")
}

// besideWords name the other actions within the days compared.
func besideWords(t *trend.Trends, k int, e *trend.Effect) string {
	var letters []string
	for i, o := range markersOf(t) {
		same := o.Check == "" || e.Marker.Check == "" || o.Check == e.Marker.Check
		if i != k && same && o.Date.After(e.From) && !o.Date.After(e.To) {
			letters = append(letters, letter(i))
		}
	}
	switch len(letters) {
	case 0:
		return ""
	case 1:
		return " Action " + letters[0] + " lies within these days too."
	}
	return " Actions " + list(letters) + " lie within these days too."
}

// beginWords say how the begin of a rise lies to the marker: an action after
// which a rise begins did not end it, and one that a rise precedes did not
// bring it about.
func beginWords(t *trend.Trends, s *trend.Series, all []claim, m trend.Marker) string {
	var mine []claim
	for _, c := range all {
		if c.series == s.Name && c.kind <= higher {
			mine = append(mine, c)
		}
	}
	if len(mine) == 0 {
		return ""
	}
	_, rise := leadOf(s, mine)
	if rise.series == "" {
		return ""
	}
	if date := trend.MonthOf(m.Date); date < t.Span.From || date > t.Span.To {
		return ""
	}
	return fmt.Sprintf(" The rise of %s %s begins about %s, %s.", eventsOf(s.Name), rise.place(), month(rise.began()), besideAction(rise, trend.MonthOf(m.Date)))
}

// besideAction says which came first, the rise or the action, as far as the
// counts tell it.
func besideAction(rise claim, action trend.Month) string {
	b := rise.begin
	if !b.Known() {
		b = trend.Begin{Likely: rise.began(), From: rise.began(), To: rise.began()}
	}
	switch {
	case b.From > action:
		return "about " + count(int(b.Likely-action), "month") + " after the action"
	case b.To < action:
		return "about " + count(int(action-b.Likely), "month") + " before the action"
	}
	return fmt.Sprintf("but its counts allow %s to %s: whether before or after the action cannot be told", month(b.From), month(b.To))
}

// coverBeside warns where the check was not told as often on both sides.
func coverBeside(s *trend.Series, e *trend.Effect) string {
	if !(math.Abs(e.CoverBefore-e.CoverAfter) >= 0.05) { // also where one side is empty
		return ""
	}
	return fmt.Sprintf(" %s was told on %s of attempts before and on %s after; look at the coverage first.", upper(s.Name), percent(e.CoverBefore), percent(e.CoverAfter))
}
