package page

import (
	"fmt"
	"html/template"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/report/archive"
	"rollonset/report/chart"
)

// Options are what a flight page takes beside summary and clip. The zero
// value is a page without commands, thresholds and reviews.
type Options struct {
	Commands []Command
	// Levels are lines of the profile to draw into the strips; [Levels] reads
	// them off one.
	Levels []Level
	// Reviews are what persons decided about the events, in order of time.
	Reviews []Review
	// Index is the relative address of the night page, "" for no link.
	Index string
	// Seen are the rows of tables/sightings about this flight; Page gives the
	// address of the page of another flight, "" when it has none.
	Seen []archive.SeenRow
	Page func(folder string) string
}

// Command is a command line with what it is good for.
type Command struct{ For, Line string }

// Review is one decision about an event, as the page shows it.
type Review struct{ Event, Decision, Role, Time, Reason string }

// flightView is what the template of the flight page reads.
type flightView struct {
	shell
	Headline, Identity  string
	Index               string
	Events, Reviews     table
	Order               string // of several events, in words
	Attempts            []attemptView
	LookAlikes          table
	Coverage, Sensors   table
	Evidence, Notes     table
	Commands            []Command
	Caution, ClipFile   string
	HasReviews, HasLook bool
	Before              []Elsewhere // of a recording that begins in a roll
}

// Flight writes the page of one flight. clip holds the samples around the
// attempts; nil, or a clip without samples at an attempt, gives a page that
// says so in place of the traces. An error comes from w, or names a fault of
// the template.
func Flight(w io.Writer, s archive.Summary, clip *flightdata.Recording, o Options) error {
	v := flightView{
		Headline: flightHeadline(s), Identity: identity(s), Index: o.Index,
		Events: eventTable(s), Reviews: reviewTable(o.Reviews), HasReviews: len(o.Reviews) > 0,
		LookAlikes: lookAlikeTable(s), HasLook: len(s.LookAlike) > 0,
		Coverage: coverageTable(s), Sensors: sensorTable(s),
		Evidence: evidenceTable(s), Notes: noteTable(s), Commands: o.Commands,
		Caution: s.Caution,
	}
	if len(v.Events.Rows) > 1 {
		v.Order = EventOrder
	}
	v.shell = newShell(v.Headline+" – "+v.Identity, flightScript)
	if s.Clip != nil {
		v.ClipFile = path.Base(s.Clip.File)
	}
	if o.Page == nil {
		o.Page = func(string) string { return "" }
	}
	v.Before = ElsewhereOf(o.Seen, s.Flight.Folder, "", o.Page)
	for i, a := range s.Attempts {
		one := newAttemptView(a, i, len(s.Attempts), clip, o.Levels)
		one.Elsewhere = ElsewhereOf(o.Seen, s.Flight.Folder, a.ID, o.Page)
		v.Attempts = append(v.Attempts, one)
	}
	tables := []table{v.Events, v.Reviews, v.Coverage, v.Sensors, v.Evidence}
	for _, a := range v.Attempts {
		tables = append(tables, a.Checks, a.Reject)
	}
	v.shell = v.withStyle(stacked(tables...))
	if err := templates().ExecuteTemplate(w, "flight", v); err != nil {
		return fmt.Errorf("page of flight %s: %w", s.Key, err)
	}
	return nil
}

// attemptView is one attempt's section.
type attemptView struct {
	ID, Title, Short string
	Sentences        []string
	Elsewhere        []Elsewhere
	Instants         table
	Checks           table
	Warning          table
	Reject           table
	HasReject        bool
	Traces           *traceView // nil when the clip has no sample of it
	Next             string     // "6.2 minutes to attempt 2", "" for the last
	NextID           string
}

