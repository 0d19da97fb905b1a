package evidence

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// The files that hold what is left of aggregated flights: the counts, and the
// same as tables for any engine.
const (
	aggregateFile   = "aggregate.json"
	aggregateChecks = "tables/aggregate/checks.csv"
	aggregateFlight = "tables/aggregate/flights.csv"
)

// Totals are the counts of all aggregated flights.
type Totals struct {
	Schema  int          `json:"schema"`
	Flights []FlightCell `json:"flights"`
	Checks  []CheckCell  `json:"checks"`
	// Pending are the folders that are counted already and not yet removed. A
	// program that was killed in between finds them here and counts none twice.
	Pending []string `json:"pending"`
	// PendingLog are the lines of the log that belong to them, and LogHead is how
	// far the log went before they are added.
	PendingLog []Gone             `json:"pending_log,omitempty"`
	LogHead    *archive.ChainHead `json:"log_head,omitempty"`
}

// FlightCell counts the flights of a month and type.
type FlightCell struct {
	Month     string `json:"month"` // "" when not known, or of too few flights
	Type      string `json:"type"`
	Flights   int    `json:"flights"`
	Attempts  int    `json:"attempts"`
	Airborne  int    `json:"airborne"`
	Rejected  int    `json:"rejected"`
	High      int    `json:"events_high"`
	Medium    int    `json:"events_medium"`
	Low       int    `json:"events_low"`
	Unflagged int    `json:"attempts_without_event"`
}

// CheckCell counts how a check came out on the attempts of a month and type.
type CheckCell struct {
	Month   string `json:"month"`
	Type    string `json:"type"`
	Check   string `json:"check"`
	Within  int    `json:"within"`
	Outside int    `json:"outside"`
	Untold  int    `json:"untold"`
}

// ReadTotals reads the counts; none are no error.
func ReadTotals(a *archive.Archive) (Totals, error) {
	t := Totals{Schema: 1}
	text, err := os.ReadFile(a.Path(aggregateFile))
	if missing(err) {
		return t, nil
	}
	if err != nil {
		return t, fmt.Errorf("read the counts: %w", err)
	}
	if err := json.Unmarshal(text, &t); err != nil || t.Schema != 1 {
		return t, fmt.Errorf("%s cannot be read (layout %d, %v); restore it from a copy", a.Path(aggregateFile), t.Schema, err)
	}
	return t, nil
}

// add counts a flight under the names of its groups.
func (t *Totals) add(s *archive.Summary, name Named) {
	f := t.flight(name.Month, name.Type)
	f.Flights++
	for i := range s.Attempts {
		a := &s.Attempts[i]
		f.Attempts++
		switch takeoff.Outcome(a.Outcome) {
		case takeoff.Airborne:
			f.Airborne++
		case takeoff.Rejected, takeoff.RejectedNoRoll:
			f.Rejected++
		}
		if len(a.Events) == 0 {
			f.Unflagged++
		}
		for _, e := range a.Events {
			*map[string]*int{"high": &f.High, "medium": &f.Medium, "low": &f.Low}[e.Severity]++
		}
		for j := range a.Findings {
			c := t.check(name.Month, name.Type, a.Findings[j].Check)
			switch configuration.State(a.Findings[j].State) {
			case configuration.Within:
				c.Within++
			case configuration.Outside:
				c.Outside++
			default:
				c.Untold++
			}
		}
	}
}

func (t *Totals) flight(month, kind string) *FlightCell {
	at := slices.IndexFunc(t.Flights, func(c FlightCell) bool { return c.Month == month && c.Type == kind })
	if at < 0 {
		at = len(t.Flights)
		t.Flights = append(t.Flights, FlightCell{Month: month, Type: kind})
	}
	return &t.Flights[at]
}

func (t *Totals) check(month, kind, check string) *CheckCell {
	at := slices.IndexFunc(t.Checks, func(c CheckCell) bool { return c.Month == month && c.Type == kind && c.Check == check })
	if at < 0 {
		at = len(t.Checks)
		t.Checks = append(t.Checks, CheckCell{Month: month, Type: kind, Check: check})
	}
	return &t.Checks[at]
}

// countFile is a file of the counts and what is in it.
type countFile struct {
	name string
	text []byte
}

// files are the counts in order, and the tables made of them.
func (t *Totals) files() ([]countFile, error) {
	slices.SortFunc(t.Flights, func(x, y FlightCell) int {
		return cmp.Or(cmp.Compare(x.Month, y.Month), cmp.Compare(x.Type, y.Type))
	})
	slices.SortFunc(t.Checks, func(x, y CheckCell) int {
		return cmp.Or(cmp.Compare(x.Month, y.Month), cmp.Compare(x.Type, y.Type), cmp.Compare(x.Check, y.Check))
	})
	t.Pending = append([]string{}, t.Pending...)
	text, err := jsonOf(t)
	if err != nil {
		return nil, fmt.Errorf("write the counts: %w", err)
	}
	flights := [][]string{{"month", "type", "flights", "attempts", "airborne", "rejected", "events_high", "events_medium", "events_low", "attempts_without_event"}}
	for _, c := range t.Flights {
		flights = append(flights, append([]string{c.Month, c.Type}, figures(c.Flights, c.Attempts, c.Airborne, c.Rejected, c.High, c.Medium, c.Low, c.Unflagged)...))
	}
	checks := [][]string{{"month", "type", "check", "within", "outside", "untold"}}
	for _, c := range t.Checks {
		checks = append(checks, append([]string{c.Month, c.Type, c.Check}, figures(c.Within, c.Outside, c.Untold)...))
	}
	return []countFile{{aggregateFile, text}, {aggregateFlight, csvOf(flights)}, {aggregateChecks, csvOf(checks)}}, nil
}

// write writes the files of the counts.
func (t *Totals) write(a *archive.Archive) error {
	files, err := t.files()
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := archive.WriteFile(a.Path(f.name), func(w io.Writer) error { _, err := w.Write(f.text); return err }); err != nil {
			return err
		}
	}
	return nil
}

// settled are the counts when nothing is pending any more.
func (t *Totals) settled() *Totals {
	return &Totals{Schema: t.Schema, Flights: t.Flights, Checks: t.Checks}
}

// counted is the line of the log that holds the files of the settled counts.
func (t *Totals) counted(date string) (Gone, error) {
	g := Gone{Schema: 1, Date: date, Action: Counted}
	files, err := t.settled().files()
	for _, f := range files {
		g.Counts = append(g.Counts, archive.FileHash{File: f.name, SHA256: archive.HashOf(f.text)})
	}
	return g, err
}

func figures(numbers ...int) []string {
	out := make([]string, len(numbers))
	for i, n := range numbers {
		out[i] = strconv.Itoa(n)
	}
	return out
}

func csvOf(rows [][]string) []byte {
	var b bytes.Buffer
	_ = csv.NewWriter(&b).WriteAll(rows) // a bytes.Buffer does not fail
	return b.Bytes()
}
