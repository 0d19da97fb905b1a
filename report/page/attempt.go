package page

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"rollonset/report/archive"
)

// instant is a named moment of an attempt.
type instant struct {
	name string
	archive.Moment
}

// onsetName is the zero of all relative times. It is computed from the thrust
// advance and not read off samples of its own, so the order of those two is
// certain although their brackets overlap.
const onsetName = "onset"

// instants lists the moments of an attempt that happened, in time order;
// equal ones stay in the order of a takeoff.
func instants(a archive.AttemptSummary) []instant {
	var out []instant
	add := func(name string, m *archive.Moment) {
		if m != nil {
			out = append(out, instant{name, *m})
		}
	}
	add("thrust advance", a.ThrustAdvance)
	add(onsetName, a.Onset)
	add("roll start", a.RollStart)
	if w := a.Warning; w != nil {
		add("warning on", w.First)
		add("warning off", w.Ended)
	}
	add("rotation", a.Rotation)
	add("lift-off", a.LiftOff)
	add("thrust cut", a.ThrustCut)
	if r := a.Reject; r != nil {
		for _, action := range r.Actions {
			if action.What != "thrust" { // that is the thrust cut
				at := action.At
				add(action.What, &at)
			}
		}
	}
	add("peak speed", a.Peak)
	add("stop", a.Stop)
	slices.SortStableFunc(out, func(a, b instant) int { return cmp.Compare(a.At, b.At) })
	return out
}

// origin is the zero of an attempt's relative times: its onset, or else its
// thrust advance, or else the start of the recording.
func origin(a archive.AttemptSummary) float64 {
	switch {
	case a.Onset != nil:
		return a.Onset.At
	case a.ThrustAdvance != nil:
		return a.ThrustAdvance.At
	}
	return 0
}

// checkTable lists every check, worst first, whatever it says.
func checkTable(a archive.AttemptSummary) table {
	t := table{Kind: "checks", Narrow: stacks, Caption: "All checks", Empty: "No check was judged on this attempt.", Head: []head{
		{Text: "Check"},
		{Text: "Verdict"},
		{Text: "Severity"},
		{Text: "Value at onset", Num: true},
		{Text: "Limit", Num: true},
		{Text: "Margin at onset", Num: true},
		{Text: "Out of limits, from onset"},
	}}
	findings := worstFirst(a, a.Findings)
	slices.SortStableFunc(findings, func(a, b archive.FindingSummary) int { return cmp.Compare(stateRank(a.State), stateRank(b.State)) })
	for _, f := range findings {
		t.Rows = append(t.Rows, []cell{
			{Text: f.Check, Sub: f.Title, Head: true},
			stateCell(f),
			{Text: known(f.Severity, None), Sub: RuleWords(f.Rule, f.Check, a), Strong: f.Severity == "high"},
			{Text: valueText(f), Sub: valueOrigin(f), Lines: reachedLines(f), Num: true},
			limitCell(f),
			marginCell(f),
			stretchCell(a, f),
		})
	}
	return t
}

// stateRank puts out of limits first, then cannot be told, then within.
func stateRank(state string) int {
	switch state {
	case outside:
		return 0
	case within:
		return 2
	}
	return 1
}

func stateCell(f archive.FindingSummary) cell {
	// The words of a verdict stay together in a narrow column.
	c := cell{Text: strings.ReplaceAll(f.State, " ", "\u00a0"), Strong: f.State != within}
	if f.InRoll {
		c.Lines = append(c.Lines, "within limits at the onset, out in the roll")
	} else if f.AtOnset != "" && f.AtOnset != f.State {
		c.Lines = append(c.Lines, "at the onset: "+f.AtOnset)
	}
	c.Lines = append(c.Lines, Reasons(f)...)
	return c
}

// valueText is the value at the onset, written as the cursor writes its sample
// where that loses no digit: how far it lies from a limit may be in the last.
func valueText(f archive.FindingSummary) string {
	number, _, _ := strings.Cut(f.Text, " ")
	if _, err := strconv.ParseFloat(number, 64); f.Value == nil || err != nil { // a state has a number too
		return known(minuses(f.Text), None)
	}
	v := significant(*f.Value)
	short := strconv.FormatFloat(v, 'f', Decimals(f.Unit), 64)
	if back, err := strconv.ParseFloat(short, 64); err != nil || back != v {
		return known(minuses(f.Text), None)
	}
	_, remark, found := strings.Cut(f.Text, ", ") // "5.6 deg, moving"
	if found {
		return With(v, f.Unit) + ", " + remark
	}
	return With(v, f.Unit)
}

