package chart

import (
	"cmp"
	"math"
	"slices"
	"unicode/utf8"
)

// Measures of the picture in pixels.
const (
	defaultWidth  = 960
	defaultHeight = 84
	textSize      = 11.5
	leastGutter   = 120 // on the left: strip titles, tick labels, names of discretes
	gap           = 14  // between panels
	barRow        = 17
	laneHeight    = 15
	axisHeight    = 34
	swatch        = 18 // sample of the line in front of its label
)

// textWidth bounds how wide a text is drawn. The fonts of the reader are not
// known here; 0.64 em a character is the mean of a wide sans-serif face, and
// the browser test holds the drawn boxes against it.
func textWidth(s string) float64 { return float64(utf8.RuneCountInString(s)) * textSize * 0.64 }

// placed is a rule with the lane of its label; lane 0 lies next to the strips.
type placed struct {
	Rule
	x    float64
	lane int
}

// lanes puts the label of every rule to the right of its line, on a lane
// where it covers neither another label nor another line. A line runs from its
// own lane down, so a label must lie above the lanes of all rules that begin
// under it; working from the right, that is one lane above the highest.
func lanes(rules []Rule, at Axis) []placed {
	out := make([]placed, 0, len(rules))
	for _, r := range rules {
		if r.At >= at.From && r.At <= at.To {
			out = append(out, placed{Rule: r, x: at.Pixel(r.At)})
		}
	}
	slices.SortStableFunc(out, func(a, b placed) int { return cmp.Compare(a.x, b.x) })
	for i := len(out) - 1; i >= 0; i-- {
		end := out[i].x + 3 + textWidth(out[i].Label) + 4
		for j := i + 1; j < len(out) && out[j].x < end; j++ {
			out[i].lane = max(out[i].lane, out[j].lane+1)
		}
	}
	return out
}

// spread moves label positions apart so that neighbours keep the distance
// and all stay inside [lo, hi], each as near to its wish as that allows. The
// order of the wishes is kept. Too many labels for the room share it evenly.
func spread(wish []float64, lo, hi, distance float64) []float64 {
	order := make([]int, len(wish))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(wish[a], wish[b]) })
	if n := len(wish); n > 1 {
		distance = min(distance, (hi-lo)/float64(n-1))
	}
	out := make([]float64, len(wish))
	at := lo
	for _, i := range order { // push down
		out[i] = max(wish[i], at)
		at = out[i] + distance
	}
	at = hi
	for _, i := range slices.Backward(order) { // and back up from the floor
		out[i] = min(out[i], at)
		at = out[i] - distance
	}
	return out
}

// valueRange is the extent of a strip's value axis: good samples, levels and
// finite band edges, at least MinSpan, with a little air.
func valueRange(s Strip) (lo, hi float64, any bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(v float64) {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			lo, hi, any = min(lo, v), max(hi, v), true
		}
	}
	for _, l := range s.Lines {
		for _, p := range l.Points {
			if !p.Masked {
				take(p.V)
			}
		}
	}
	for _, l := range s.Levels {
		take(l.V)
	}
	for _, b := range s.Bands {
		take(b.Low)
		take(b.High)
	}
	if !any {
		return 0, 1, false
	}
	if short := s.MinSpan - (hi - lo); short > 0 {
		lo, hi = lo-short/2, hi+short/2
	}
	if hi == lo {
		lo, hi = lo-1, hi+1
	}
	air := (hi - lo) * 0.07
	return lo - air, hi + air, true
}

// height is the height of a panel.
func (s Strip) height() float64 {
	switch {
	case len(s.Bars) > 0:
		return float64(len(s.Bars)) * barRow
	case s.Height > 0:
		return s.Height
	}
	return defaultHeight
}

// leftGutter is as wide as the names that stand in it, which are bold, with
// room for tick labels beside the names of the panels.
func leftGutter(s Spec) float64 {
	const bold, ticks = 1.1, 34
	need := float64(leastGutter)
	for _, strip := range s.Strips {
		need = max(need, bold*textWidth(strip.Title)+ticks)
		for _, b := range strip.Bars {
			need = max(need, bold*textWidth(b.Label)+6)
		}
	}
	return need
}

// rightGutter is as wide as the widest thing that stands in it: labels of
// lines, and labels of rules near the right end.
func rightGutter(s Spec, left, width float64) float64 {
	need := 30.0
	for _, strip := range s.Strips {
		for _, l := range strip.Lines {
			need = max(need, swatch+8+textWidth(endLabel(l, s.From, s.To)))
		}
	}
	// The rule at the share f of the axis has its label end at
	// left + f*(room-need) + label, which must not pass left + room.
	room := width - left
	for _, r := range s.Rules {
		if f := (r.At - s.From) / (s.To - s.From); f > 0 && f <= 1 {
			need = max(need, room-(room-3-textWidth(r.Label)-4)/f)
		}
	}
	return need
}
