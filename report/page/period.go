package page

import (
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"
	"time"

	"rollonset/report/trend"
)

// PeriodOptions are what the report of a period takes beside its facts.
type PeriodOptions struct {
	// Archive is the address of the archive from the report, for links to the
	// pages of events; "" for none.
	Archive string
	Caution string
	Source  string
	Basis   Basis // of the months of the period
}

type periodView struct {
	shell
	Headline                                string
	Opening                                 []string
	Counts, Events, Rates, Alerts, Coverage table
	Ages, Open, Problems                    table
	Pictures                                []trendPicture
	Left, PWords                            string
	PaperLeft, PaperPictures                string
	RateWords                               []string
	Caution, Source                         string
}

// mostEvents is how many events a report lists; a year has too many to read.
const mostEvents = 200

// mostPrinted is how many of them go on paper, and mostDrawn how many pictures;
// trends.css holds the same numbers.
const (
	mostPrinted = 40
	mostDrawn   = 6
)

// Period writes the report of some months for a meeting: one file that prints.
// t are the trends up to the end of the period and no further, so that the
// report of an old month says what could be known then.
func Period(w io.Writer, f *PeriodFacts, t *trend.Trends, o PeriodOptions) error {
	v := periodView{
		Headline: "Takeoffs of " + periodWords(f.Months), Counts: countTable(f), Rates: periodRates(f, t), Alerts: alertTable(t),
		Coverage: periodCoverage(f), PWords: pWords, RateWords: append([]string{sameRules(t), countedWords(t)}, o.Basis.words()...), Ages: ageTable(f), Open: openTable(f, o), Problems: problemTable(f), Caution: o.Caution, Source: o.Source,
	}
	v.Opening = PeriodWords(f, t)
	v.Events, v.Left = periodEvents(f, o)
	if len(v.Events.Rows) > mostPrinted {
		v.PaperLeft = fmt.Sprintf("On paper the first %d of them; the others are in the page on the screen.", mostPrinted)
	}
	v.Pictures = periodPictures(t)
	if len(v.Pictures) > mostDrawn {
		v.PaperPictures = fmt.Sprintf("On paper the first %d pictures, what alerts concern before the rest; the others are in the page on the screen.", mostDrawn)
	}
	v.shell = trendShell(v.Headline).withStyle(stacked(v.Problems, v.Events, v.Rates, v.Alerts, v.Coverage, v.Open))
	if err := templates().ExecuteTemplate(w, "period", v); err != nil {
		return fmt.Errorf("report of %s: %w", f.Months, err)
	}
	return nil
}

// periodPictures are the months of every series with events, those first that
// an alert concerns.
func periodPictures(t *trend.Trends) []trendPicture {
	moved := map[string]bool{}
	for _, a := range t.Alerts {
		moved[a.Series] = true
	}
	var first, then []trendPicture
	for i := range t.Series {
		s := &t.Series[i]
		if s.Rate.Events == 0 {
			continue
		}
		p := monthPicture(t, s, sectionID("p", i))
		p.Caption = upper(s.Name)
		if moved[s.Name] {
			first = append(first, p)
		} else {
			then = append(then, p)
		}
	}
	return append(first, then...)
}

// periodWords is a month or a year as a person writes it.
func periodWords(p trend.Period) string {
	switch {
	case p.From == p.To:
		return month(p.From)
	case p.Months() == 12 && int(p.From)%12 == 0:
		return strconv.Itoa(int(p.From) / 12)
	}
	return month(p.From) + " to " + month(p.To)
}

