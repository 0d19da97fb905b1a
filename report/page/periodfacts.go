package page

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"time"

	"rollonset/detect/takeoff"
	"rollonset/report/archive"
	"rollonset/report/trend"
)

// PeriodFacts are what happened in some months: the counts, the events with
// their reviews, the coverage, and the high events that nobody has reviewed.
type PeriodFacts struct {
	Months trend.Period
	// AsOf is the day from which ages are counted: the last day of the period,
	// or the last day with a takeoff if that is earlier.
	AsOf       time.Time
	Recordings int // with a takeoff attempt in the period
	Attempts   int
	Outcomes   map[string]int
	Events     []PeriodEvent // worst first, then by date
	Open       []PeriodEvent // high, not reviewed, up to AsOf, the oldest first
	Coverage   []PeriodCoverage
	Runs       PeriodRuns
}

// PeriodEvent is one event.
type PeriodEvent struct {
	Date        time.Time
	Severity    string
	Kind, Check string // as in archive.EventSummary
	Text        string
	Tail, Type  string
	Place       string // aerodrome and runway
	ID, Rule    string
	Folder      string // of the flight when it has a page, "" otherwise
	Review      trend.Review
}

// PeriodCoverage is one check: on how many attempts it could be told, and why not.
type PeriodCoverage struct {
	Check          string
	Told, Attempts int
	Reasons        map[string]int
}

// PeriodRuns are the runs that brought recordings of the period.
type PeriodRuns struct {
	Runs, Received, Unreadable, Missing int
	Problems                            []archive.RecordingLine // the unreadable ones
}

// ReadPeriod gathers the facts from the archive: rows of the view, and the
// summaries of the attempts with events. reviews may be nil.
func ReadPeriod(a *archive.Archive, v *archive.View, p trend.Period, reviews trend.Reviews) (*PeriodFacts, error) {
	if reviews == nil {
		reviews = func(string, string, string) trend.Review { return trend.Unreviewed }
	}
	g := periodGatherer{a: a, reviews: reviews, rows: map[string][]PeriodEvent{}, out: &PeriodFacts{Months: p, Outcomes: map[string]int{}}, coverage: map[string]*PeriodCoverage{}, recordings: map[string]bool{}}
	for f, err := range v.Findings() {
		if err != nil {
			return nil, err
		}
		g.finding(&f)
	}
	for row, err := range v.Attempts() {
		if err != nil {
			return nil, err
		}
		if err := g.attempt(&row); err != nil {
			return nil, err
		}
	}
	if err := g.runs(); err != nil {
		return nil, err
	}
	return g.finish(), nil
}

type periodGatherer struct {
	a          *archive.Archive
	reviews    trend.Reviews
	rows       map[string][]PeriodEvent // configuration events by attempt
	coverage   map[string]*PeriodCoverage
	recordings map[string]bool
	last       time.Time
	out        *PeriodFacts
}

// upTo says whether a day is not after the period; what is not dated is in
// no period.
func (g *periodGatherer) upTo(p *archive.Place) bool {
	return !p.Date.IsZero() && trend.MonthOf(p.Date) <= g.out.Months.To
}

func (g *periodGatherer) finding(f *archive.FindingView) {
	if f.Outcome == string(takeoff.TouchAndGo) || !g.upTo(&f.Place) {
		return
	}
	if f.State == outside && f.Severity != "" {
		e := g.event(&f.Place, f.ID, "configuration", f.Check, f.Severity)
		e.Text = f.Check + ": out of limits"
		if f.Limit != "" {
			e.Text += " (limit " + minuses(f.Limit) + ")"
		}
		g.rows[f.ID] = append(g.rows[f.ID], e)
	}
	if !g.out.Months.Has(trend.MonthOf(f.Date)) {
		return
	}
	c := g.coverage[f.Check]
	if c == nil {
		c = &PeriodCoverage{Check: f.Check, Reasons: map[string]int{}}
		g.coverage[f.Check] = c
	}
	c.Attempts++
	if f.State == unknown {
		c.Reasons[known(f.Reason, "no reason given")]++
		return
	}
	c.Told++
}

func (g *periodGatherer) event(p *archive.Place, id, kind, check, severity string) PeriodEvent {
	return PeriodEvent{
		Date: p.Date, Severity: severity, Kind: kind, Check: check, Tail: p.Tail, Type: p.TypeOrProfile(),
		Place: strings.TrimSpace(p.Aerodrome + " " + p.Runway), ID: id, Review: g.reviews(id, kind, check),
	}
}

