package archive

import (
	"math"
	"time"

	"rollonset/detect/configuration"
	"rollonset/detect/reject"
	"rollonset/ingest/span"
)

func (m moments) finding(f *configuration.Finding) FindingSummary {
	out := FindingSummary{
		Check: f.Check, Title: f.Title, State: string(f.State), AtOnset: string(f.AtOnset), InRoll: f.InRoll,
		Reason: f.Reason, JudgedFrom: at(f.Judged.From), JudgedTo: at(f.Judged.To),
		Value: number(f.Value), Text: f.Text, Raw: f.Raw, Limit: f.Limit,
		LimitLow: number(f.LimitLow), LimitHigh: number(f.LimitHigh),
		Margin: number(f.Margin), WorstMargin: number(f.Worst), MarginShare: number(f.MarginShare),
		Stretches: make([]OutOfLimits, 0, len(f.Stretches)),
		Life:      f.Life, LifeWhy: f.LifeWhy, Severity: f.Severity, Rule: f.Rule, ProfileLine: f.ProfileLine,
	}
	out.Parameter, out.Unit = m.watched(f.Check)
	if !math.IsNaN(f.Value) { // without a value there is no sample to be of any age
		out.Age = length(&f.Age)
	}
	for i := range f.Stretches {
		out.Stretches = append(out.Stretches, m.stretch(&f.Stretches[i], f.Judged))
	}
	return out
}

// watched is the parameter that the check judges and its unit, both "" for a
// check that the profile does not have.
func (m moments) watched(check string) (parameter, unit string) {
	for i := range m.p.Checks {
		if m.p.Checks[i].Name != check {
			continue
		}
		p := m.p.Checks[i].Watched()
		if rule := m.p.Find(p); rule != nil {
			unit = rule.Canonical.String()
		}
		return string(p), unit
	}
	return "", ""
}

// length is a duration in seconds, nil when there is none.
func length(d *time.Duration) *float64 {
	if d == nil {
		return nil
	}
	s := seconds(int64(*d))
	return &s
}

func (m moments) stretch(s *configuration.Stretch, judged span.Span) OutOfLimits {
	return OutOfLimits{
		From: m.inside(s.From, judged.From, judged), To: m.inside(s.To, judged.To, judged),
		SpeedFrom: reading(s.SpeedFrom), SpeedTo: reading(s.SpeedTo), Ended: string(s.Ended),
		Value: number(s.Value), Text: s.Text, ValueAt: at(s.ValueAt), Margin: number(s.Margin), Limit: s.Limit,
	}
}

// inside is the moment, or where it cannot be told the given edge of the
// judged span with the whole span for a bracket, which is all that is known.
func (m moments) inside(t span.Moment, edge span.Instant, judged span.Span) Moment {
	if !t.Known {
		t = span.Within(edge, judged.From, judged.To)
	}
	return *m.moment(t)
}

func (m moments) warning(w *configuration.Warning) *WarningSummary {
	list := func(l []string) []string { return append([]string{}, l...) } // [] and not null
	out := &WarningSummary{
		Verdict: string(w.Verdict), Reason: w.Reason,
		Due: list(w.Due), NotRequired: list(w.NotRequired), Untold: list(w.Untold), UntoldDue: list(w.UntoldDue),
		First: m.moment(w.First), Ended: m.moment(w.Ended),
		Reaction: length(w.Reaction), Severity: w.Severity, Rule: w.Rule,
	}
	if d := w.Delay; d != nil {
		out.Delay, out.DelayEarliest, out.DelayLatest, out.DelayOf = length(&d.At), length(&d.Earliest), length(&d.Latest), d.Check
	}
	return out
}

func (m moments) reject(r *reject.Measures) *RejectSummary {
	out := &RejectSummary{
		Class: r.Class, Actions: []Action{}, Order: r.Order,
		GroundAtAction: reading(r.GroundAtAction), AirAtAction: reading(r.AirAtAction),
		GroundAtCut: reading(r.GroundAtCut), AirAtCut: reading(r.AirAtCut),
		PeakGround: reading(r.PeakGround), PeakAir: reading(r.PeakAir),
		AgainstV1: r.AgainstV1, V1: number(r.V1), V1From: r.V1From, Cues: []Action{},
		MeanDeceleration: number(r.MeanDeceleration), PeakDeceleration: number(r.PeakDeceleration),
		ToCut: number(r.ToCut), ToPeak: number(r.ToPeak), ToStop: number(r.ToStop), PositionToStop: number(r.PositionToStop),
		ToCutLow: number(r.ToCutLow), ToCutHigh: number(r.ToCutHigh), ToStopLow: number(r.ToStopLow), ToStopHigh: number(r.ToStopHigh),
		CutToStop: number(r.CutToStop), CutToStopTime: number(r.CutToStopTime),
		Energy: number(r.Energy), EnergyPerWheel: number(r.EnergyPerWheel), EnergyWhy: r.EnergyWhy,
		HeadingDeviation: number(r.HeadingDeviation), LateralDeviation: number(r.LateralDeviation),
		RunwayLeft: number(r.RunwayLeft), RunwayLeftIf: r.RunwayLeftIf, Severity: r.Severity, Rule: r.Rule,
	}
	out.FirstAction = m.action(r.FirstAction.What, r.FirstAction.At)
	for _, a := range r.Actions {
		out.Actions = add(out.Actions, m.action(a.What, a.At))
	}
	for _, c := range r.Cues {
		out.Cues = add(out.Cues, m.action(c.What, c.At))
	}
	return out
}

// action is nil for a thing that was not done: its moment is not known.
func (m moments) action(what string, t span.Moment) *Action {
	if !t.Known {
		return nil
	}
	return &Action{What: what, At: *m.moment(t)}
}

func add(list []Action, a *Action) []Action {
	if a == nil {
		return list
	}
	return append(list, *a)
}
