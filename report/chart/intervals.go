package chart

import (
	"math"
	"strconv"
)

// IntervalSpec is a picture of intervals, a row each, on one value axis.
type IntervalSpec struct {
	ID                 string
	Title, Description string
	Unit               string // of the axis, in words
	Rows               []IntervalRow
	Levels             []Level // vertical lines, such as the value of all rows together
	Width              float64 // px; 0 means 336
}

// IntervalRow is an estimate with its interval, and what was seen, hollow;
// NaN is not drawn.
type IntervalRow struct {
	Label            string
	Value, Low, High float64
	Seen             float64
	Strong           bool // the row's label stands out
}

const (
	intervalRow = 19
	// labelShare is the part of the width that the label of a row may take; a
	// longer one is cut, and stands whole in the table.
	labelShare = 0.4
)

// Intervals draws the picture. The axis begins at 0. A seen value far out (four
// times the highest estimate) is an arrow at the edge with its figure, an end
// that far out an arrow at the end of its line.
func Intervals(s IntervalSpec) SVG {
	d := &drawing{width: s.Width}
	if d.width == 0 {
		d.width = monthWidth
	}
	left := 40.0
	high, most := 0.0, 0.0
	for _, r := range s.Rows {
		left = max(left, boldText*textWidth(shortened(r.Label, labelShare*d.width))+8)
		if !math.IsNaN(r.Value) {
			most = max(most, r.Value)
		}
	}
	for _, l := range s.Levels {
		most = max(most, l.V)
	}
	for _, r := range s.Rows {
		for _, v := range []float64{r.Value, r.High, r.Seen} {
			if v <= 4*most { // false for NaN
				high = max(high, v)
			}
		}
	}
	if high == 0 {
		high = 1
	}
	top := 18.0
	bottom := top + float64(len(s.Rows))*intervalRow + 6
	d.height = bottom + axisHeight
	right := 14.0
	for _, r := range s.Rows {
		if r.Seen > high*1.04 {
			right = max(right, textWidth(beyondLabel(r.Seen))+10)
		}
	}
	axis := Axis{From: 0, To: high * 1.04, Lo: left, Hi: d.width - right}
	d.open("intervals", s.ID, s.Title, s.Description)
	d.rect("plot", axis.Lo, top, axis.Hi-axis.Lo, bottom-top)
	for _, t := range Ticks(axis.From, axis.To, max(2, int((axis.Hi-axis.Lo)/45))) {
		x := axis.Pixel(t.Value)
		d.line("grid", x, top, x, bottom)
		d.text("tick", "middle", x, bottom+textSize+3, t.Label)
	}
	d.text("unit", "end", axis.Hi, bottom+2*textSize+6, s.Unit)
	for _, l := range s.Levels {
		x := axis.Pixel(l.V)
		d.line("edge", x, top, x, bottom)
		d.text("rule-label", "middle", min(max(x, textWidth(l.Label)/2), d.width-textWidth(l.Label)/2), top-5, l.Label)
	}
	for i, r := range s.Rows {
		d.interval(r, axis, top+3+(float64(i)+0.5)*intervalRow)
	}
	d.put("</svg>")
	return SVG(d.b.String())
}

func (d *drawing) interval(r IntervalRow, axis Axis, y float64) {
	class := "tick"
	if r.Strong {
		class = "name"
	}
	d.text(class, "end", axis.Lo-6, y+4, shortened(r.Label, labelShare*d.width))
	if !math.IsNaN(r.Low) && !math.IsNaN(r.High) {
		d.line("whisker", at(axis, r.Low), y, at(axis, r.High), y)
		if r.High > axis.To {
			d.arrow(axis.Hi, y)
		}
	}
	switch {
	case r.Seen > axis.To:
		d.arrow(axis.Hi, y)
		d.text("unit", "start", axis.Hi+6, y+4, beyondLabel(r.Seen))
	case !math.IsNaN(r.Seen):
		x := at(axis, r.Seen)
		d.rect("seen", x-3.2, y-3.2, 6.4, 6.4)
	}
	if !math.IsNaN(r.Value) {
		d.circle("dot", at(axis, r.Value), y, 3.4)
	}
}

// arrow is a head that points right, at the edge of a picture.
func (d *drawing) arrow(x, y float64) {
	d.line("whisker", x-5, y-4, x, y)
	d.line("whisker", x-5, y+4, x, y)
}

// beyondLabel is the figure of a value that lies beyond the picture.
func beyondLabel(v float64) string {
	if math.IsInf(v, 1) {
		return "∞"
	}
	decimals := 0
	if v < 100 {
		decimals = 1
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// beyondMark stands behind the name of a level that lies above the picture.
const beyondMark = " ↑"

// NeedleSpec is a picture of a row of counts, such as the takeoffs between
// one event and the next.
type NeedleSpec struct {
	ID                 string
	Title, Description string
	Name, Order        string // of the counts, with unit; and of the order along the axis
	Values             []float64
	Levels             []Level
	Width              float64 // px; 0 means 336
}

// Needles draws the picture; the axis begins at 0.
func Needles(s NeedleSpec) SVG {
	d := &drawing{width: s.Width}
	if d.width == 0 {
		d.width = monthWidth
	}
	high := 1.0
	for _, v := range s.Values {
		high = max(high, v)
	}
	right := 12.0
	for _, l := range s.Levels {
		right = max(right, textWidth(l.Label+beyondMark)+10)
		if l.V <= 2*high {
			high = max(high, l.V)
		}
	}
	top, h := titleHeight(s.Name, d.width)+headGap+3, 110.0
	d.height = top + h + 22
	d.open("needles", s.ID, s.Title, s.Description)
	y := Axis{From: 0, To: high * 1.06, Lo: top + h, Hi: top}
	ticks, left := Ticks(y.From, y.To, 4), float64(leftTicks)
	for _, t := range ticks {
		left = max(left, textWidth(t.Label)+7)
	}
	x := Axis{From: 0, To: float64(max(len(s.Values), 1)), Lo: left, Hi: d.width - right}
	d.title(0, s.Name)
	d.rect("plot", x.Lo, top, x.Hi-x.Lo, h)
	for _, t := range ticks {
		d.line("grid", x.Lo, y.Pixel(t.Value), x.Hi, y.Pixel(t.Value))
		d.text("tick", "end", x.Lo-5, y.Pixel(t.Value)+4, t.Label)
	}
	var wish []float64
	labels := make([]string, len(s.Levels))
	for i, l := range s.Levels {
		labels[i] = l.Label
		if l.V <= y.To {
			d.line("step limit", x.Lo, at(y, l.V), x.Hi, at(y, l.V))
		} else {
			labels[i] += beyondMark
		}
		wish = append(wish, at(y, l.V)+4)
	}
	for i, place := range spread(wish, top+textSize-2, top+h, textSize+2) {
		d.text("unit", "start", x.Hi+5, place, labels[i])
	}
	dot := min(max(0.4*(x.Hi-x.Lo)/x.To, 0.8), 2.2)
	for i, v := range s.Values {
		c := x.Pixel(float64(i) + 0.5)
		d.line("needle", c, y.Lo, c, at(y, v))
		d.circle("dot", c, at(y, v), dot)
	}
	d.text("unit", "start", x.Lo, top+h+textSize+4, s.Order)
	d.put("</svg>")
	return SVG(d.b.String())
}
