package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"rollonset/report/trend"
)

// claim is what the alerts say about one series in one place, all rules
// together: three rules that see the same events are one piece of news.
type claim struct {
	series string
	by     trend.By
	where  string
	kind   news
	rules  []trend.Rule
	best   trend.Alert // the least probable of that kind
	since  time.Time   // the earliest
	begin  trend.Begin // of a rate
}

// news is the kind of a piece of news; they are never mixed in one sentence.
type news int

const (
	rising  news = iota // more events than before
	higher              // more events than elsewhere
	nearer              // margins shrink, or a measure drifts
	unheard             // a check is no longer told, or shows no life
)

func newsOf(rule trend.Rule) news {
	switch rule {
	case trend.GroupRule:
		return higher
	case trend.DriftRule:
		return nearer
	case trend.CoverageRule, trend.LifeRule:
		return unheard
	}
	return rising
}

// claims gathers the alerts, the least probable of each series first.
func claims(t *trend.Trends) []claim {
	var out []claim
	for _, a := range t.Alerts {
		kind := newsOf(a.Rule)
		i := slices.IndexFunc(out, func(c claim) bool {
			same := c.kind == kind || c.kind <= higher && kind <= higher
			return c.series == a.Series && c.by == a.By && c.where == a.Where && same
		})
		if i < 0 {
			out = append(out, claim{series: a.Series, by: a.By, where: a.Where, kind: kind, best: a, since: a.Since, begin: a.Begin})
			i = len(out) - 1
		}
		c := &out[i]
		// What rises is more than what is high, and has a beginning: the rule
		// of groups looks at all watched months together. So its figure is not
		// the one to set against the time before.
		if kind < c.kind || kind == c.kind && a.Since.Before(c.since) {
			c.since = a.Since
		}
		if kind < c.kind || kind == c.kind && a.P < c.best.P {
			c.best = a
		}
		c.kind = min(c.kind, kind)
		if !slices.Contains(c.rules, a.Rule) {
			c.rules = append(c.rules, a.Rule)
		}
	}
	slices.SortStableFunc(out, func(a, b claim) int {
		return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.series, b.series), cmp.Compare(a.best.P, b.best.P))
	})
	return out
}

// began is the month of the likeliest begin, of a rate by its months and not by
// the rule that saw it.
func (c claim) began() trend.Month {
	if c.begin.Known() {
		return c.begin.Likely
	}
	return trend.MonthOf(c.since)
}

// sinceWords say when a rise began, and how well the counts tell it.
func (c claim) sinceWords() string {
	switch b := c.begin; {
	case b.Known() && b.To-b.From >= 12:
		return fmt.Sprintf("(since when its counts hardly tell: most likely %s, but %s to %s are allowed)", month(b.Likely), month(b.From), month(b.To))
	case b.Known() && b.From != b.To:
		return fmt.Sprintf("since about %s (its counts allow %s to %s)", month(b.Likely), month(b.From), month(b.To))
	}
	return "since about " + month(c.began())
}

// place is where a claim holds.
func (c claim) place() string {
	if c.by == "" {
		return "on the whole fleet"
	}
	if c.by == trend.ByTail || c.by == trend.ByType {
		return "on " + string(c.by) + " " + c.where
	}
	return "at " + string(c.by) + " " + c.where
}

// apart is the probability of so many events at the place at the rate of all
// others: small where it stands out.
func apart(s *trend.Series, c claim) float64 {
	for _, g := range s.Groups {
		for _, m := range g.Members {
			if g.By == c.by && m.Name == c.where {
				return m.P
			}
		}
	}
	return 1
}

// leadOf finds the claim that stands out most from the other places, and the
// one that says when the rate began to rise; that has no series if none does.
func leadOf(s *trend.Series, mine []claim) (lead, rise claim) {
	lead = mine[0]
	for _, c := range mine {
		if c.by != "" && (lead.by == "" || apart(s, c) < apart(s, lead)) {
			lead = c
		}
		if c.kind == rising && (rise.series == "" || c.by == "" || rise.by != "" && c.since.Before(rise.since)) {
			rise = c
		}
	}
	if lead.kind == rising {
		rise = lead
	}
	return lead, rise
}

