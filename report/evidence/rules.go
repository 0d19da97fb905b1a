package evidence

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Rules say how long what is kept. They are a text of one rule a line:
//
//	keep full 24 months        identity, then reduced
//	keep reduced 60 months     de-identified with its clip, then only counted
//	hold EVENT until 2032-01-01 REASON
//	hold EVENT REASON          until the line is taken out
//
// Months count from the end of the month of the flight. Without a rule for one of the two,
// that is kept for ever. A hold keeps a flight as it is, whatever its age.
// Blank lines and lines that begin with # say nothing.
type Rules struct {
	File          string
	Full, Reduced Keep
	Holds         []Hold
}

// Keep is a rule on age; Months is zero when there is none.
type Keep struct {
	Months int
	Rule   string // file, line and text, for the log
}

// Hold keeps a flight.
type Hold struct {
	Event  string    // as archive.Find takes it
	Until  time.Time // first day on which it no longer holds; zero: for ever
	Reason string
	Rule   string
}

// longest bounds the months of a rule: a century.
const longestMonths = 1200

// ParseRules reads rules; file only names them in messages. All mistakes are
// returned together, each with its line.
func ParseRules(file, text string) (Rules, error) {
	r := Rules{File: file}
	var wrong []error
	number := 0
	for line := range strings.Lines(text) {
		number++
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		if err := r.line(fmt.Sprintf("%s:%d", file, number), line); err != nil {
			wrong = append(wrong, fmt.Errorf("%s:%d: %w", file, number, err))
		}
	}
	if r.Full.Months > 0 && r.Reduced.Months > 0 && r.Reduced.Months < r.Full.Months {
		wrong = append(wrong, fmt.Errorf("%s: reduced flights are kept %d months and full ones %d; months count from the flight, so reduced must be the longer", file, r.Reduced.Months, r.Full.Months))
	}
	if len(wrong) == 0 && r.Full.Months == 0 && r.Reduced.Months == 0 {
		wrong = append(wrong, fmt.Errorf("%s: there is no rule; write for example \"keep full 24 months\"", file))
	}
	return r, errors.Join(wrong...)
}

func (r *Rules) line(place, line string) error {
	words := strings.Fields(line)
	switch {
	case words[0] == "keep":
		return r.keep(place, line, words)
	case words[0] == "hold" && len(words) > 2:
		return r.hold(place, line, words)
	case words[0] == "hold":
		return errors.New("a hold names an event and a reason: hold EVENT until 2032-01-01 REASON")
	}
	return fmt.Errorf("%q is no rule; a line begins with keep, hold or #", words[0])
}

func (r *Rules) keep(place, line string, words []string) error {
	form := errors.New("write \"keep full 24 months\" or \"keep reduced 60 months\"")
	if len(words) != 4 || strings.TrimSuffix(words[3], "s") != "month" {
		return form
	}
	months, err := strconv.Atoi(words[2])
	if err != nil || months < 1 || months > longestMonths {
		return fmt.Errorf("%q is no number of months from 1 to %d", words[2], longestMonths)
	}
	to := map[string]*Keep{"full": &r.Full, "reduced": &r.Reduced}[words[1]]
	switch {
	case to == nil:
		return form
	case to.Months > 0:
		return fmt.Errorf("there is a rule for %s already, %s", words[1], to.Rule)
	}
	*to = Keep{months, place + ": " + line}
	return nil
}

func (r *Rules) hold(place, line string, words []string) error {
	h := Hold{Event: words[1], Rule: place + ": " + line}
	rest := words[2:]
	if rest[0] == "until" {
		if len(rest) < 3 {
			return errors.New("a hold names a day and a reason after until: hold EVENT until 2032-01-01 REASON")
		}
		day, err := time.Parse(time.DateOnly, rest[1])
		if err != nil {
			return fmt.Errorf("%q is no day; write 2032-01-01", rest[1])
		}
		h.Until, rest = day, rest[2:]
	}
	h.Reason = strings.Join(rest, " ")
	r.Holds = append(r.Holds, h)
	return nil
}

// active says whether the hold still holds on that day.
func (h Hold) active(today time.Time) bool { return h.Until.IsZero() || today.Before(h.Until) }

// due says whether a flight of that date has been kept long enough. Months
// count from the last day of the month of the flight: all flights of a month
// go together, so that the day on which one went, in the log and on its
// files, does not tell the day on which it flew.
func (k Keep) due(date string, today time.Time) bool {
	month, err := time.Parse(monthOnly, Month(date))
	if k.Months == 0 || err != nil {
		return false
	}
	last := month.AddDate(0, 1, -1)
	return !last.AddDate(0, k.Months, 0).After(today)
}