func newAttemptView(a archive.AttemptSummary, i, n int, clip *flightdata.Recording, levels []Level) attemptView {
	number := strconv.Itoa(a.Number)
	v := attemptView{
		ID: "attempt-" + number, Short: "Attempt " + number + ": " + outcomeWords(a),
		Title:     "Attempt " + number + " of " + strconv.Itoa(n) + ": " + Headline(a),
		Sentences: Sentences(a), Instants: instantTable(a), Checks: checkTable(a), Warning: warningTable(a),
		Reject: rejectTable(a), HasReject: a.Reject != nil, Traces: newTraces(a, clip, levels),
	}
	if i+1 < n {
		v.NextID = "attempt-" + strconv.Itoa(a.Number+1)
		v.Next = "Attempt " + strconv.Itoa(a.Number+1) + " follows"
		if a.NextMinutes != nil {
			v.Next = Minutes(*a.NextMinutes) + " to attempt " + strconv.Itoa(a.Number+1)
		}
	}
	return v
}

// identity is the line under the headline; what is not known is left out,
// but a tail that is not known is said. The profile stands for a type that
// the recording does not tell.
func identity(s archive.Summary) string {
	f := s.Flight
	parts := []string{known(f.Tail, "tail not known")}
	for _, p := range []struct{ before, text string }{
		{"", known(f.Type, s.Profile.Name)}, {"flight ", f.Flight}, {"", day(f.Date)}, {"", f.Aerodrome}, {"runway ", f.Runway},
	} {
		if p.text != "" {
			parts = append(parts, p.before+p.text)
		}
	}
	return strings.Join(parts, ", ")
}

func eventTable(s archive.Summary) table {
	type event struct {
		archive.EventSummary
		a archive.AttemptSummary
	}
	var all []event
	for _, a := range s.Attempts {
		for _, e := range a.Events {
			all = append(all, event{e, a})
		}
	}
	slices.SortStableFunc(all, func(a, b event) int {
		return PlaceOf(s.Flight, a.a, a.EventSummary).Compare(PlaceOf(s.Flight, b.a, b.EventSummary))
	})
	t := table{Kind: "events", Narrow: flows, Caption: "Events of this flight, worst first", Head: columns("Severity", "Event", "Attempt", "Set by rule"), Empty: "No event on this flight."}
	for _, e := range all {
		number := strconv.Itoa(e.a.Number)
		t.Rows = append(t.Rows, []cell{
			severityCell(e.Severity), text(EventText(e.EventSummary, e.a)),
			{Text: number, Href: "#attempt-" + number},
			text(RuleWords(e.Rule, e.Check, e.a)),
		})
	}
	return t
}

func reviewTable(reviews []Review) table {
	t := table{Kind: "reviews", Narrow: flows, Caption: "Reviews, oldest first", Head: columns("Event", "Decision", "By", "Time", "Reason")}
	for _, r := range reviews {
		t.Rows = append(t.Rows, []cell{mono(r.Event), text(r.Decision), text(r.Role), text(r.Time), text(r.Reason)})
	}
	return t
}

func lookAlikeTable(s archive.Summary) table {
	t := table{Kind: "look-alikes", Narrow: fits, Caption: "Advanced thrust that is no takeoff attempt", Head: []head{
		{Text: "Kind"}, {Text: "From", Unit: "s", Num: true}, {Text: "To", Unit: "s", Num: true}, {Text: "Why"},
	}}
	for _, l := range s.LookAlike {
		t.Rows = append(t.Rows, []cell{text(l.Kind), num(Number(l.From, 1)), num(Number(l.To, 1)), text(l.Why)})
	}
	return t
}

func coverageTable(s archive.Summary) table {
	t := table{Kind: "coverage", Narrow: fits, Caption: "Coverage: on how many attempts of this recording each check could be told", Empty: "No check was run.", Head: []head{
		{Text: "Check"}, {Text: "Told", Num: true}, {Text: "Attempts", Num: true}, {Text: "Sign of life in the recording"},
	}}
	for _, c := range s.Coverage {
		life := text("yes")
		if !c.Life {
			life = cell{Text: "no", Sub: c.LifeWhy}
		}
		t.Rows = append(t.Rows, []cell{rowHead(c.Check), num(strconv.Itoa(c.Told)), num(strconv.Itoa(c.Attempts)), life})
	}
	return t
}

