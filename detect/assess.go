package detect

import (
	"cmp"
	"slices"

	"rollonset/detect/configuration"
	"rollonset/detect/reject"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// Assess runs the detection over one recording. It does not fail: what the
// recording cannot tell is said in the findings and notes. The recording is
// read and kept in the assessment, not changed.
func Assess(rec *flightdata.Recording, prof *profile.Profile) *Assessment {
	found := takeoff.Find(rec, prof)
	out := &Assessment{
		Recording: rec, Profile: prof,
		LookAlikes: found.LookAlikes, Windows: found.Windows,
		Notes: append(slices.Clone(rec.Notes), found.Notes...),
	}
	for _, a := range found.Attempts {
		out.Attempts = append(out.Attempts, attempt(rec, prof, a))
	}
	link(out.Attempts)
	out.Coverage = coverage(out)
	return out
}

// attempt judges one attempt. The go part of a touch-and-go is reported and
// not judged: its configuration is that of a landing.
func attempt(rec *flightdata.Recording, prof *profile.Profile, found takeoff.Attempt) Attempt {
	a := Attempt{Attempt: found}
	a.Reject = reject.Measure(rec, prof, &a.Attempt)
	if a.Outcome == takeoff.TouchAndGo {
		return a
	}
	start := reject.PerhapsStart(rec, prof, &a.Attempt) // known of an undetermined attempt only
	if a.Reject != nil {
		start = a.Reject.FirstAction.At
	}
	a.Findings = configuration.Judge(rec, prof, &a.Attempt, start)
	a.Warning = configuration.CrossCheck(rec, prof, &a.Attempt, a.Findings, start)
	a.Events = events(&a)
	return a
}

// events collects what a person must see, worst first and in the order of
// the checks within a severity.
func events(a *Attempt) []Event {
	var out []Event
	for _, f := range a.Findings {
		if f.State == configuration.Outside {
			out = append(out, Event{ConfigurationEvent, f.Check, f.Severity, f.Rule})
		}
	}
	if w := a.Warning; w.Severity != "" {
		out = append(out, Event{WarningEvent, string(w.Verdict), w.Severity, w.Rule})
	}
	if r := a.Reject; r != nil {
		out = append(out, Event{RejectEvent, r.Class, r.Severity, r.Rule})
	}
	slices.SortStableFunc(out, func(x, y Event) int { return cmp.Compare(SeverityRank(y.Severity), SeverityRank(x.Severity)) })
	return out
}

// SeverityRank orders severities: 3 for high, 2 for medium, 1 for low, 0 for
// anything else.
func SeverityRank(s string) int {
	return slices.Index([]string{"low", "medium", "high"}, s) + 1
}

// link gives every attempt the time to the next one.
func link(attempts []Attempt) {
	for i := 0; i+1 < len(attempts); i++ {
		d := attempts[i+1].ThrustAdvance.At.Sub(attempts[i].End)
		attempts[i].Next = &d
	}
}

// coverage counts per check on how many attempts it could be told.
func coverage(a *Assessment) []Coverage {
	out := make([]Coverage, len(a.Profile.Checks))
	for i := range a.Profile.Checks {
		c := &a.Profile.Checks[i]
		out[i] = Coverage{Check: c.Name}
		out[i].Life, out[i].LifeWhy = configuration.Alive(a.Recording, c)
		for _, at := range a.Attempts {
			if len(at.Findings) == 0 {
				continue
			}
			out[i].Attempts++
			if at.Findings[i].State != configuration.Unknown {
				out[i].Told++
			}
		}
	}
	return out
}
