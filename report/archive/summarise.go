package archive

import (
	"slices"
	"time"

	"rollonset/detect"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Caution is the sentence that every summary and page carries.
const Caution = "This supports a safety-management process. It does not release aircraft, judge crews, or replace the operator's procedures, the approved flight manual, the regulator's rules, or licensed engineers and analysts."

// Summarise turns an assessment into the summary of its flight. It adds no
// fact: figures are rounded (see rounded), what cannot be told becomes null,
// and instants gain their UTC where the recording knows its date. Clip stays
// null; Publish fills it in. The assessment is not changed.
func Summarise(a *detect.Assessment, v Versions) Summary {
	r := a.Recording
	key := Key(r.Source.SHA256, a.Profile.SHA256, v.Detection)
	m := moments{r, a.Profile}
	s := Summary{
		Schema: SchemaVersion, Caution: Caution, Key: key, Versions: v,
		Flight: flight(r, key), Recording: recordingInfo(r), Profile: ProfileInfoOf(a.Profile),
		Attempts:  make([]AttemptSummary, 0, len(a.Attempts)),
		LookAlike: make([]LookAlike, 0, len(a.LookAlikes)),
		Coverage:  make([]CheckCoverage, 0, len(a.Coverage)),
		Sensors:   sensors(r, a.Profile), Notes: notes(r.Notes, a.Notes),
	}
	for i := range a.Attempts {
		s.Attempts = append(s.Attempts, m.attempt(&a.Attempts[i], key))
	}
	for _, l := range a.LookAlikes {
		s.LookAlike = append(s.LookAlike, LookAlike{Kind: l.Kind, From: at(l.Span.From), To: at(l.Span.To), Why: l.Why})
	}
	for _, c := range a.Coverage {
		s.Coverage = append(s.Coverage, CheckCoverage(c))
	}
	return s
}

// moments turns the moments, and what was found at them, into those of the
// summary: the recording knows the date, the profile what a check watches.
type moments struct {
	r *flightdata.Recording
	p *profile.Profile
}

// at is an instant in seconds.
func at(t span.Instant) float64 { return seconds(int64(t)) }

// utc is the UTC of an instant as text, "" when the recording has no date.
func (m moments) utc(t span.Instant) string {
	if u, ok := m.r.UTC(t); ok && fourDigits(u) {
		return u.UTC().Format(time.RFC3339Nano)
	}
	return ""
}

// moment is nil when the moment did not happen or cannot be told.
func (m moments) moment(t span.Moment) *Moment {
	if !t.Known {
		return nil
	}
	return &Moment{At: at(t.At), Earliest: at(t.Earliest), Latest: at(t.Latest), UTC: m.utc(t.At)}
}

func flight(r *flightdata.Recording, key string) Flight {
	id := r.Identity
	f := Flight{
		Folder: folderOf(r, key), Tail: id.Tail, Type: id.Type, Flight: id.Flight,
		Aerodrome: id.Aerodrome, Runway: id.Runway, Date: id.Date, From: id.From,
		StartUTC: moments{r: r}.utc(0),
	}
	if p := r.Plan; p != nil {
		f.Plan = &Plan{
			List: fileBase(p.List), Entry: p.Entry, Line: p.Line, PlannedFlap: listed(p.PlannedFlap), V1: listed(p.V1), VR: listed(p.VR),
			Weight: listed(p.Weight), CG: listed(p.CG), Trim: listed(p.Trim), Runway: listed(p.RunwayLengthM),
		}
	}
	return f
}

// recordingInfo keeps the base name of the file only: the folder it lay in is
// no part of the result.
func recordingInfo(r *flightdata.Recording) RecordingInfo {
	s := r.Source
	return RecordingInfo{
		File: fileBase(s.Path), SHA256: s.SHA256, Bytes: s.Bytes, Format: s.Format,
		Rows: s.Rows, Columns: s.Columns, Used: s.Used, Clock: r.Clock,
		ClockStart: seconds(r.ClockOrigin), Duration: seconds(int64(r.Span.To - r.Span.From)),
	}
}

// ProfileInfoOf names a profile in summaries and run records.
func ProfileInfoOf(p *profile.Profile) ProfileInfo {
	return ProfileInfo{Name: p.Name, Title: p.Title, Version: p.Version, File: fileBase(p.Path), SHA256: p.SHA256}
}

// notes joins the remarks of reading and of judging, each once, in order.
func notes(lists ...[]flightdata.Note) []string {
	out := []string{}
	for _, list := range lists {
		for _, n := range list {
			if text := n.String(); !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// sensors lists what every parameter delivered, in name order, also those
// that the profile maps and the recording lacks: a dead sensor must be seen.
func sensors(r *flightdata.Recording, p *profile.Profile) []Sensor {
	names := r.Parameters()
	for _, rule := range p.Parameters {
		names = append(names, rule.Parameter)
	}
	slices.Sort(names)
	names = slices.Compact(names)
	out := make([]Sensor, 0, len(names))
	for _, name := range names {
		out = append(out, sensor(name, r, p.Find(name)))
	}
	return out
}

func sensor(name flightdata.Parameter, r *flightdata.Recording, rule *profile.ParameterRule) Sensor {
	life := r.Life[name]
	out := Sensor{
		Parameter: string(name), Names: []string{}, Samples: life.Samples,
		Masked: map[string]int{}, States: append([]string{}, life.States...),
	}
	if rule != nil {
		out.Unit = rule.Canonical.String()
		if rule.Rate > 0 {
			out.Expected = number(1 / rule.Rate)
		}
	}
	s := r.Get(name)
	if s == nil {
		return out
	}
	out.Names, out.Unit = append(out.Names, s.Origin.Names...), s.Unit.String()
	out.Period = seconds(int64(s.Period))
	for m, n := range life.Masked { // of the whole recording, which a clip is not
		if mask := flightdata.Mask(m); mask != flightdata.Good && n > 0 {
			out.Masked[mask.String()] = n
		}
	}
	if s.Kind == flightdata.Continuous && life.Samples > 0 {
		out.Low, out.High = number(life.Lo), number(life.Hi)
	}
	return out
}

func (m moments) attempt(a *detect.Attempt, key string) AttemptSummary {
	out := AttemptSummary{
		Number: a.Number, ID: AttemptID(key, a.Number), Outcome: string(a.Outcome), Why: a.Why, Rolling: a.Rolling,
		ThrustAdvance: m.moment(a.ThrustAdvance), Onset: m.moment(a.Onset), RollStart: m.moment(a.RollStart),
		Rotation: m.moment(a.Rotation), LiftOff: m.moment(a.LiftOff), ThrustCut: m.moment(a.ThrustCut),
		Peak: m.moment(a.Peak), Stop: m.moment(a.Stop),
		PeakSpeed: reading(a.PeakSpeed), OnsetSpeed: m.onsetSpeed(a),
		GroundBy: a.GroundBy, ThrustBy: string(a.ThrustBy), Engines: append([]int{}, a.Engines...),
		Findings: make([]FindingSummary, 0, len(a.Findings)), Events: make([]EventSummary, 0, len(a.Events)),
	}
	if a.Next != nil {
		out.NextMinutes = number(a.Next.Minutes())
	}
	for i := range a.Findings {
		out.Findings = append(out.Findings, m.finding(&a.Findings[i]))
	}
	// No verdict means that no cross-check was made, as on a touch-and-go.
	if a.Outcome != takeoff.TouchAndGo && a.Warning.Verdict != "" {
		out.Warning = m.warning(&a.Warning)
	}
	if a.Reject != nil {
		out.Reject = m.reject(a.Reject)
	}
	for _, e := range a.Events {
		out.Events = append(out.Events, EventSummary{Kind: string(e.Kind), Check: e.Check, Severity: e.Severity, Rule: e.Rule})
	}
	return out
}

// onsetSpeed reads the recorded ground speed at the onset. It is looked up,
// not judged: the same rule of reading that detection uses.
func (m moments) onsetSpeed(a *detect.Attempt) *Reading {
	if !a.Onset.Known {
		return nil
	}
	return reading(m.r.Get(flightdata.GroundSpeed).At(a.Onset.At))
}