func (g *periodGatherer) attempt(r *archive.AttemptView) error {
	if r.Outcome == string(takeoff.TouchAndGo) || !g.upTo(&r.Place) {
		return nil
	}
	if r.Date.After(g.last) {
		g.last = r.Date
	}
	events := g.rows[r.ID]
	if r.Class != "" && r.RejectSeverity != "" {
		e := g.event(&r.Place, r.ID, "reject", r.Class, r.RejectSeverity)
		e.Text = "Reject, " + r.Class
		if r.CutSpeed == r.CutSpeed { // NaN when it cannot be told
			e.Text += ", thrust cut at " + Number(r.CutSpeed, 0) + " kt"
		}
		events = append(events, e)
	}
	within := g.out.Months.Has(trend.MonthOf(r.Date))
	// The summary has the events as a person should read them, those of the
	// warning among them; a flight whose folder was removed has its rows.
	if r.Events > 0 && (within || r.Severity == "high") {
		full, err := g.full(r)
		if err != nil {
			return err
		}
		if full != nil {
			events = full
		}
	}
	for _, e := range events {
		if e.Severity == "high" && e.Review == trend.Unreviewed {
			g.out.Open = append(g.out.Open, e)
		}
	}
	if !within {
		return nil
	}
	g.recordings[r.Key] = true
	g.out.Attempts++
	g.out.Outcomes[r.Outcome]++
	g.out.Events = append(g.out.Events, events...)
	return nil
}

// full reads the events of an attempt from its summary; nil without one.
func (g *periodGatherer) full(r *archive.AttemptView) ([]PeriodEvent, error) {
	s, err := g.a.Read(r.Folder)
	if errors.Is(err, fs.ErrNotExist) || err == nil && s.Key != r.Key {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	_, err = os.Stat(g.a.Path(path.Join(r.Folder, archive.PageFile)))
	hasPage := err == nil
	for _, a := range s.Attempts {
		if a.ID != r.ID {
			continue
		}
		out := []PeriodEvent{}
		for _, e := range a.Events {
			one := g.event(&r.Place, r.ID, e.Kind, e.Check, e.Severity)
			one.Text, one.Rule = EventText(e, a), RuleWords(e.Rule, e.Check, a)
			if hasPage {
				one.Folder = r.Folder
			}
			out = append(out, one)
		}
		return out, nil
	}
	return nil, nil
}

// runs counts the runs that brought recordings of the period. What could not
// be read has no date, so it belongs to the period of the run's other ones.
func (g *periodGatherer) runs() error {
	ids, err := g.a.Runs()
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, id := range ids {
		run, err := g.a.ReadRun(id)
		if err != nil {
			return fmt.Errorf("reading the run records: %w", err)
		}
		if !slices.ContainsFunc(run.Recordings, func(l archive.RecordingLine) bool { return g.inPeriod(l.Folder) }) {
			continue
		}
		r := &g.out.Runs
		r.Runs++
		r.Missing += len(run.Missing)
		for _, l := range run.Recordings {
			if seen[l.File] { // the same file, tried again by a later run
				continue
			}
			seen[l.File] = true
			r.Received++
			if l.Status == "unreadable" {
				r.Unreadable++
				r.Problems = append(r.Problems, l)
			}
		}
	}
	return nil
}

// inPeriod says whether a flight folder, flights/2031/03/07/…, lies in the period.
func (g *periodGatherer) inPeriod(folder string) bool {
	day, err := time.Parse("flights/2006/01/02", path.Dir(folder))
	return err == nil && g.out.Months.Has(trend.MonthOf(day))
}

func (g *periodGatherer) finish() *PeriodFacts {
	out := g.out
	out.Recordings = len(g.recordings)
	out.AsOf = (out.Months.To + 1).Start().AddDate(0, 0, -1)
	if !g.last.IsZero() && g.last.Before(out.AsOf) {
		out.AsOf = g.last
	}
	byDate := func(a, b PeriodEvent) int {
		return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.ID, b.ID), cmp.Compare(a.Check, b.Check))
	}
	slices.SortStableFunc(out.Open, byDate)
	slices.SortStableFunc(out.Events, func(a, b PeriodEvent) int {
		return cmp.Or(cmp.Compare(rank(a.Severity), rank(b.Severity)), byDate(a, b))
	})
	for _, c := range g.coverage {
		out.Coverage = append(out.Coverage, *c)
	}
	slices.SortFunc(out.Coverage, func(a, b PeriodCoverage) int { return cmp.Compare(a.Check, b.Check) })
	return out
}