func sensorTable(s archive.Summary) table {
	t := table{Kind: "sensors", Narrow: flows, Caption: "Sensors over the whole recording", Empty: "No parameter was read.", Head: []head{
		{Text: "Parameter"},
		{Text: "Recorded as"},
		{Text: "Good samples", Num: true},
		{Text: "Period seen", Unit: "s", Num: true},
		{Text: "Period expected", Unit: "s", Num: true},
		{Text: "Masked samples"},
		{Text: "States or range seen"},
	}}
	for _, p := range s.Sensors {
		seen := strings.Join(p.States, ", ")
		if p.Low != nil && p.High != nil && len(p.States) == 0 {
			seen = Number(*p.Low, Decimals(p.Unit)) + " to " + With(*p.High, p.Unit)
		}
		t.Rows = append(t.Rows, []cell{
			rowHead(p.Parameter), text(strings.Join(p.Names, ", ")), num(strconv.Itoa(p.Samples)),
			num(Number(p.Period, 3)), num(figure(p.Expected, 3)),
			{Text: known(maskWords(p.Masked), "none")},
			text(known(seen, None)),
		})
	}
	return t
}

// maskWords lists mask counts in the order of their names, because a map has
// none of its own.
func maskWords(masked map[string]int) string {
	names := make([]string, 0, len(masked))
	for name, n := range masked {
		if n > 0 {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for i, name := range names {
		names[i] = name + ": " + strconv.Itoa(masked[name])
	}
	return strings.Join(names, ", ")
}

func evidenceTable(s archive.Summary) table {
	r, p := s.Recording, s.Profile
	t := table{Kind: "evidence", Narrow: fits, Caption: "What this page was made from", Head: columns("What", "Which")}
	row := func(name string, c cell) {
		if c.Text != "" {
			t.Rows = append(t.Rows, []cell{rowHead(name), c})
		}
	}
	row("Result key", mono(s.Key))
	for _, a := range s.Attempts {
		row("Event id of attempt "+strconv.Itoa(a.Number), mono(a.ID))
	}
	row("Recording", text(r.File))
	row("Recording SHA-256", mono(r.SHA256))
	row("Recording holds", text(fmt.Sprintf("%s, %d bytes, %d rows, %d columns of which %d were read, %s", r.Format, r.Bytes, r.Rows, r.Columns, r.Used, Seconds(r.Duration))))
	row("Its clock", text(r.Clock))
	row("Start", text(s.Flight.StartUTC))
	row("Identity from", text(s.Flight.From))
	if l := s.Flight.Plan; l != nil {
		row("Flight list", text(fmt.Sprintf("%s, line %d", l.List, l.Line)))
	}
	row("Profile", text(strings.TrimSpace(p.Name+" "+p.Version+", "+p.Title)))
	row("Profile file", text(p.File))
	row("Profile SHA-256", mono(p.SHA256))
	row("Detection version", text(s.Versions.Detection))
	row("Program version", text(s.Versions.Program))
	if s.Clip != nil {
		row("Clip", text(s.Clip.File))
		row("Clip SHA-256", mono(s.Clip.SHA256))
	}
	return t
}

func noteTable(s archive.Summary) table {
	t := table{Caption: "Notes on the recording", Head: columns("Note"), Empty: "No note on this recording."}
	for _, n := range s.Notes {
		t.Rows = append(t.Rows, []cell{text(n)})
	}
	return t
}

// shell is what every page has: its title and its inlined parts.
type shell struct {
	Title  string
	Policy string
	Style  template.CSS
	Script template.JS
}

func newShell(title, script string) shell {
	style := pageStyle + chart.Style
	return shell{Title: title, Policy: policy(style, script), Style: template.CSS(style), Script: template.JS(script)}
}
