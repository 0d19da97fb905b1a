package evidence

import (
	"errors"
	"fmt"
	"io/fs"
	"time"

	"rollonset/report/archive"
)

// What becomes of a flight.
const (
	Reduce    = "reduce"    // identity goes, clip and findings stay
	Aggregate = "aggregate" // only counts stay
	Keeping   = "keep"      // due, and kept for a reason
)

// Step is what retention does with one flight that is due, and why.
type Step struct {
	Action string
	Folder string
	Month  string // of the flight, "" when not known
	// Rule is the line of the rules that acts; for Keeping, that of the hold,
	// or why it cannot be told.
	Rule string
}

// Plan says what is due on that day, in the order of the folders. Nothing is
// changed. A hold in force that names nothing is an error: a slip in it would
// let go what was to stay.
func Plan(a *archive.Archive, r Rules, today time.Time) ([]Step, error) {
	held, err := holds(a, r, today)
	if err != nil {
		return nil, err
	}
	var out []Step
	for s, err := range a.Summaries() {
		if err != nil {
			return nil, err
		}
		if step, ok := stepOf(&s, r, today); ok {
			if rule, ok := held[s.Flight.Folder]; ok {
				step.Action, step.Rule = Keeping, rule
			}
			out = append(out, step)
		}
	}
	return out, nil
}

// holds finds the flights that are held, with the rule of each.
func holds(a *archive.Archive, r Rules, today time.Time) (map[string]string, error) {
	out := map[string]string{}
	var wrong []error
	for _, h := range r.Holds {
		if !h.active(today) {
			continue
		}
		found, err := a.Find(h.Event)
		if err != nil {
			wrong = append(wrong, fmt.Errorf("%s: %w; a hold that holds nothing is taken for a slip, take the line out if it is not", h.Rule, err))
			continue
		}
		out[found.Summary.Flight.Folder] = h.Rule
	}
	return out, errors.Join(wrong...)
}

// Reduced says whether a flight has been reduced already.
func Reduced(s *archive.Summary) bool { return s.Flight.From == deidentified }

// deidentified stands in a flight in place of where its identity came from.
const deidentified = "de-identified"

func stepOf(s *archive.Summary, r Rules, today time.Time) (Step, bool) {
	date := s.Flight.Date
	step := Step{Folder: s.Flight.Folder, Month: Month(date)}
	switch {
	case step.Month == "":
		step.Action, step.Rule = Keeping, "its date is not known, so its age cannot be told"
	case r.Reduced.due(date, today):
		step.Action, step.Rule = Aggregate, r.Reduced.Rule
	case r.Full.due(date, today) && !Reduced(s):
		step.Action, step.Rule = Reduce, r.Full.Rule
	default:
		return Step{}, false
	}
	return step, true
}

// RetentionFile is the log of what went, a chain at the top of the archive.
const RetentionFile = "retention.jsonl"

// Gone is a line of the log. It names no flight.
type Gone struct {
	Schema int    `json:"schema"`
	Date   string `json:"date"` // the day that retention went by
	Action string `json:"action"`
	Month  string `json:"month"`
	Now    string `json:"now"` // folder of the reduced flight, "" for an aggregated one
	Rule   string `json:"rule"`
	Note   string `json:"note"`
	// Counts are the hashes of the files of the counts as this step left them,
	// of a line whose action is Counted; nil of any other.
	Counts []archive.FileHash `json:"counts,omitempty"`
	archive.Link
}

// Counted is the action of the line that ends a step of retention which
// counted flights. The counts carry no hash themselves; the latest such line
// has it.
const Counted = "counted"

// ReadRetention reads the log.
func ReadRetention(a *archive.Archive) (lines []Gone, chain archive.Chain, err error) {
	chain, err = archive.ReadChain(a, RetentionFile, func(g Gone) string {
		lines = append(lines, g)
		return ""
	})
	return lines, chain, err
}

// missing says whether an error is only that something is not there.
func missing(err error) bool { return errors.Is(err, fs.ErrNotExist) }
