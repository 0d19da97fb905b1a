package evidence

import (
	"fmt"
	"math"
	"path"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// The kinds of change of an event under other limits.
const (
	Added    = "added"
	Dropped  = "dropped"
	Regraded = "re-graded" // another severity, or another class of reject or verdict
)

// EventChange is an event that other limits add, drop or grade anew.
type EventChange struct {
	Change   string `json:"change"`
	Folder   string `json:"folder"` // of the flight
	Event    string `json:"event"`  // attempt ID in the archive; "" for an attempt that it does not have
	Date     string `json:"date"`
	Tail     string `json:"tail"`
	Type     string `json:"type"`
	Flight   string `json:"flight"`
	Kind     string `json:"kind"`
	Check    string `json:"check"` // as in the new result, or in the old one if dropped
	Was      string `json:"severity_was"`
	Is       string `json:"severity_is"`
	CheckWas string `json:"check_was"` // class or verdict before, when it changed
	// The value at the onset, and the least margin over the judged time before and
	// now; null where there is none.
	Unit      string   `json:"unit"`
	Value     *float64 `json:"value"`
	MarginWas *float64 `json:"margin_was"`
	MarginIs  *float64 `json:"margin_is"`
	StateWas  string   `json:"state_was"`
	StateIs   string   `json:"state_is"`
}

// Reassessed is what came of judging one flight anew.
type Reassessed struct {
	Folder  string
	Without string // why it could not be judged anew, "" when it was
	Profile string // name of the new profile
	Changes []EventChange
	// Attempts and events before and now; Kept counts the events that stay as
	// they are.
	AttemptsWas, AttemptsIs, EventsWas, EventsIs, Kept int
	// NowTold and NowUntold count the checks that could not be told before and
	// can now, and the other way round; ThereBefore those that the new profile
	// no longer has, New those that the old one did not have.
	NowTold, NowUntold, ThereBefore, New int
	// ByCheck counts the events of each check before and now, by kind and
	// check as event words.
	ByCheck map[string][2]int
}

// Reassess judges the clip of a flight with other profiles, the one that has
// the name of its own, by the detection of this program, and says which events
// come, go or change their grade. Attempts are the same when they begin within
// two seconds of each other.
//
// A clip holds what the old profile asked for: a parameter that the old one
// did not map cannot be told, masks are those of the old sensor limits, and an
// attempt outside of every window is not found.
func Reassess(a *archive.Archive, s archive.Summary, profiles []*profile.Profile) (Reassessed, error) {
	out := Reassessed{Folder: s.Flight.Folder, ByCheck: map[string][2]int{}}
	if s.Clip == nil {
		out.Without = "no takeoff attempt was found, so there is no clip"
		return out, nil
	}
	var fit *profile.Profile
	for _, p := range profiles {
		if p.Name == s.Profile.Name {
			fit = p
		}
	}
	if fit == nil {
		out.Without = fmt.Sprintf("no profile of the name %s is among those given", s.Profile.Name)
		return out, nil
	}
	file := path.Join(s.Flight.Folder, s.Clip.File)
	if hash, err := a.HashFile(file); err != nil {
		return out, err
	} else if hash != s.Clip.SHA256 {
		return out, fmt.Errorf("%s has the hash %s, its summary says %s: it was changed; process the recording again", a.Path(file), hash, s.Clip.SHA256)
	}
	rec, prof, err := ingest.Open(a.Path(file), []*profile.Profile{fit}, ingest.Options{})
	if err != nil {
		return out, err
	}
	out.Profile = prof.Name
	is := archive.Summarise(detect.Assess(rec, prof), archive.Versions{Detection: detect.Version, Program: s.Versions.Program})
	out.compare(&s, &is)
	return out, nil
}

// compare pairs the attempts and compares each pair.
func (r *Reassessed) compare(was, is *archive.Summary) {
	r.AttemptsWas, r.AttemptsIs = len(was.Attempts), len(is.Attempts)
	taken := make([]bool, len(is.Attempts))
	for i := range was.Attempts {
		a := &was.Attempts[i]
		var pair *archive.AttemptSummary
		for k := range is.Attempts {
			if !taken[k] && together(was, a, is, &is.Attempts[k]) {
				taken[k], pair = true, &is.Attempts[k]
				break
			}
		}
		r.pair(was, a, pair)
	}
	for k := range is.Attempts {
		if !taken[k] {
			r.pair(was, nil, &is.Attempts[k])
		}
	}
}

// together says whether two attempts are one: they begin within two seconds.
func together(was *archive.Summary, a *archive.AttemptSummary, is *archive.Summary, b *archive.AttemptSummary) bool {
	if a.ThrustAdvance != nil && b.ThrustAdvance != nil && math.Abs(a.ThrustAdvance.At-b.ThrustAdvance.At) <= 2 {
		return true
	}
	return math.Abs(archive.PlaceOf(was, a).At-archive.PlaceOf(is, b).At) <= 2
}

// pair compares the events and the checks of one attempt; one of the two may
// be nil.
func (r *Reassessed) pair(s *archive.Summary, was, is *archive.AttemptSummary) {
	before, now := eventsOf(was), eventsOf(is)
	r.EventsWas += len(before)
	r.EventsIs += len(now)
	r.states(was, is)
	for _, e := range before {
		r.tally(e, 0)
		n, stays := find(now, e)
		switch {
		case !stays:
			r.change(s, Dropped, was, is, e, archive.EventSummary{})
		case n.Severity != e.Severity || n.Check != e.Check:
			r.change(s, Regraded, was, is, e, n)
		default:
			r.Kept++
		}
	}
	for _, e := range now {
		r.tally(e, 1)
		if _, old := find(before, e); !old {
			r.change(s, Added, was, is, archive.EventSummary{}, e)
		}
	}
}

func eventsOf(a *archive.AttemptSummary) []archive.EventSummary {
	if a == nil {
		return nil
	}
	return a.Events
}

// find finds the same event: a configuration event by its check, a reject or a
// warning as the only one of its kind.
func find(events []archive.EventSummary, like archive.EventSummary) (archive.EventSummary, bool) {
	for _, e := range events {
		if e.Kind == like.Kind && (e.Check == like.Check || e.Kind != string(detect.ConfigurationEvent)) {
			return e, true
		}
	}
	return archive.EventSummary{}, false
}

func (r *Reassessed) tally(e archive.EventSummary, which int) {
	word := e.Check
	if e.Kind != string(detect.ConfigurationEvent) {
		word = e.Kind + ", " + e.Check
	}
	n := r.ByCheck[word]
	n[which]++
	r.ByCheck[word] = n
}

// states counts the checks that came or went, and those that can now be told
// or no longer.
func (r *Reassessed) states(was, is *archive.AttemptSummary) {
	for _, f := range findingsOf(was) {
		n := findingIn(is, f.Check)
		switch told := f.State != string(configuration.Unknown); {
		case n == nil:
			r.ThereBefore++
		case told && n.State == string(configuration.Unknown):
			r.NowUntold++
		case !told && n.State != string(configuration.Unknown):
			r.NowTold++
		}
	}
	for _, f := range findingsOf(is) {
		if findingIn(was, f.Check) == nil {
			r.New++
		}
	}
}

func findingsOf(a *archive.AttemptSummary) []archive.FindingSummary {
	if a == nil {
		return nil
	}
	return a.Findings
}

func findingIn(a *archive.AttemptSummary, check string) *archive.FindingSummary {
	if a == nil {
		return nil
	}
	for i := range a.Findings {
		if a.Findings[i].Check == check {
			return &a.Findings[i]
		}
	}
	return nil
}

// change notes one change with the check before and now.
func (r *Reassessed) change(s *archive.Summary, what string, was, is *archive.AttemptSummary, before, now archive.EventSummary) {
	f := &s.Flight
	c := EventChange{
		Change: what, Folder: f.Folder, Date: f.Date, Tail: f.Tail, Type: f.Type, Flight: f.Flight,
		Kind: now.Kind, Check: now.Check, Was: before.Severity, Is: now.Severity,
	}
	if was != nil {
		c.Event = was.ID
	}
	if what == Dropped {
		c.Kind, c.Check = before.Kind, before.Check
	}
	if what == Regraded && before.Check != now.Check {
		c.CheckWas = before.Check
	}
	if c.Kind == string(detect.ConfigurationEvent) {
		if old := findingIn(was, c.Check); old != nil {
			c.Unit, c.Value, c.MarginWas, c.StateWas = old.Unit, old.Value, old.WorstMargin, old.State
		}
		if n := findingIn(is, c.Check); n != nil {
			c.Unit, c.Value, c.MarginIs, c.StateIs = n.Unit, n.Value, n.WorstMargin, n.State
		}
	}
	r.Changes = append(r.Changes, c)
}