// PeriodWords are the sentences that the report begins with.
func PeriodWords(f *PeriodFacts, t *trend.Trends) []string {
	if f.Attempts == 0 {
		return []string{"The archive holds no takeoff attempt of " + periodWords(f.Months) + "."}
	}
	by, reviewed := map[string]int{}, map[trend.Review]int{}
	for _, e := range f.Events {
		by[e.Severity]++
		reviewed[e.Review]++
	}
	out := []string{
		fmt.Sprintf("%s on %s: %s.", count(f.Attempts, "takeoff attempt"), count(f.Recordings, "recording"), outcomeCounts(f.Outcomes)),
		fmt.Sprintf("%s: %d high, %d medium, %d low; %d not reviewed, %d valid, %d nuisance, %d data fault. The last two are in no rate.", count(len(f.Events), "event"),
			by["high"], by["medium"], by["low"], reviewed[trend.Unreviewed], reviewed[trend.Valid], reviewed[trend.Nuisance], reviewed[trend.DataFault]),
	}
	if n := len(f.Open); n > 0 {
		out = append(out, fmt.Sprintf("%s of high severity %s not been reviewed on %s; the oldest is of %s.",
			count(n, "event"), map[bool]string{true: "has", false: "have"}[n == 1], f.AsOf.Format("2 January 2006"), f.Open[0].Date.Format("2 January 2006")))
	}
	if t.Watched.Months() == 0 {
		return append(out, "The archive is too short to compare the period with a baseline.")
	}
	out = append(out, fmt.Sprintf("What follows is of all months since the baseline: %s to %s is compared with %s to %s (%s).",
		month(t.Watched.From), month(t.Watched.To), month(t.Baseline.From), month(t.Baseline.To), t.BaselineWhy))
	words := TrendWords(t)
	return append(out, words[1:]...)
}

func outcomeCounts(outcomes map[string]int) string {
	var parts []string
	for _, o := range outcomeOrder() {
		if n := outcomes[o]; n > 0 {
			parts = append(parts, strconv.Itoa(n)+" "+o)
		}
	}
	return list(parts)
}

func countTable(f *PeriodFacts) table {
	t := table{Caption: "What came in, and what it held", Head: []head{{Text: "What"}, {Text: "Count", Num: true}}}
	add := func(what string, n int) { t.Rows = append(t.Rows, []cell{rowHead(what), num(strconv.Itoa(n))}) }
	if f.Runs.Runs > 0 {
		add("recordings that came in, by the runs that brought the period", f.Runs.Received)
		add("of these, unreadable", f.Runs.Unreadable)
		add("flights of the lists without a recording, in these runs", f.Runs.Missing)
	}
	add("recordings with a takeoff attempt in the period", f.Recordings)
	add("takeoff attempts (touch-and-goes are not among them)", f.Attempts)
	for _, o := range outcomeOrder() {
		if n := f.Outcomes[o]; n > 0 {
			add("of these, "+o, n)
		}
	}
	add("events", len(f.Events))
	return t
}

// reviewWord is the review as the report shows it.
func reviewWord(r trend.Review) string {
	if r == trend.Unreviewed {
		return "not reviewed"
	}
	return string(r)
}

// periodEvents lists the events worst first, and says what is left out.
func periodEvents(f *PeriodFacts, o PeriodOptions) (table, string) {
	t := table{ID: "period-events", Kind: "period-events", Narrow: flows, Caption: "Events, worst first", Sort: true, Empty: "No event.", Head: columns("Severity", "Event", "Date", "Tail", "Type", "Place", "Review", "Event id")}
	for _, e := range f.Events[:min(len(f.Events), mostEvents)] {
		t.Rows = append(t.Rows, []cell{
			severityCell(e.Severity),
			{Text: e.Text, Href: o.link(e)},
			text(e.Date.Format(time.DateOnly)), text(known(e.Tail, None)), text(known(e.Type, None)),
			text(known(e.Place, None)), text(reviewWord(e.Review)), mono(e.ID),
		})
	}
	if n := len(f.Events) - mostEvents; n > 0 {
		return t, fmt.Sprintf("The first %d of %d events, worst first; all of them are counted, and the archive has them all.", mostEvents, len(f.Events))
	}
	return t, ""
}

func (o PeriodOptions) link(e PeriodEvent) string {
	if o.Archive == "" || e.Folder == "" {
		return ""
	}
	return path.Join(o.Archive, e.Folder, "summary.html")
}

// periodRates are the rates of the period beside those of the baseline.
func periodRates(f *PeriodFacts, t *trend.Trends) table {
	out := table{ID: "period-rates", Kind: "period-rates", Narrow: stacks, Caption: "Rates per 1,000 takeoffs on which it could be told", Sort: true, Empty: "No check and no reject.", Head: []head{
		{Text: "Check or reject"},
		{Text: "Events", Num: true},
		{Text: "Takeoffs told", Num: true},
		{Text: "Coverage", Num: true},
		{Text: "Rate, 95 % interval", Unit: "per 1,000", Num: true},
		{Text: "Baseline", Unit: "per 1,000", Num: true},
		{Text: "Not reviewed", Num: true},
		{Text: "Nuisance, data fault", Num: true},
		{Text: "Since the baseline"},
	}}
	for i := range t.Series {
		s := &t.Series[i]
		sum, r := t.Over(s, f.Months)
		out.Rows = append(out.Rows, []cell{
			rowHead(s.Name), num(strconv.Itoa(r.Events)), num(strconv.Itoa(sum.Told)), num(percent(sum.Coverage())), rateCell(r), rateCell(s.BaselineRate),
			num(strconv.Itoa(sum.Unreviewed)), num(strconv.Itoa(sum.Nuisance) + ", " + strconv.Itoa(sum.DataFault)), text(verdict(t, s)),
		})
	}
	return out
}