// fellBack says whether a rise is over, as far as its cumulative sum tells.
func fellBack(s *trend.Series, c claim) bool {
	sum := s.Sum
	for _, g := range s.Groups {
		for _, m := range g.Members {
			if g.By == c.by && m.Name == c.where {
				sum = m.Sum
			}
		}
	}
	return c.kind == rising && sum.FellBack()
}

func rises(s *trend.Series, c claim) string {
	if fellBack(s, c) {
		return "rose"
	}
	return "is rising"
}

// against is what the lead is compared with: where a place has a baseline of
// its own, that; else the fleet's.
func against(s *trend.Series, c claim) string {
	for _, g := range s.Groups {
		for _, m := range g.Members {
			if c.kind == rising && g.By == c.by && m.Name == c.where && m.Sum.Alarm {
				return fmt.Sprintf("%s there in the baseline (%d in %d)", three(m.Baseline.PerThousand), m.Baseline.Events, m.Baseline.Told)
			}
		}
	}
	if c.kind == higher {
		return three(s.WatchedRate.PerThousand) + " on the whole fleet"
	}
	return three(s.BaselineRate.PerThousand) + " in the baseline"
}

// marginsOf finds the margins that a claim is about.
func marginsOf(t *trend.Trends, c claim) (m *trend.Margins, unit string, measure bool) {
	find := func(all []trend.Margins) *trend.Margins {
		for i := range all {
			if all[i].Type == c.where && all[i].Alert {
				return &all[i]
			}
		}
		return nil
	}
	for i := range t.Series {
		if t.Series[i].Name == c.series {
			if m := find(t.Series[i].Margins); m != nil {
				return m, m.Unit, false
			}
		}
	}
	for i := range t.Measures {
		if t.Measures[i].Name == c.series {
			if m := find(t.Measures[i].Margins); m != nil {
				return m, m.Unit, true
			}
		}
	}
	return nil, "", false
}

// ends are the first and last month with takeoffs from the baseline on.
func ends(m *trend.Margins, t *trend.Trends) (first, last trend.MonthSpread) {
	for _, s := range m.Months {
		if s.N == 0 || s.Month < t.Baseline.From {
			continue
		}
		if first.Month == 0 {
			first = s
		}
		last = s
	}
	return first, last
}

// verdict is the one sentence on a series, for its section and the overview.
func verdict(t *trend.Trends, s *trend.Series) string {
	var parts []string
	for _, c := range claims(t) {
		if c.series != s.Name {
			continue
		}
		switch c.kind {
		case rising:
			part := "rising " + c.place() + " since " + c.began().String()
			if fellBack(s, c) {
				part = "rose " + c.place() + " from " + c.began().String() + " on, of late no longer above"
			}
			parts = append(parts, part)
		case higher:
			parts = append(parts, "higher than elsewhere "+c.place())
		case nearer:
			parts = append(parts, "margin shrinking "+c.place())
		case unheard:
			parts = append(parts, "coverage lost "+c.place()+" since "+trend.MonthOf(c.since).String())
		}
	}
	switch {
	case len(parts) > 3:
		return upper(strings.Join(parts[:3], "; ")) + fmt.Sprintf("; and %d more.", len(parts)-3)
	case len(parts) > 0:
		return upper(strings.Join(parts, "; ")) + "."
	case s.Total.Told == 0:
		return "Told on no takeoff: nothing can be said."
	case t.Watched.Months() == 0:
		return "Not compared: no month follows a baseline."
	case math.IsNaN(s.Change.Ratio):
		return "No change beyond chance: no event in either period."
	case math.IsInf(s.Change.Ratio, 1):
		return fmt.Sprintf("No change beyond chance: %s, in the baseline none (p %s, two-sided).", count(s.WatchedRate.Events, "event"), probability(s.Change.P))
	}
	times := fmt.Sprintf("%s times the baseline rate (%s to %s)", three(s.Change.Ratio), three(s.Change.Interval.Low), three(s.Change.Interval.High))
	switch {
	case s.Change.Interval.High < 1:
		return "Lower: " + times + ". No rule looks for a fall, and about one in 40 such intervals lies below 1 by chance."
	case s.Change.Interval.Low > 1:
		return "No alert: " + times + "; about one in 40 such intervals lies above 1 by chance."
	}
	return "No change beyond chance: " + times + "."
}
