package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"rollonset/detect/takeoff"
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
	best   trend.Alert // the least probable
	since  time.Time   // the earliest
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
			out = append(out, claim{series: a.Series, by: a.By, where: a.Where, kind: kind, best: a, since: a.Since})
			i = len(out) - 1
		}
		c := &out[i]
		c.kind = min(c.kind, kind) // what rises is more than what is high
		if !slices.Contains(c.rules, a.Rule) {
			c.rules = append(c.rules, a.Rule)
		}
		if a.P < c.best.P {
			c.best = a
		}
		if a.Since.Before(c.since) {
			c.since = a.Since
		}
	}
	slices.SortStableFunc(out, func(a, b claim) int {
		return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.series, b.series), cmp.Compare(a.best.P, b.best.P))
	})
	return out
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

// TrendWords are the sentences that answer, in this order: is anything
// rising, where, is it more than chance; does the ordinary takeoff come nearer
// to a limit; is it coverage rather than safety; what was looked at and is not
// significant. Page and terminal begin with them.
func TrendWords(t *trend.Trends) []string {
	attempts := attemptsOf(t)
	if attempts == 0 {
		return []string{"The archive holds no dated takeoff attempt, so there is nothing to compare."}
	}
	out := []string{fmt.Sprintf("%s from %s to %s.", count(attempts, "takeoff attempt"), month(t.Span.From), month(t.Span.To))}
	if t.Watched.Months() == 0 {
		return append(out, "No month follows a baseline, so nothing is compared and no alert can be raised; the rates below stand by themselves.")
	}
	out[0] = fmt.Sprintf("%s from %s to %s; %s to %s is compared with the baseline, %s to %s.", count(attempts, "takeoff attempt"),
		month(t.Span.From), month(t.Span.To), month(t.Watched.From), month(t.Watched.To), month(t.Baseline.From), month(t.Baseline.To))
	all := claims(t)
	out = append(out, risingWords(t, all)...)
	out = append(out, unwatchedWords(t)...)
	out = append(out, nearerWords(t, all)...)
	out = append(out, coverWords(t, all)...)
	if open, events := unreviewed(t); open > 0 {
		out = append(out, fmt.Sprintf("%d of %s have no review yet; they count, and a part of them will turn out to be nuisance.", open, count(events, "event")))
	}
	return append(out, budgetWords(t, all))
}

func unreviewed(t *trend.Trends) (open, events int) {
	for i := range t.Series {
		if s := &t.Series[i]; s.Name != trend.RejectsLow && s.Name != trend.RejectsHigh { // they are in all rejects
			open += s.Total.Unreviewed
			events += s.Total.Unreviewed + s.Total.Valid
		}
	}
	return open, events
}

// unwatchedWords say where no alert is no comfort.
func unwatchedWords(t *trend.Trends) []string {
	var names []string
	for i := range t.Series {
		if s := &t.Series[i]; !s.Sum.Watched {
			names = append(names, seriesWord(s.Name))
		}
	}
	if len(names) == 0 {
		return nil
	}
	return []string{"The baseline has too few events to watch " + list(names) + " by a cumulative sum; even a doubled rate could go unseen there for long."}
}

// budgetWords set the alerts beside those that chance would raise.
func budgetWords(t *trend.Trends, all []claim) string {
	type matter struct {
		series string
		kind   news
	}
	matters := map[matter]bool{}
	for _, c := range all {
		matters[matter{c.series, max(c.kind, higher)}] = true
	}
	text := fmt.Sprintf("If nothing had changed anywhere, chance alone would raise at most %s on a page like this, on the average; this one has ", averageWords(t.Budget.Expected))
	switch n := len(t.Alerts); {
	case n == 0:
		return text + "none."
	case len(matters) == 1:
		return text + count(n, "alert") + ", on one matter."
	default:
		return text + fmt.Sprintf("%d, on %d matters.", n, len(matters))
	}
}

