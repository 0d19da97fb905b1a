package evidence

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// Reassessment is the report over all flights of an archive.
type Reassessment struct {
	Schema    int                   `json:"schema"`
	Caution   string                `json:"caution"`
	Detection string                `json:"detection"`
	Profiles  []archive.ProfileInfo `json:"profiles"` // the new ones
	// Flights were judged anew; Without counts the others by the reason.
	Flights     int            `json:"flights"`
	Without     map[string]int `json:"without"`
	AttemptsWas int            `json:"attempts_were"`
	AttemptsIs  int            `json:"attempts_are"`
	EventsWas   int            `json:"events_were"`
	EventsIs    int            `json:"events_are"`
	Kept        int            `json:"kept"`
	Added       int            `json:"added"`
	Dropped     int            `json:"dropped"`
	Regraded    int            `json:"re_graded"`
	NowTold     int            `json:"checks_now_told"`
	NowUntold   int            `json:"checks_no_longer_told"`
	ChecksGone  int            `json:"checks_gone"`
	ChecksNew   int            `json:"checks_new"`
	Checks      []CheckChange  `json:"checks"`
	Changes     []EventChange  `json:"changes"` // in the order of the flight folders
}

// CheckChange counts the events of one check before and now.
type CheckChange struct {
	Check    string `json:"check"`
	Was      int    `json:"were"`
	Is       int    `json:"are"`
	Added    int    `json:"added"`
	Dropped  int    `json:"dropped"`
	Regraded int    `json:"re_graded"`
}

// reassessmentSchema is the version of the layout of Reassessment.
const reassessmentSchema = 1

// Limits says what clips cannot show under other limits; every account of a
// reassessment carries it.
const Limits = "A clip holds what the profile of its time asked for. A parameter that it did not map cannot be told here, masked samples are those of its sensor limits, and an attempt that it did not see is not found: for those, process the recordings again."

// Sum adds up the results of flights, in their order.
func Sum(results []Reassessed, profiles []*profile.Profile, detection string) Reassessment {
	out := Reassessment{
		Schema: reassessmentSchema, Caution: archive.Caution, Detection: detection, Profiles: []archive.ProfileInfo{},
		Without: map[string]int{}, Checks: []CheckChange{}, Changes: []EventChange{},
	}
	for _, p := range profiles {
		out.Profiles = append(out.Profiles, archive.ProfileInfoOf(p))
	}
	checks := map[string]*CheckChange{}
	of := func(word string) *CheckChange {
		if checks[word] == nil {
			checks[word] = &CheckChange{Check: word}
		}
		return checks[word]
	}
	for i := range results {
		out.add(&results[i], of)
	}
	for _, word := range slices.Sorted(maps.Keys(checks)) {
		out.Checks = append(out.Checks, *checks[word])
	}
	return out
}

func (s *Reassessment) add(r *Reassessed, of func(string) *CheckChange) {
	if r.Without != "" {
		s.Without[r.Without]++
		return
	}
	s.Flights++
	s.AttemptsWas, s.AttemptsIs = s.AttemptsWas+r.AttemptsWas, s.AttemptsIs+r.AttemptsIs
	s.EventsWas, s.EventsIs, s.Kept = s.EventsWas+r.EventsWas, s.EventsIs+r.EventsIs, s.Kept+r.Kept
	s.NowTold, s.NowUntold = s.NowTold+r.NowTold, s.NowUntold+r.NowUntold
	s.ChecksGone, s.ChecksNew = s.ChecksGone+r.ThereBefore, s.ChecksNew+r.New
	for word, n := range r.ByCheck {
		c := of(word)
		c.Was, c.Is = c.Was+n[0], c.Is+n[1]
	}
	for _, e := range r.Changes {
		c := of(e.word())
		switch e.Change {
		case Added:
			s.Added, c.Added = s.Added+1, c.Added+1
		case Dropped:
			s.Dropped, c.Dropped = s.Dropped+1, c.Dropped+1
		default:
			s.Regraded, c.Regraded = s.Regraded+1, c.Regraded+1
		}
	}
	s.Changes = append(s.Changes, r.Changes...)
}

