package page

import (
	"fmt"
	"io"
	"iter"
	"path"
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
	// Up stands in front of every address in the archive: "" for a page at its
	// top, "../" for one in a folder.
	Up string
	// Seen are the attempts of the night that several recordings hold. The
	// summaries hold those that count.
	Seen []archive.Seen
	// Runs are the other runs, in the order of the list, and Older how many
	// more there are; Later is a run that came after this one, nil when none did.
	Runs  []RunLink
	Older int
	Later *RunLink
}

// WorthAPage says whether a flight has something to look at: an event, an
// attempt that was given up, one whose end cannot be told, or a check that
// cannot be told for what its samples are like, as the reason then says. One
// that cannot be told because something is not recorded or not planned brings
// no page by itself, for it would bring one for every flight of a fleet; the
// night page names those flights with the reason.
func WorthAPage(s archive.Summary) bool {
	for _, a := range s.Attempts {
		if len(a.Events) > 0 || (a.Outcome != string(takeoff.Airborne) && a.Outcome != string(takeoff.TouchAndGo)) {
			return true
		}
		for _, f := range a.Findings {
			if f.State == unknown && strings.Contains(f.Reason, "sample") {
				return true
			}
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
	Doubted                            table
	Attempts, Coverage, Untold, Life   table
	Order, LifeRule, LifeOrder         string
	HasMissing, HasDoubted             bool
	Seen, Runs                         table
	Older                              int
	Later, LaterHref                   string
}

// Night writes the index of a run over the summaries of its flights, in the
// order in which they come. It keeps rows, not summaries, so that a night of
// thousands fits. An error of the sequence ends it, wrapped with how many
// summaries came before.
func Night(w io.Writer, run archive.Run, summaries iter.Seq2[archive.Summary, error], o NightOptions) error {
	if o.HasPage == nil {
		o.HasPage = WorthAPage
	}
	n := night{options: o, caution: o.Caution, untold: map[gap]*places{}, life: map[gap]*places{}, deadness: map[gap]int{}}
	for s, err := range summaries {
		if err != nil {
			return fmt.Errorf("night page, after %s: %w", count(n.flights, "summary"), err)
		}
		n.add(s)
	}
	v := nightView{
		Headline: n.headline(), RunLine: runLine(run),
		Opening: n.opening(run), Unreadable: unreadableTable(run), Missing: missingTable(run), HasMissing: len(run.Missing) > 0,
		Events: n.eventTable(), Attempts: n.attemptTable(), Coverage: n.coverageTable(), Untold: n.untoldTable(), Life: n.lifeTable(),
		Doubted: n.doubtTable(), HasDoubted: len(n.doubts) > 0,
		Caution: n.caution, Trends: o.Trends, Order: EventOrder, LifeRule: lifeRule, LifeOrder: lifeOrder,
		Seen: seenTable(o.Seen, o.Up, func(folder string) bool { return o.HasPage(archive.Summary{Flight: archive.Flight{Folder: folder}}) }),
		Runs: runTable(o.Runs), Older: o.Older,
	}
	if o.Trends != "" {
		v.Trends = o.Up + o.Trends
	}
	if o.Later != nil {
		v.Later, v.LaterHref = laterWords(o.Later), o.Later.Href
	}
	v.shell = newShell(v.Headline+" – recordings, events, attempts", nightScript)
	v.shell = v.withStyle(stacked(v.Unreadable, v.Doubted, v.Events, v.Attempts, v.Coverage, v.Untold, v.Life))
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
	coverage    []*told
	untold      map[gap]*places
	life        map[gap]*places
	deadness    map[gap]int // of the gaps of life
	// untoldAttempts are those on which anything could not be told.
	untoldAttempts int
	// eventFlights are those with an event, doubtedFlights those with data that
	// is not believed.
	eventFlights, doubtedFlights int
	doubts                       map[distrust]*doubtful
}

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
		href = n.options.Up + path.Join(s.Flight.Folder, "summary.html")
	}
	before := len(n.events)
	for _, a := range s.Attempts {
		n.attempts++
		n.outcomes[a.Outcome]++
		n.addAttempt(s, a, href)
	}
	if len(n.events) > before {
		n.eventFlights++
	}
	n.addDoubts(&s)
	n.addCoverage(&s, href)
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
			{Text: EventText(e, a), Href: link, Head: true},
			num(Number(held(e, a), 0)),
			text(nameOf(s)),
			text(known(f.Flight, None)), when,
			{Text: a.Outcome},
			mono(a.ID),
		}
		if n.options.Review != nil {
			row = append(row, text(known(n.options.Review(&s, &a, e), "not yet")))
		}
		n.events = append(n.events, ranked{PlaceOf(f, a, e), row})
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
		warning = VerdictWords(*a.Warning)
	}
	peak := None
	if a.PeakSpeed != nil {
		peak = Number(a.PeakSpeed.Value, 0)
	}
	n.rows = append(n.rows, []cell{
		when, text(nameOf(s)), text(known(f.Flight, None)), text(typeOf(&s)), text(known(strings.TrimSpace(f.Aerodrome+" "+f.Runway), None)),
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
	if n.doubtedFlights > 0 {
		out = append(out, "On "+count(n.doubtedFlights, "recording")+" some data is not believed; the table below says which and why.")
	}
	if n.untoldAttempts > 0 {
		out = append(out, "On "+count(n.untoldAttempts, "attempt")+" something could not be told; the table below the coverage says what and why.")
	}
	by := map[string]int{}
	for _, e := range n.events {
		by[e.severity]++
	}
	if len(n.events) == 0 {
		return append(out, "No event was found; the coverage below says which checks could not be told.")
	}
	return append(out, fmt.Sprintf("%s on %s to look at: %d high, %d medium, %d low.", count(len(n.events), "event"), count(n.eventFlights, "flight"), by["high"], by["medium"], by["low"]))
}

func (n *night) attemptTable() table {
	return table{
		ID: "attempts", Kind: "attempts", Narrow: flows, Caption: "Every takeoff attempt", Sort: true, Filter: "Show rows with", Empty: "None was found.", Rows: n.rows,
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