// seriesWord names a series within a sentence.
func seriesWord(name string) string {
	switch name {
	case trend.RejectsAll:
		return "rejects"
	case trend.RejectsLow:
		return "low-speed rejects"
	case trend.RejectsHigh:
		return "high-speed rejects"
	}
	return name
}

// eventsOf names what a rate counts.
func eventsOf(name string) string {
	if w := seriesWord(name); w != name {
		return w
	}
	return name + " events"
}

func attemptsOf(t *trend.Trends) int {
	most := 0
	for _, s := range t.Series {
		most = max(most, s.Total.Attempts)
	}
	return most
}

func averageWords(v float64) string {
	if v == 1 {
		return "one alert"
	}
	return three(v) + " alerts"
}

// risingWords says which rates rise, each with where it is clearest.
func risingWords(t *trend.Trends, all []claim) []string {
	var out []string
	var quiet []string
	for i := range t.Series {
		s := &t.Series[i]
		var mine []claim
		for _, c := range all {
			if c.series == s.Name && c.kind <= higher {
				mine = append(mine, c)
			}
		}
		if len(mine) == 0 {
			quiet = append(quiet, seriesWord(s.Name))
			continue
		}
		out = append(out, risingSentence(s, mine))
	}
	switch {
	case len(out) == 0:
		out = append(out, "No event rate is rising by more than chance, on the fleet or at any type, base, runway or tail.")
	case len(quiet) > 0:
		out = append(out, "Not rising by more than chance: "+list(quiet)+".")
	}
	return out
}