func valueOrigin(f archive.FindingSummary) string {
	var parts []string
	if f.Raw != "" {
		parts = append(parts, "from "+f.Raw)
	}
	if f.Age != nil {
		parts = append(parts, "sample "+Number(*f.Age, 2)+" s old")
	}
	return strings.Join(parts, ", ")
}

// reachedLines is the value farthest out of limits where it is another than the
// one at the onset.
func reachedLines(f archive.FindingSummary) []string {
	w := farthest(f)
	if w == nil || f.AtOnset == outside {
		return nil
	}
	return []string{"reached " + With(*w.Value, f.Unit)}
}

// limitCell is the limit at the onset; where another one applied when the value
// was out of it, both, with what each is.
func limitCell(f archive.FindingSummary) cell {
	c := num(known(minuses(f.Limit), None))
	w := farthest(f)
	if w == nil || w.Limit == "" || w.Limit == f.Limit {
		return c
	}
	c.Lines = []string{"at the onset; where it was out: " + minuses(w.Limit)}
	return c
}

// marginCell shows the margin at the onset in the unit of the value, as a
// share of the band where there is one, and the worst one where it is another.
func marginCell(f archive.FindingSummary) cell {
	c := num(None)
	if f.Margin != nil {
		c.Text = With(*f.Margin, f.Unit)
		if f.MarginShare != nil {
			c.Sub = Number(*f.MarginShare*100, 0) + " % of the band"
		}
	}
	if f.WorstMargin != nil && With(*f.WorstMargin, f.Unit) != c.Text {
		c.Lines = append(c.Lines, "worst "+With(*f.WorstMargin, f.Unit))
	}
	return c
}

// stretchCell tells each stretch out of limits: from, to, the brackets and
// ground speeds there, and how it ended.
func stretchCell(a archive.AttemptSummary, f archive.FindingSummary) cell {
	if len(f.Stretches) == 0 {
		return text(None)
	}
	var c cell
	zero := origin(a)
	for _, s := range f.Stretches {
		line := placeWords(s.From, s.SpeedFrom, zero) + " to " + placeWords(s.To, endSpeed(a, s), zero)
		if s.Margin != nil {
			line += ", margin " + With(*s.Margin, f.Unit)
		}
		if oneSample(s) {
			line += ", " + oneSampleOnly
		}
		c.Lines = append(c.Lines, line+"; ended by: "+endName(a, s))
	}
	c.Text, c.Lines = c.Lines[0], c.Lines[1:]
	return c
}

// placeWords are a moment with its bracket and the ground speed there, as far
// as it is known.
func placeWords(m archive.Moment, speed *archive.Reading, zero float64) string {
	words := signed(m.At-zero, 1) + " s"
	words += bracketWords(m)
	if speed != nil {
		words += " at " + Speed(speed.Value)
	}
	return words
}

// warningTable is the cross-check of the recorded with the recomputed warning.
func warningTable(a archive.AttemptSummary) table {
	t := table{
		Kind: "warning", Narrow: fits, Caption: "Takeoff configuration warning against the recomputed condition", Head: columns("Item", "Result"),
		Empty: "The warning was not compared on this attempt.",
	}
	w := a.Warning
	if w == nil {
		return t
	}
	row := func(name, s string) { t.Rows = append(t.Rows, []cell{rowHead(name), text(known(s, None))}) }
	row("Verdict", VerdictWords(*w))
	if w.Reason != "" {
		row("Why", w.Reason)
	}
	row("Warning due for", strings.Join(w.Due, ", "))
	row("Out of limits, no warning required", strings.Join(w.NotRequired, ", "))
	untold := cell{Text: None}
	for i, line := range untoldLines(a) {
		if i == 0 {
			untold.Text = line
			continue
		}
		untold.Lines = append(untold.Lines, line)
	}
	t.Rows = append(t.Rows, []cell{rowHead("Checks that could not be told"), untold})
	if w.Delay != nil && w.DelayEarliest != nil && w.DelayLatest != nil {
		row("Condition under thrust to warning", signed(*w.DelayEarliest, 1)+" to "+signed(*w.DelayLatest, 1)+" s, from "+w.DelayOf)
	}
	if w.Reaction != nil {
		row("Warning to first action", Seconds(*w.Reaction))
	}
	if w.Severity != "" {
		row("Severity", w.Severity+" ("+w.Rule+")")
	}
	return t
}

// untoldLines lists every check that could not be told with its reason, those
// first for which the certification basis requires the warning.
func untoldLines(a archive.AttemptSummary) []string {
	var due, other []string
	for _, f := range a.Findings {
		if f.State != unknown {
			continue
		}
		line := f.Check + because(f.Reason)
		if slices.Contains(a.Warning.UntoldDue, f.Check) {
			due = append(due, line)
		} else {
			other = append(other, line+" (no warning required)")
		}
	}
	return append(due, other...)
}

