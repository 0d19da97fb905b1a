package archive

import (
	"cmp"
	"fmt"
	"iter"
	"slices"
	"time"
)

// ListedEvent is an event of the archive with what persons decided about it.
type ListedEvent struct {
	EventSummary
	Place   EventPlace
	Attempt *AttemptSummary // that it happened on
	Flight  *Flight
	File    string   // base name of the recording
	Reviews []Review // in the order in which they were made, nil for none
}

// Decision is the last decision, "" when nobody has looked.
func (e *ListedEvent) Decision() string {
	if n := len(e.Reviews); n > 0 {
		return e.Reviews[n-1].Decision
	}
	return ""
}

// EventsOf are the events of a flight, or of one attempt of it when the number
// is not 0, in the order of the summary.
func EventsOf(s *Summary, number int, reviews *Reviews) []ListedEvent {
	var out []ListedEvent
	for i := range s.Attempts {
		a := &s.Attempts[i]
		if number != 0 && a.Number != number {
			continue
		}
		place := PlaceOf(s, a)
		for _, e := range a.Events {
			out = append(out, ListedEvent{
				EventSummary: e, Place: place, Attempt: a, Flight: &s.Flight, File: s.Recording.File,
				Reviews: reviews.Of(place, e.Kind, e.Check),
			})
		}
	}
	return out
}

// Events are the events of the archive, each recording once under its latest
// result, each attempt once whatever recordings hold it. Only the summaries of
// flights with an event are read.
func (a *Archive) Events(reviews *Reviews) iter.Seq2[ListedEvent, error] {
	return func(yield func(ListedEvent, error) bool) {
		v, err := a.View()
		if err != nil {
			yield(ListedEvent{}, err)
			return
		}
		folders, err := v.eventFolders()
		if err != nil {
			yield(ListedEvent{}, err)
			return
		}
		for s, err := range a.SummariesOf(folders) {
			if err != nil {
				yield(ListedEvent{}, err)
				return
			}
			for _, e := range EventsOf(&s, 0, reviews) {
				if v.SeenAs(e.Attempt.ID).HasEvent(e.Attempt.ID, e.Kind) && !yield(e, nil) {
					return
				}
			}
		}
	}
}

// eventFolders are the flights with an event that counts, or with the end of
// an attempt that began elsewhere.
func (v *View) eventFolders() ([]string, error) {
	var folders []string
	for t, err := range v.Attempts() {
		if err != nil {
			return nil, err
		}
		if t.Events > 0 {
			folders = append(folders, t.Folder)
		}
	}
	for i := range v.seen {
		if s := &v.seen[i]; s.Split() {
			folders = append(folders, s.Sightings[s.End].Folder)
		}
	}
	return folders, nil
}

// ageLimits are the ages in days that part the unreviewed events.
var ageLimits = [...]int{7, 30, 90}

// Ageing counts the unreviewed events of one severity by the days since the
// flight: up to a week, a month, a quarter, longer; and those without a date.
type Ageing struct {
	Severity string
	Reviewed int
	Ages     [len(ageLimits) + 1]int
	Undated  int
	// Oldest is the event that has waited longest, nil when none has a date.
	Oldest *ListedEvent
	Days   int // since the flight of Oldest
}

// Open is how many events nobody has looked at.
func (a *Ageing) Open() int {
	n := a.Undated
	for _, k := range a.Ages {
		n += k
	}
	return n
}

// AgeingOf counts events as of a day, the worst severity first.
func AgeingOf(events []ListedEvent, day time.Time) []Ageing {
	out := []Ageing{{Severity: "high"}, {Severity: "medium"}, {Severity: "low"}}
	for i := range events {
		e := &events[i]
		n := slices.IndexFunc(out, func(a Ageing) bool { return a.Severity == e.Severity })
		if n < 0 {
			continue // the schema knows three
		}
		out[n].add(e, day)
	}
	return out
}

func (a *Ageing) add(e *ListedEvent, day time.Time) {
	if e.Decision() != "" {
		a.Reviewed++
		return
	}
	date, err := time.Parse(time.DateOnly, e.Flight.Date)
	if err != nil {
		a.Undated++
		return
	}
	days := int(day.Sub(date).Hours() / 24)
	k := 0
	for k < len(ageLimits) && days > ageLimits[k] {
		k++
	}
	a.Ages[k]++
	if a.Oldest == nil || days > a.Days {
		a.Oldest, a.Days = e, days
	}
}

// AgeWords name the groups of Ageing.Ages.
func AgeWords() []string {
	var out []string
	from := 0
	for _, to := range ageLimits {
		out = append(out, fmt.Sprintf("%d to %d days", from, to))
		from = to + 1
	}
	return append(out, fmt.Sprintf("over %d days", ageLimits[len(ageLimits)-1]))
}

// rankOf orders severities, the worst first.
func rankOf(severity string) int { return -slices.Index([]string{"low", "medium", "high"}, severity) }

// WorstFirst sorts events by severity, and within one by date, flight and
// attempt.
func WorstFirst(events []ListedEvent) {
	slices.SortStableFunc(events, func(x, y ListedEvent) int {
		return cmp.Or(cmp.Compare(rankOf(x.Severity), rankOf(y.Severity)), cmp.Compare(x.Flight.Date, y.Flight.Date), cmp.Compare(x.Flight.Folder, y.Flight.Folder), cmp.Compare(x.Attempt.Number, y.Attempt.Number))
	})
}
