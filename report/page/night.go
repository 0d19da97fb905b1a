package page

import (
	"cmp"
	"fmt"
	"io"
	"iter"
	"path"
	"slices"
	"strconv"
	"strings"

	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// NightOptions are what the night page takes beside run and summaries.
type NightOptions struct {
	// HasPage says whether a flight has a page to link to; nil means that
	// those have for which [WorthAPage] holds.
	HasPage func(archive.Summary) bool
	// Trends is the relative address of the trend page, "" for no link.
	Trends string
	// Review says what a person decided about an event, "" for nothing yet; nil
	// leaves the column out.
	Review func(*archive.Summary, *archive.AttemptSummary, archive.EventSummary) string
	// Caution is the sentence of the footer; "" takes that of the summaries.
	Caution string
}

// WorthAPage says whether a flight has something to look at: an event, an
// attempt that was given up, or one whose end cannot be told.
func WorthAPage(s archive.Summary) bool {
	for _, a := range s.Attempts {
		if len(a.Events) > 0 || (a.Outcome != string(takeoff.Airborne) && a.Outcome != string(takeoff.TouchAndGo)) {
			return true
		}
	}
	return false
}

// Each yields summaries that lie in memory, for [Night].
func Each(summaries []archive.Summary) iter.Seq2[archive.Summary, error] {
	return func(yield func(archive.Summary, error) bool) {
		for _, s := range summaries {
			if !yield(s, nil) {
				return
			}
		}
	}
}

// nightView is what the template of the night page reads.
type nightView struct {
	shell
	Headline, RunLine, Caution, Trends string
	Opening                            []string
	Unreadable, Missing, Events        table
	Attempts, Coverage, Life           table
	HasMissing                         bool
}

// Night writes the index of a run over the summaries of its flights, in the
// order in which they come. It keeps rows, not summaries, so that a night of
// thousands fits. An error of the sequence ends it, wrapped with how many
// summaries came before.
func Night(w io.Writer, run archive.Run, summaries iter.Seq2[archive.Summary, error], o NightOptions) error {
	if o.HasPage == nil {
		o.HasPage = WorthAPage
	}
	n := night{options: o, caution: o.Caution, coverage: map[string]*told{}, life: map[lifeKey]int{}}
	for s, err := range summaries {
		if err != nil {
			return fmt.Errorf("night page, after %s: %w", count(n.flights, "summary"), err)
		}
		n.add(s)
	}
	v := nightView{
		Headline: n.headline(), RunLine: runLine(run),
		Opening: n.opening(run), Unreadable: unreadableTable(run), Missing: missingTable(run), HasMissing: len(run.Missing) > 0,
		Events: n.eventTable(), Attempts: n.attemptTable(), Coverage: n.coverageTable(), Life: n.lifeTable(),
		Caution: n.caution, Trends: o.Trends,
	}
	v.shell = newShell(v.Headline+" – recordings, events, attempts", nightScript)
	if err := templates().ExecuteTemplate(w, "night", v); err != nil {
		return fmt.Errorf("night page of run %s: %w", run.ID, err)
	}
	return nil
}

// night gathers what the page shows.
type night struct {
	options  NightOptions
	caution  string
	flights  int
	attempts int
	// first and last are the dates of the flights, 2006-01-02, "" for none.
	first, last string
	outcomes    map[string]int
	events      []ranked
	rows        [][]cell
	checks      []string // in the order in which they first came
	coverage    map[string]*told
	life        map[lifeKey]int
}

// ranked is a row of the event table with what it is sorted by.
type ranked struct {
	severity string
	row      []cell
}

// told counts one check over the night.
type told struct {
	told, attempts int
	reasons        map[string]int
}

type lifeKey struct{ tail, check, why string }

// headline names the days of the flights, not the day of the run: the page is
// a function of the recordings.
func (n *night) headline() string {
	switch {
	case n.first == "":
		return "Takeoffs of recordings without a date"
	case n.first == n.last:
		return "Takeoffs of " + day(n.first)
	}
	return "Takeoffs from " + day(n.first) + " to " + day(n.last)
}

func (n *night) add(s archive.Summary) {
	n.flights++
	if d := s.Flight.Date; d != "" {
		if n.first == "" || d < n.first {
			n.first = d
		}
		n.last = max(n.last, d)
	}
	if n.caution == "" {
		n.caution = s.Caution
	}
	if n.outcomes == nil {
		n.outcomes = map[string]int{}
	}
	href := ""
	if s.Flight.Folder != "" && n.options.HasPage(s) {
		href = path.Join(s.Flight.Folder, "summary.html")
	}
	for _, a := range s.Attempts {
		n.attempts++
		n.outcomes[a.Outcome]++
		n.addAttempt(s, a, href)
	}
	n.addCoverage(s)
}

func (n *night) addAttempt(s archive.Summary, a archive.AttemptSummary, href string) {
	f := s.Flight
	link := ""
	if href != "" {
		link = href + "#attempt-" + strconv.Itoa(a.Number)
	}
	when := whenCell(f, a)
	worst := ""
	for _, e := range a.Events {
		if worst == "" || rank(e.Severity) < rank(worst) {
			worst = e.Severity
		}
		row := []cell{
			severityCell(e.Severity),
			{Text: EventText(e, a), Href: link},
			text(nameOf(s)),
			text(known(f.Flight, None)), when,
			{Text: a.Outcome},
			mono(a.ID),
		}
		if n.options.Review != nil {
			row = append(row, text(known(n.options.Review(&s, &a, e), "not yet")))
		}
		n.events = append(n.events, ranked{e.Severity, row})
	}
	out, untold := 0, 0
	for _, finding := range a.Findings {
		switch finding.State {
		case outside:
			out++
		case within:
		default:
			untold++
		}
	}
	warning := None
	if a.Warning != nil {
		warning = a.Warning.Verdict
	}
	peak := None
	if a.PeakSpeed != nil {
		peak = Number(a.PeakSpeed.Value, 0)
	}
	n.rows = append(n.rows, []cell{
		when, text(nameOf(s)), text(known(f.Flight, None)), text(known(f.Type, None)), text(known(strings.TrimSpace(f.Aerodrome+" "+f.Runway), None)),
		num(strconv.Itoa(a.Number)),
		{Text: a.Outcome, Href: link},
		num(peak), num(strconv.Itoa(out)), num(strconv.Itoa(untold)), text(warning), severityCell(worst),
	})
}

// nameOf names the aircraft of a flight, or its recording where the tail is
// not known.
func nameOf(s archive.Summary) string { return known(s.Flight.Tail, s.Recording.File) }

// whenCell is the date and time of an attempt; its text sorts as time does.
func whenCell(f archive.Flight, a archive.AttemptSummary) cell {
	m := a.Onset
	if m == nil {
		m = a.ThrustAdvance
	}
	if m == nil {
		return text(known(f.Date, None))
	}
	if clock := clockTenths(*m); clock != None {
		return text(strings.TrimSpace(m.UTC[:10] + " " + clock[:8]))
	}
	return text(strings.TrimSpace(f.Date + " +" + Number(m.At, 0) + " s"))
}

func (n *night) addCoverage(s archive.Summary) {
	for _, c := range s.Coverage {
		t := n.coverage[c.Check]
		if t == nil {
			t = &told{reasons: map[string]int{}}
			n.coverage[c.Check] = t
			n.checks = append(n.checks, c.Check)
		}
		t.told += c.Told
		t.attempts += c.Attempts
		if !c.Life {
			n.life[lifeKey{nameOf(s), c.Check, c.LifeWhy}]++
		}
	}
	for _, a := range s.Attempts {
		for _, f := range a.Findings {
			if t := n.coverage[f.Check]; t != nil && f.State == unknown {
				t.reasons[known(f.Reason, "no reason given")]++
			}
		}
	}
}

// opening is the first paragraph: what came in, what it held, what is to be
// looked at, each figure with the name of what it counts.
func (n *night) opening(run archive.Run) []string {
	c := run.Counts
	// Whether this run did a recording or found it done is no fact of the night.
	in := count(c.Received, "recording") + " came in: " + strconv.Itoa(c.Processed+c.Skipped) + " processed"
	if c.Duplicates > 0 {
		in += ", " + strconv.Itoa(c.Duplicates) + " the same as another"
	}
	out := []string{in + ", " + strconv.Itoa(c.Unreadable) + " unreadable."}
	if len(run.Missing) > 0 {
		out = append(out, count(len(run.Missing), "flight")+" of the flight list came without a recording.")
	}
	ends := []string{}
	for _, o := range takeoff.Outcomes() {
		if k := n.outcomes[string(o)]; k > 0 {
			ends = append(ends, strconv.Itoa(k)+" "+string(o))
		}
	}
	if n.attempts == 0 {
		out = append(out, "No takeoff attempt was found.")
	} else {
		out = append(out, "They hold "+count(n.attempts, "takeoff attempt")+": "+strings.Join(ends, ", ")+".")
	}
	by := map[string]int{}
	for _, e := range n.events {
		by[e.severity]++
	}
	if len(n.events) == 0 {
		return append(out, "No event was found; the coverage below says which checks could not be told.")
	}
	return append(out, fmt.Sprintf("%s to look at: %d high, %d medium, %d low.", count(len(n.events), "event"), by["high"], by["medium"], by["low"]))
}

func (n *night) eventTable() table {
	slices.SortStableFunc(n.events, func(a, b ranked) int { return cmp.Compare(rank(a.severity), rank(b.severity)) })
	t := table{
		ID: "events", Caption: "Events to look at, worst first", Sort: true, Empty: "No event.",
		Head: columns("Severity", "Event", "Tail", "Flight", "Onset, UTC", "Attempt", "Event id"),
	}
	if n.options.Review != nil {
		t.Head = append(t.Head, head{Text: "Review"})
	}
	for _, e := range n.events {
		t.Rows = append(t.Rows, e.row)
	}
	return t
}

func (n *night) attemptTable() table {
	return table{
		ID: "attempts", Caption: "Every takeoff attempt", Sort: true, Filter: "Show rows with", Empty: "None was found.", Rows: n.rows,
		Head: []head{
			{Text: "Onset, UTC"},
			{Text: "Tail"},
			{Text: "Flight"},
			{Text: "Type"},
			{Text: "Runway"},
			{Text: "No.", Num: true},
			{Text: "Outcome"},
			{Text: "Peak ground speed", Unit: "kt", Num: true},
			{Text: "Checks out of limits", Num: true},
			{Text: "Checks not told", Num: true},
			{Text: "Warning and condition"},
			{Text: "Worst severity"},
		},
	}
}

func (n *night) coverageTable() table {
	t := table{ID: "coverage-table", Caption: "Coverage: on how many attempts each check could be told", Sort: true, Empty: "No check was run.", Head: []head{
		{Text: "Check"}, {Text: "Told", Num: true}, {Text: "Attempts", Num: true}, {Text: "Not told", Num: true}, {Text: "Reasons, attempts"},
	}}
	for _, check := range n.checks {
		c := n.coverage[check]
		t.Rows = append(t.Rows, []cell{
			rowHead(check), num(strconv.Itoa(c.told)), num(strconv.Itoa(c.attempts)), num(strconv.Itoa(c.attempts - c.told)), text(known(reasonWords(c.reasons), None)),
		})
	}
	return t
}

// reasonWords lists reasons, the most frequent first.
func reasonWords(reasons map[string]int) string {
	words := make([]string, 0, len(reasons))
	for r := range reasons {
		words = append(words, r)
	}
	slices.SortFunc(words, func(a, b string) int {
		return cmp.Or(cmp.Compare(reasons[b], reasons[a]), cmp.Compare(a, b))
	})
	for i, r := range words {
		words[i] = r + ": " + strconv.Itoa(reasons[r])
	}
	return strings.Join(words, "; ")
}

func (n *night) lifeTable() table {
	keys := make([]lifeKey, 0, len(n.life))
	for k := range n.life {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b lifeKey) int {
		return cmp.Or(cmp.Compare(a.tail, b.tail), cmp.Compare(a.check, b.check), cmp.Compare(a.why, b.why))
	})
	t := table{
		ID: "life", Caption: "Sensors that did not show every state a check depends on", Sort: true, Empty: "Every check saw all states it depends on, on every recording.",
		Head: []head{{Text: "Tail"}, {Text: "Check"}, {Text: "Recordings", Num: true}, {Text: "What was not seen"}},
	}
	for _, k := range keys {
		t.Rows = append(t.Rows, []cell{text(k.tail), text(k.check), num(strconv.Itoa(n.life[k])), text(known(k.why, "not told"))})
	}
	return t
}