// rejectTable lists the measures of a reject; what could not be told stands
// as such, so that a missing row is never a missing figure.
func rejectTable(a archive.AttemptSummary) table {
	t := table{Kind: "reject", Narrow: fits, Caption: "Measures of the reject", Head: []head{{Text: "Measure"}, {Text: "Value", Num: true}, {Text: "Bracket or remark"}}}
	r := a.Reject
	if r == nil {
		return t
	}
	row := func(name, value, unit, remark string) {
		if value == None {
			remark = strings.TrimSuffix(unknown+"; "+remark, "; ")
		} else {
			value += "\u00a0" + unit
		}
		t.Rows = append(t.Rows, []cell{rowHead(name), num(value), text(remark)})
	}
	word := func(name, s string) { t.Rows = append(t.Rows, []cell{rowHead(name), text(""), text(s)}) }
	reading := func(name string, v *archive.Reading) {
		if v == nil {
			row(name, None, "kt", "")
			return
		}
		row(name, Number(v.Value, Decimals("kt")), "kt", between(*v, Decimals("kt")))
	}
	word("Class", r.Class)
	if r.FirstAction != nil {
		word("First action", r.FirstAction.What)
	}
	word("Actions in order", known(sequenceWords(r.Actions, origin(a)), "none recorded"))
	if r.Order != "" {
		word("Order", r.Order)
	}
	word("Precedes the first action", known(sequenceWords(r.Cues, origin(a)), "none recorded"))
	reading("Ground speed at the first action", r.GroundAtAction)
	reading("Airspeed at the first action", r.AirAtAction)
	reading("Ground speed at the thrust cut", r.GroundAtCut)
	reading("Airspeed at the thrust cut", r.AirAtCut)
	reading("Peak ground speed", r.PeakGround)
	reading("Peak airspeed", r.PeakAir)
	row("V1", figure(r.V1, 0), "kt", strings.TrimPrefix(r.V1From+"; "+r.AgainstV1, "; "))
	row("Time from roll start to thrust cut", lasted(a.RollStart, a.ThrustCut), "s", "")
	row("Time from thrust cut to stop or turn-off", lasted(a.ThrustCut, a.Stop), "s", "")
	row("Distance from roll start to thrust cut", figure(r.ToCut, 0), "m", bounds(r.ToCutLow, r.ToCutHigh))
	row("Distance from roll start to peak speed", figure(r.ToPeak, 0), "m", "")
	row("Distance from roll start to stop or turn-off", figure(r.ToStop, 0), "m", bounds(r.ToStopLow, r.ToStopHigh))
	row("Distance from thrust cut to stop or turn-off", difference(r.ToStop, r.ToCut), "m", "")
	row("Distance from roll start to stop or turn-off, by positions", figure(r.PositionToStop, 0), "m", "")
	assumed := ""
	if r.RunwayLeft != nil {
		assumed = "length in the flight list less the distance from roll start, as if the roll began at the start of the runway"
	}
	row("Runway left at the stop or turn-off", figure(r.RunwayLeft, 0), "m", assumed)
	row("Mean deceleration", figure(r.MeanDeceleration, 3), "g", "")
	row("Peak deceleration", figure(r.PeakDeceleration, 3), "g", "")
	row("Brake energy, upper bound", figure(r.Energy, 1), "MJ", r.EnergyWhy)
	row("Brake energy per braked wheel, upper bound", figure(r.EnergyPerWheel, 1), "MJ", r.EnergyWhy)
	row("Largest heading deviation", figure(r.HeadingDeviation, 1), "deg", "")
	row("Largest lateral deviation", figure(r.LateralDeviation, 1), "m", "")
	row("To the next attempt", figure(a.NextMinutes, 1), "min", "")
	word("Severity", strings.TrimSpace(known(r.Severity, "none")+because(r.Rule)))
	return t
}

// lasted is the time between two moments, to a tenth of a second.
func lasted(from, to *archive.Moment) string {
	if from == nil || to == nil {
		return None
	}
	return Number(to.At-from.At, 1)
}

// difference of two distances in whole metres.
func difference(whole, part *float64) string {
	if whole == nil || part == nil {
		return None
	}
	return Number(*whole-*part, 0)
}

// bounds are the bracket of a distance, "" without them.
func bounds(low, high *float64) string {
	if low == nil || high == nil {
		return ""
	}
	return "between " + Number(*low, 0) + " and " + Number(*high, 0) + " m"
}

func sequenceWords(actions []archive.Action, zero float64) string {
	var parts []string
	for _, a := range actions {
		parts = append(parts, a.What+" at "+signed(a.At.At-zero, 1)+" s")
	}
	return strings.Join(parts, ", ")
}