// sameRules says how the report stands to the trend page.
func sameRules(t *trend.Trends) string {
	out := "Rates, alerts and what a row says follow the rules of the trend page, over the archive up to the end of this period and no further"
	if t.Watched.Months() > 0 {
		out += "; the baseline may be another on a later page"
	}
	return out + ". Events, takeoffs and rate of a row are those of this period; what it says is of all months since the baseline. The list of events also has those of the warning, which are in no rate."
}

func periodCoverage(f *PeriodFacts) table {
	t := table{ID: "period-coverage", Kind: "period-coverage", Narrow: flows, Caption: "Coverage: on how many attempts each check could be told", Sort: true, Empty: "No check was run.", Head: []head{
		{Text: "Check"}, {Text: "Told", Num: true}, {Text: "Attempts", Num: true}, {Text: "Coverage", Num: true}, {Text: "Reasons, attempts"},
	}}
	for _, c := range f.Coverage {
		t.Rows = append(t.Rows, []cell{
			rowHead(c.Check), num(strconv.Itoa(c.Told)), num(strconv.Itoa(c.Attempts)), num(percent(float64(c.Told) / float64(c.Attempts))), text(known(reasonWords(c.Reasons), None)),
		})
	}
	return t
}

// ageBands are the ages in days, each up to its end.
var ageBands = []struct {
	name string
	to   int
}{{"up to 7 days", 7}, {"8 to 30 days", 30}, {"31 to 90 days", 90}, {"older than 90 days", 1 << 30}}

func age(f *PeriodFacts, e PeriodEvent) int { return int(f.AsOf.Sub(e.Date).Hours() / 24) }

func ageTable(f *PeriodFacts) table {
	t := table{Caption: "High events that nobody has reviewed, by age on " + f.AsOf.Format("2 January 2006"), Head: []head{{Text: "Age"}, {Text: "Events", Num: true}}}
	if len(f.Open) == 0 {
		t.Empty = "Every event of high severity has been reviewed, or there is none."
		return t
	}
	from := 0
	for _, b := range ageBands {
		n := 0
		for _, e := range f.Open {
			if days := age(f, e); days >= from && days <= b.to {
				n++
			}
		}
		from = b.to + 1
		t.Rows = append(t.Rows, []cell{rowHead(b.name), num(strconv.Itoa(n))})
	}
	return t
}

// openTable lists the oldest of them.
func openTable(f *PeriodFacts, o PeriodOptions) table {
	const most = 20
	t := table{Kind: "open", Narrow: flows, Caption: "The oldest of them", Head: []head{{Text: "Date"}, {Text: "Age", Unit: "days", Num: true}, {Text: "Event"}, {Text: "Tail"}, {Text: "Event id"}}}
	for _, e := range f.Open[:min(len(f.Open), most)] {
		t.Rows = append(t.Rows, []cell{
			text(e.Date.Format(time.DateOnly)), num(strconv.Itoa(age(f, e))), {Text: e.Text, Href: o.link(e)}, text(known(e.Tail, None)), mono(e.ID),
		})
	}
	return t
}

func problemTable(f *PeriodFacts) table {
	t := table{Kind: "problems", Narrow: stacks, Caption: "What could not be read, and why", Empty: "Every recording of these runs was read.", Head: columns("Recording", "Why")}
	if f.Runs.Runs == 0 {
		t.Empty = "The archive has no record of the runs that brought the period."
	}
	for _, l := range f.Runs.Problems {
		file := l.File[strings.LastIndexAny(l.File, `/\`)+1:]
		t.Rows = append(t.Rows, []cell{mono(file), text(known(l.Problem, "no reason was recorded"))})
	}
	return t
}