// word is how the check of a change is called in the sums.
func (e *EventChange) word() string {
	if e.Kind != "configuration" {
		return e.Kind + ", " + e.Check
	}
	return e.Check
}

// The files of a reassessment.
const (
	ReassessmentFile = "reassessment.json"
	ChangesFile      = "changes.csv"
	reassessPage     = "index.html"
)

// Write writes the report into a folder: reassessment.json, changes.csv, a
// page with links into the archive, and the profiles that judged.
func (s *Reassessment) Write(dir string, a *archive.Archive, profiles []*profile.Profile) error {
	for _, p := range profiles {
		file := filepath.Join(dir, "profiles", p.SHA256+".yaml")
		if err := archive.WriteFile(file, func(w io.Writer) error { _, err := w.Write(p.Source); return err }); err != nil {
			return err
		}
	}
	if err := archive.WriteFile(filepath.Join(dir, ReassessmentFile), s.WriteJSON); err != nil {
		return err
	}
	if err := archive.WriteFile(filepath.Join(dir, ChangesFile), func(w io.Writer) error { return archive.WriteSheet(w, s.rows()) }); err != nil {
		return err
	}
	link, err := linkFrom(dir, a)
	if err != nil {
		return err
	}
	return archive.WritePage(filepath.Join(dir, reassessPage), func(w io.Writer) error { return s.page(w, link) })
}

// WriteJSON writes the report as JSON.
func (s *Reassessment) WriteJSON(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(s)
}

func (s *Reassessment) rows() [][]string {
	rows := [][]string{{"change", "event", "date", "tail", "type", "flight", "kind", "check", "check_was", "severity_was", "severity_is", "unit", "value", "margin_was", "margin_is", "state_was", "state_is", "folder"}}
	for _, c := range s.Changes {
		rows = append(rows, []string{
			c.Change, c.Event, c.Date, c.Tail, c.Type, c.Flight, c.Kind, c.Check, c.CheckWas, c.Was, c.Is, c.Unit,
			figure(c.Value), figure(c.MarginWas), figure(c.MarginIs), c.StateWas, c.StateIs, c.Folder,
		})
	}
	return rows
}

func figure(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// linkFrom makes addresses of flights as seen from a folder: their page, or
// the summary of those that have none.
func linkFrom(dir string, a *archive.Archive) (func(folder string) string, error) {
	from, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("links: %w", err)
	}
	to, err := filepath.Abs(a.Dir())
	if err != nil {
		return nil, fmt.Errorf("links: %w", err)
	}
	way, err := filepath.Rel(from, to)
	if err != nil { // another drive: links from the root of that
		way = to
	}
	return func(folder string) string {
		file := archive.PageFile
		if !a.Has(folder + "/" + file) {
			file = archive.SummaryFile
		}
		return filepath.ToSlash(way) + "/" + folder + "/" + file
	}, nil
}

//go:embed reassess.html
var reassessText string

var reassessTemplate = template.Must(template.New("reassess").Parse(reassessText))

// shownRow is a row of the page.
type shownRow struct {
	EventChange
	Link, Before, Now, Figures string
}

func (s *Reassessment) page(w io.Writer, link func(string) string) error {
	v := struct {
		*Reassessment
		Limits string
		Rows   []shownRow
	}{s, Limits, nil}
	for _, c := range s.Changes {
		row := shownRow{EventChange: c, Link: link(c.Folder), Before: known(c.Was), Now: known(c.Is)}
		if c.CheckWas != "" {
			row.Before += ", " + c.CheckWas
		}
		if c.Kind == "configuration" {
			row.Figures = strings.TrimSpace(fmt.Sprintf("%s: margin %s, was %s %s", c.StateIs, known(figure(c.MarginIs)), known(figure(c.MarginWas)), c.Unit))
		}
		v.Rows = append(v.Rows, row)
	}
	return reassessTemplate.Execute(w, v)
}

// known is a text, or a word for none.
func known(text string) string {
	if text == "" {
		return "none"
	}
	return text
}
