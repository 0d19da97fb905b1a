package casefile

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/detect/reject"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// momentNames are the instants of an attempt as the facts name them.
var momentNames = []string{
	"thrust advance", "onset", "roll start", "rotation", "lift-off", "thrust cut", "peak", "stop", "first action",
}

// moment is the instant of that name; not known for any other name.
func moment(a *detect.Attempt, name string) span.Moment {
	switch name {
	case "thrust advance":
		return a.ThrustAdvance
	case "onset":
		return a.Onset
	case "roll start":
		return a.RollStart
	case "rotation":
		return a.Rotation
	case "lift-off":
		return a.LiftOff
	case "thrust cut":
		return a.ThrustCut
	case "peak":
		return a.Peak
	case "stop":
		return a.Stop
	case "first action":
		if a.Reject != nil {
			return a.Reject.FirstAction.At
		}
	}
	return span.Moment{}
}

// readings are the speeds of a reject.
func readings(r *reject.Measures) map[string]flightdata.Reading {
	return map[string]flightdata.Reading{
		"ground speed at action": r.GroundAtAction, "airspeed at action": r.AirAtAction,
		"ground speed at cut": r.GroundAtCut, "airspeed at cut": r.AirAtCut,
		"peak ground speed": r.PeakGround, "peak airspeed": r.PeakAir,
	}
}

// figures are the measures of a reject, NaN when not told.
func figures(r *reject.Measures) map[string]float64 {
	return map[string]float64{
		"distance to cut": r.ToCut, "distance to peak": r.ToPeak, "distance to stop": r.ToStop,
		"position to stop": r.PositionToStop, "energy": r.Energy, "energy per wheel": r.EnergyPerWheel,
		"mean deceleration": r.MeanDeceleration, "peak deceleration": r.PeakDeceleration,
		"heading deviation": r.HeadingDeviation, "lateral deviation": r.LateralDeviation,
		"runway left": r.RunwayLeft, "v1": r.V1,
	}
}

// words are the texts of an attempt and of its reject.
func words(a *detect.Attempt) map[string]string {
	out := map[string]string{
		"why": a.Why, "ground by": a.GroundBy, "thrust by": string(a.ThrustBy),
		"start": "standing",
	}
	if a.Rolling {
		out["start"] = "rolling"
	}
	if r := a.Reject; r != nil {
		out["class"], out["order"], out["against v1"] = r.Class, r.Order, r.AgainstV1
		out["v1 from"], out["energy why"] = r.V1From, r.EnergyWhy
		out["reject severity"], out["reject rule"] = r.Severity, r.Rule
		out["first"] = r.FirstAction.What
	}
	return out
}

// lists are the lists of an attempt, in the order of the assessment.
func lists(a *detect.Attempt) map[string][]string {
	out := map[string][]string{"events": nil, "engines": nil}
	for _, e := range a.Events {
		out["events"] = append(out["events"], e.Severity+" "+string(e.Kind)+" "+e.Check)
	}
	for _, n := range a.Engines {
		out["engines"] = append(out["engines"], strconv.Itoa(n))
	}
	if r := a.Reject; r != nil {
		out["cues"], out["actions"] = nil, nil
		for _, c := range r.Cues {
			out["cues"] = append(out["cues"], c.What)
		}
		for _, c := range r.Actions {
			out["actions"] = append(out["actions"], c.What)
		}
	}
	return out
}

func ofReading(r flightdata.Reading) number { return number{r.OK, r.Value, r.Low, r.High} }

func ofFigure(v float64) number { return number{!math.IsNaN(v), v, v, v} }

// fact holds one line below an attempt.
func (k *checker) fact(l Line, a *detect.Attempt, named map[string]bool) {
	name, want, _ := strings.Cut(l.Text, ":")
	want = strings.TrimSpace(want)
	if check, ok := strings.CutPrefix(name, "finding "); ok {
		k.finding(l, a, check, want)
		return
	}
	switch name {
	case "others":
		k.others(l, a, want, named)
		return
	case "warning":
		k.warning(l, &a.Warning, want)
		return
	case "findings":
		k.word(l, name, want, someOrNone(len(a.Findings)))
		return
	case "peak speed":
		k.number(l, name, want, ofReading(a.PeakSpeed))
		return
	case "end":
		k.number(l, name, want, ofMoment(span.Exactly(a.End)))
		return
	case "next":
		n := number{}
		if a.Next != nil {
			n = ofFigure(a.Next.Seconds())
		}
		k.number(l, name, want, n)
		return
	}
	if slices.Contains(momentNames, name) {
		k.number(l, name, want, ofMoment(moment(a, name)))
		return
	}
	k.looked(l, a, name, want)
}

// looked finds the fact among words, lists, and what only a reject has.
func (k *checker) looked(l Line, a *detect.Attempt, name, want string) {
	if got, ok := words(a)[name]; ok {
		k.word(l, name, want, got)
		return
	}
	if got, ok := lists(a)[name]; ok {
		k.list(l, name, want, got)
		return
	}
	r := a.Reject
	if r == nil {
		r = &reject.Measures{}
	}
	reading, isReading := readings(r)[name]
	figure, isFigure := figures(r)[name]
	switch {
	case (isReading || isFigure) && a.Reject == nil:
		k.fail(l.Number, "%s: the attempt is no reject (%s)", name, a.Outcome)
	case isReading:
		k.number(l, name, want, ofReading(reading))
	case isFigure:
		k.number(l, name, want, ofFigure(figure))
	default:
		k.fail(l.Number, "no fact %q of this attempt", name)
	}
}

