package page

import (
	"fmt"
	"math"
	"strings"

	"rollonset/detect/takeoff"
	"rollonset/report/trend"
)

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
	out[0] = fmt.Sprintf("%s from %s to %s; %s to %s is compared with the baseline, %s to %s (%s).", count(attempts, "takeoff attempt"),
		month(t.Span.From), month(t.Span.To), month(t.Watched.From), month(t.Watched.To), month(t.Baseline.From), month(t.Baseline.To), t.BaselineWhy)
	all := claims(t)
	out = append(out, risingWords(t, all)...)
	out = append(out, unwatchedWords(t)...)
	out = append(out, nearerWords(t, all)...)
	out = append(out, coverWords(t, all)...)
	if open, events := unreviewed(t); open > 0 {
		out = append(out, reviewWords(t, open, events))
	}
	return append(out, budgetWords(t, all))
}

// reviewWords set the unreviewed events of the whole archive apart from those
// of a period that a report speaks of.
func reviewWords(t *trend.Trends, open, events int) string {
	out := fmt.Sprintf("Of the %s of all months that are not nuisance or data fault, %d have no review yet; ", count(events, "event"), open)
	if t.ValidOnly {
		return out + "they do not count here."
	}
	return out + "they count, and a part of them will turn out to be nuisance."
}

func unreviewed(t *trend.Trends) (open, events int) {
	for i := range t.Series {
		if s := &t.Series[i]; s.Kind != trend.RejectKind || s.Name == trend.RejectsAll { // the classes are in all rejects
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
	case trend.RejectsBefore:
		return "rejects before the roll"
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
		out = append(out, risingSentence(t, s, mine))
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
func risingSentence(t *trend.Trends, s *trend.Series, mine []claim) string {
	lead, rise := leadOf(s, mine)
	figure := rateWords(lead.best.Events, lead.best.Told)
	if b := lead.begin; lead.kind == rising && b.Known() {
		figure = rateWords(b.Events, b.Told)
	}
	text := "The rate of " + eventsOf(s.Name)
	switch {
	case lead.kind == rising:
		text += fmt.Sprintf(" %s %s %s, by more than chance: %s, against %s", rises(s, lead), lead.place(), lead.sinceWords(), figure, against(s, lead))
		if fellBack(s, lead) {
			text += "; of late it is no longer above"
		}
	case rise.series != "":
		text += fmt.Sprintf(" %s since about %s, by more than chance, most clearly %s: %s there, against %s", rises(s, rise), rise.since.Format("January 2006"), lead.place(), figure, against(s, lead))
	default:
		text += fmt.Sprintf(" is higher than elsewhere %s, by more than chance: %s, against %s", lead.place(), figure, against(s, lead))
	}
	var also []string
	for _, c := range mine {
		if c.by != lead.by || c.where != lead.where {
			where := c.place()
			if fellBack(s, c) {
				where += ", where it is of late no longer above"
			}
			also = append(also, where)
		}
	}
	if len(also) > 0 {
		text += "; alerts also " + list(also[:min(len(also), 4)])
	}
	return text + ". " + sureWords(t, lead.best) + coverageNote(s) + "."
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
		out = append(out, fmt.Sprintf("%s on type %s %s: the median of ordinary takeoffs went from %s in %s to %s in %s, with or without events. %s.",
			what, c.where, verb, With(first.P50, unit), month(first.Month), With(last.P50, unit), month(last.Month), sureWords(t, c.best)))
	}
	if len(out) == 0 {
		out = append(out, "No margin of ordinary takeoffs is shrinking by more than chance.")
	}
	return out
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
		out = append(out, fmt.Sprintf("Coverage, not safety: %s %s %s on %d of %d attempts since %s; its rate there says nothing until the sensor is mended. %s.",
			c.series, why, c.place(), c.best.Events, c.best.Told, c.since.Format("January 2006"), sureWords(t, c.best)))
	}
	if n := len(t.Blind); n > 0 {
		out = append(out, fmt.Sprintf("On %s a check was not told at all, before or since.", count(n, "pair of check and tail")))
	}
	if len(out) == 0 {
		out = append(out, "No check is told, or shows life, on fewer attempts than before by more than chance.")
	}
	for i := range t.Series {
		if s := &t.Series[i]; s.Caution != "" {
			out = append(out, upper(s.Name)+": "+s.Caution)
		}
	}
	return out
}

func rateWords(events, told int) string {
	return fmt.Sprintf("%s in %s, %s per 1,000", count(events, "event"), count(told, "takeoff"), three(1000*float64(events)/float64(told)))
}

// probability writes a p value as everywhere.
func probability(p float64) string {
	if math.IsNaN(p) {
		return None
	}
	return trend.Probability(p)
}

// three writes three significant digits, without an exponent.
func three(v float64) string {
	switch {
	case math.IsNaN(v):
		return None
	case math.IsInf(v, 1):
		return "no upper end"
	}
	return Number(v, min(8, trend.Digits(v)))
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
