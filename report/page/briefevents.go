package page

import (
	"cmp"
	"slices"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/archive"
)

// events are the instants of the attempt with the cues of a reject and what
// changed in the configuration during the roll.
func (b brief) events() []instant {
	out := instants(b.a)
	for i := range out {
		out[i].name = done(out[i].name)
	}
	if r := b.a.Reject; r != nil {
		for _, c := range r.Cues {
			if c.What != "takeoff warning" { // that is the warning on
				out = append(out, instant{"cue: " + c.What, c.At})
			}
		}
	}
	seen := map[string]bool{} // several checks watch one lever
	for _, f := range b.a.Findings {
		for _, s := range f.Stretches {
			// What was so at the onset is in the conditions.
			text := b.change(f, s)
			if b.a.Onset != nil && s.From.At <= b.a.Onset.At || seen[text] {
				continue
			}
			seen[text] = true
			out = append(out, instant{text, s.From})
		}
	}
	slices.SortStableFunc(out, func(a, b instant) int { return cmp.Compare(a.At, b.At) })
	return out
}

// measuredSpeeds are the ground speeds, kt, that the summary holds, by the
// instant in seconds of the recording. They come from the track of all speeds,
// and the samples between which the brief would read may lie a knot beside:
// one number for one thing, the one that the title and the flight page say.
func measuredSpeeds(a archive.AttemptSummary) map[float64]float64 {
	out := map[float64]float64{}
	put := func(at *archive.Moment, r *archive.Reading) {
		if at != nil && r != nil {
			out[at.At] = r.Value
		}
	}
	for _, f := range a.Findings {
		for _, s := range f.Stretches {
			put(&s.From, s.SpeedFrom)
		}
	}
	if r := a.Reject; r != nil {
		if r.FirstAction != nil {
			put(&r.FirstAction.At, r.GroundAtAction)
		}
		put(a.ThrustCut, r.GroundAtCut)
	}
	put(a.Onset, a.OnsetSpeed)
	put(a.Peak, a.PeakSpeed)
	return out
}

// change tells a change of the configuration by the first sample that is out
// of the limits.
func (b brief) change(f archive.FindingSummary, s archive.OutOfLimits) string {
	p := flightdata.Parameter(f.Parameter)
	if b.Clip != nil {
		series := b.Clip.Get(p)
		if r := series.At(span.Sec(s.From.At)); r.OK {
			return "configuration: " + name(p) + " at " + worded(series, r.Value)
		}
	}
	return "configuration: " + f.Check + " changes"
}

// done puts in front of an instant whose it is: a cue comes from the aircraft,
// an action from the crew. What only marks a time has nothing in front.
func done(name string) string {
	switch name {
	case "warning on", "warning off":
		return "cue: takeoff configuration " + name
	case "thrust advance", "thrust cut", "rotation":
		return "action: " + name
	case onsetName, "roll start", "lift-off", "peak speed", "stop":
		return name
	}
	return "action: " + name
}