// risingSentence leads with the place that stands out most from the others: a
// rise at one base is one of its types and of the fleet as well, but those
// are not where to look.
func risingSentence(s *trend.Series, mine []claim) string {
	lead, rise := mine[0], claim{}
	for _, c := range mine {
		if c.by != "" && (lead.by == "" || apart(s, c) < apart(s, lead)) {
			lead = c
		}
		if c.kind == rising && (rise.series == "" || c.by == "" || rise.by != "" && c.since.Before(rise.since)) {
			rise = c
		}
	}
	figure := rateWords(lead.best.Events, lead.best.Told)
	text := "The rate of " + eventsOf(s.Name)
	switch {
	case lead.kind == rising:
		text += fmt.Sprintf(" is rising %s since about %s, by more than chance: %s, against %s", lead.place(), lead.since.Format("January 2006"), figure, against(s, lead))
	case rise.series != "":
		text += fmt.Sprintf(" is rising since about %s, by more than chance, most clearly %s: %s there, against %s", rise.since.Format("January 2006"), lead.place(), figure, against(s, lead))
	default:
		text += fmt.Sprintf(" is higher than elsewhere %s, by more than chance: %s, against %s", lead.place(), figure, against(s, lead))
	}
	var also []string
	for _, c := range mine {
		if c.by != lead.by || c.where != lead.where {
			also = append(also, c.place())
		}
	}
	if len(also) > 0 {
		text += "; alerts also " + list(also[:min(len(also), 4)])
	}
	return text + coverageNote(s) + "."
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

// against is what the lead is compared with: where a place has a baseline of
// its own, that; else the fleet's.
func against(s *trend.Series, c claim) string {
	for _, g := range s.Groups {
		for _, m := range g.Members {
			if c.kind == rising && g.By == c.by && m.Name == c.where && m.Sum.Alarm {
				return three(m.Sum.Reference) + " there before"
			}
		}
	}
	if c.kind == higher {
		return three(s.WatchedRate.PerThousand) + " on the whole fleet"
	}
	return three(s.BaselineRate.PerThousand) + " in the baseline"
}

// coverageNote says whether a rise can be one of coverage.
func coverageNote(s *trend.Series) string {
	if math.IsNaN(s.CoverBase) || math.IsNaN(s.CoverWatch) {
		return ""
	}
	if math.Abs(s.CoverBase-s.CoverWatch) < 0.02 {
		return fmt.Sprintf(". It is no effect of coverage: the check was told on %s of attempts before and on %s since", percent(s.CoverBase), percent(s.CoverWatch))
	}
	return fmt.Sprintf(". Coverage changed as well, from %s to %s of attempts; look at it first", percent(s.CoverBase), percent(s.CoverWatch))
}

func nearerWords(t *trend.Trends, all []claim) []string {
	var out []string
	for _, c := range all {
		if c.kind != nearer {
			continue
		}
		m, unit, measure := marginsOf(t, c)
		if m == nil {
			continue
		}
		first, last := ends(m, t)
		what := "The margin of " + c.series
		verb := "shrank"
		if measure {
			what, verb = upper(c.series), "moved"
		}
		out = append(out, fmt.Sprintf("%s on type %s %s: the median of ordinary takeoffs went from %s in %s to %s in %s, with or without events.",
			what, c.where, verb, With(first.P50, unit), month(first.Month), With(last.P50, unit), month(last.Month)))
	}
	if len(out) == 0 {
		out = append(out, "No margin of ordinary takeoffs is shrinking by more than chance.")
	}
	return out
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

func coverWords(t *trend.Trends, all []claim) []string {
	var out []string
	for _, c := range all {
		if c.kind != unheard {
			continue
		}
		why := "is told"
		if c.best.Rule == trend.LifeRule {
			why = "is told by a sensor that shows life"
		}
		out = append(out, fmt.Sprintf("Coverage, not safety: %s %s %s on %d of %d attempts since %s; its rate there says nothing until the sensor is mended.",
			c.series, why, c.place(), c.best.Events, c.best.Told, c.since.Format("January 2006")))
	}
	if n := len(t.Blind); n > 0 {
		out = append(out, fmt.Sprintf("On %s a check was not told at all, before or since.", count(n, "pair of check and tail")))
	}
	if len(out) == 0 {
		out = append(out, "No check is told, or shows life, on fewer attempts than before.")
	}
	for i := range t.Series {
		if s := &t.Series[i]; s.Caution != "" {
			out = append(out, upper(s.Name)+": "+s.Caution)
		}
	}
	return out
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
			parts = append(parts, "rising "+c.place()+" since "+trend.MonthOf(c.since).String())
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
		return fmt.Sprintf("No change beyond chance: %s, in the baseline none (p %s).", count(s.WatchedRate.Events, "event"), three(s.Change.P))
	}
	return fmt.Sprintf("No change beyond chance: %s times the baseline rate (%s to %s).", three(s.Change.Ratio), three(s.Change.Interval.Low), three(s.Change.Interval.High))
}

func rateWords(events, told int) string {
	return fmt.Sprintf("%s in %s, %s per 1,000", count(events, "event"), count(told, "takeoff"), three(1000*float64(events)/float64(told)))
}

// three writes three significant digits, without an exponent.
func three(v float64) string {
	switch {
	case math.IsNaN(v):
		return None
	case math.IsInf(v, 1):
		return "no upper end"
	case v == 0 || math.Abs(v) >= 100:
		return Number(v, 0)
	case math.Abs(v) < 1e-6:
		return "below 0.000001"
	}
	return Number(v, min(8, 2-int(math.Floor(math.Log10(math.Abs(v))))))
}

func percent(share float64) string {
	if math.IsNaN(share) {
		return None
	}
	return Number(100*share, 1) + " %"
}

// month is a month as a person writes it.
func month(m trend.Month) string {
	if m == 0 {
		return None
	}
	return m.Start().Format("January 2006")
}

// upper begins a sentence with a name.
func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// outcomeOrder are the outcomes of attempts in the order of pages.
func outcomeOrder() []string {
	var out []string
	for _, o := range takeoff.Outcomes() {
		out = append(out, string(o))
	}
	return out
}