func (k *checker) others(l Line, a *detect.Attempt, want string, named map[string]bool) {
	for _, f := range a.Findings {
		if !named[f.Check] && string(f.State) != want {
			k.fail(l.Number, "finding %s: expected %s like the others, found %s: value %s, margin %.4g, %s", f.Check, want, f.State, f.Text, f.Margin, f.Reason)
		}
	}
}

// finding holds the facts about one check; see findingFacts.
func (k *checker) finding(l Line, a *detect.Attempt, check, want string) {
	i := slices.IndexFunc(a.Findings, func(f configuration.Finding) bool { return f.Check == check })
	if i < 0 {
		k.fail(l.Number, "no finding %q", check)
		return
	}
	f := &a.Findings[i]
	for _, item := range split(want, ',') {
		if item == string(configuration.Within) || item == string(configuration.Outside) || item == string(configuration.Unknown) {
			if item != string(f.State) {
				k.fail(l.Number, "finding %s: expected %s, found %s: value %s, margin %.4g, %s", check, item, f.State, f.Text, f.Margin, f.Reason)
			}
			continue
		}
		k.detail(l, "finding "+check, item, findingFacts(f))
	}
}

// facts are the named facts of a finding or of a warning: each a figure, a
// text or a list.
type facts map[string]any

// findingFacts are the facts that a "finding CHECK:" line may name. Those of
// a stretch are of the first one.
func findingFacts(f *configuration.Finding) facts {
	out := facts{
		"at the onset": string(f.AtOnset), "in the roll": yes(f.InRoll), "because": f.Reason, "limit": f.Limit,
		"text": f.Text, "severity": f.Severity, "rule": f.Rule, "life": yes(f.Life), "life why": f.LifeWhy, "raw": f.Raw,
		"value": ofFigure(f.Value), "margin": ofFigure(f.Margin), "worst": ofFigure(f.Worst), "share": ofFigure(f.MarginShare),
		"low": ofFigure(f.LimitLow), "high": ofFigure(f.LimitHigh), "age": ofFigure(f.Age.Seconds()),
		"judged from": ofFigure(f.Judged.From.Seconds()), "judged to": ofFigure(f.Judged.To.Seconds()),
		"stretches": ofFigure(float64(len(f.Stretches))),
		"from":      number{}, "to": number{}, "speed from": number{}, "speed to": number{}, "ended": "",
	}
	if len(f.Stretches) > 0 {
		s := f.Stretches[0]
		out["from"], out["to"] = ofMoment(s.From), ofMoment(s.To)
		out["speed from"], out["speed to"] = ofReading(s.SpeedFrom), ofReading(s.SpeedTo)
		out["ended"], out["stretch worst"] = string(s.Ended), ofFigure(s.Margin)
	}
	return out
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// warningFacts are the facts that a "warning:" line may name, beside the
// verdict.
func warningFacts(w *configuration.Warning) facts {
	out := facts{
		"because": w.Reason, "severity": w.Severity, "rule": w.Rule, "due": w.Due, "untold": w.Untold,
		"not required": w.NotRequired, "untold due": w.UntoldDue, "delay of": "",
		"first": ofMoment(w.First), "ended": ofMoment(w.Ended), "delay": number{}, "reaction": number{},
	}
	if w.Delay != nil {
		d := w.Delay
		out["delay"] = number{value: d.At.Seconds(), low: d.Earliest.Seconds(), high: d.Latest.Seconds(), known: true}
		out["delay of"] = d.Check
	}
	if w.Reaction != nil {
		out["reaction"] = ofFigure(w.Reaction.Seconds())
	}
	return out
}

func (k *checker) warning(l Line, w *configuration.Warning, want string) {
	for _, item := range split(want, ',') {
		switch configuration.Verdict(item) {
		case configuration.WarnBoth, configuration.WarnNeither, configuration.WarnCondition, configuration.WarnOnly, configuration.WarnUnknown:
			if item != string(w.Verdict) {
				k.fail(l.Number, "warning: expected %s, found %s: %s; due: %s; untold: %s", item, w.Verdict, w.Reason, orNone(w.Due), orNone(w.Untold))
			}
		default:
			k.detail(l, "warning", item, warningFacts(w))
		}
	}
}

// detail holds one item "NAME VALUE"; the longest name that fits counts.
func (k *checker) detail(l Line, of, item string, known facts) {
	name := ""
	for n := range known {
		if strings.HasPrefix(item+" ", n+" ") && len(n) > len(name) {
			name = n
		}
	}
	want := strings.TrimSpace(strings.TrimPrefix(item, name))
	switch got := known[name].(type) {
	case number:
		k.number(l, of+", "+name, want, got)
	case string:
		k.word(l, of+", "+name, want, got)
	case []string:
		k.list(l, of+", "+name, want, got)
	default:
		names := make([]string, 0, len(known))
		for n := range known {
			names = append(names, n)
		}
		slices.Sort(names)
		k.fail(l.Number, "%s: no fact %q; known: %s", of, item, strings.Join(names, ", "))
	}
}

// someOrNone answers "findings: none" for an attempt that is not judged.
func someOrNone(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
