package chart

import (
	"html"
	"math"
)

// MonthSpec is a picture over calendar months: panels one under the other on
// a common axis, such as a rate with its limits above the coverage it rests on.
type MonthSpec struct {
	// ID begins the ids of the picture, as in Spec.
	ID string
	// Title names the picture; Description is its text alternative.
	Title, Description string
	First              int // first month, 12 times the year plus the month from 0
	Count              int // months; every list of values has as many
	Panels             []MonthPanel
	Shades             []MonthShade
	Rules              []MonthRule
	Width              float64 // px; 0 means 336, which a phone of 360 shows whole
}

// MonthPanel is one panel. Its axis reaches over Low and High, NaN for no
// demand, and over what is drawn; limits are cut off at four times the
// highest main value, for those of a month with three takeoffs say nothing
// and would flatten the rest.
type MonthPanel struct {
	Title     string // with the unit
	Height    float64
	Low, High float64
	Areas     []MonthArea
	Lines     []MonthLine
	Levels    []Level
	Empty     string // words for a panel without any value
}

// LineRole is what a line is there for; it chooses how the line looks.
type LineRole string

// The roles.
const (
	MainLine   LineRole = "main"   // the figures themselves, with dots
	CenterLine LineRole = "center" // what they are compared with
	LimitLine  LineRole = "limit"  // limits that describe
	AlertLine  LineRole = "alert"  // the limit above which there is an alert
)

// MonthLine is a value for each month, NaN for none; a gap is not bridged.
// Limits are drawn as steps, a month wide. Rings mark months.
type MonthLine struct {
	Label  string // in the key; "" for none
	Role   LineRole
	Values []float64
	Rings  []bool // nil for none
}

// MonthArea is a band that changes from month to month.
type MonthArea struct {
	Low, High []float64
	Label     string
	Inner     bool // drawn stronger
}

// MonthShade is a stretch of months, both ends within, shaded and named.
type MonthShade struct {
	From, To int // months, counted from the first
	Label    string
}

// MonthRule is a dated line through all panels. At is in months from the
// start of the first one: 14.5 lies in the middle of the fifteenth.
type MonthRule struct {
	At    float64
	Label string // short: a letter that a table explains
}

const (
	// monthWidth is what a phone of 360 px has beside its margins, and half the
	// width of an A4 sheet: there the letters are as large as they are meant.
	monthWidth  = 336
	monthHeight = 110
	leftTicks   = 24 // the least room for tick labels
)

// Months draws the picture. The same MonthSpec gives the same bytes.
func Months(s MonthSpec) SVG {
	d := &monthDrawing{spec: s}
	d.width = s.Width
	if d.width == 0 {
		d.width = monthWidth
	}
	left, right := float64(leftTicks), 8.0
	for _, p := range s.Panels {
		left = max(left, p.tickRoom())
	}
	for _, r := range s.Rules {
		right = max(right, textWidth(r.Label)+5)
	}
	d.time = Axis{From: 0, To: float64(max(s.Count, 1)), Lo: left, Hi: d.width - right}
	var rules []Rule
	for _, r := range s.Rules {
		rules = append(rules, Rule{At: r.At, Label: r.Label})
	}
	d.placed = lanes(rules, d.time)
	d.y = 0
	for _, p := range s.Panels {
		d.height += p.headHeight(d.width) + p.height() + panelGap
	}
	d.height += d.axisRoom()
	d.draw()
	return SVG(d.b.String())
}

const (
	panelGap = 8
	// headGap keeps the first tick label clear of the title.
	headGap = 6
)

// headHeight is what the title and the key of a panel take above it.
func (p MonthPanel) headHeight(width float64) float64 {
	return titleHeight(p.Title, width) + float64(place(p.key(), width, nil))*legendRow + headGap
}

// ticks are the ticks of the panel's value axis.
func (p MonthPanel) ticks(lo, hi float64) []Tick { return Ticks(lo, hi, max(2, int(p.height()/26))) }

// tickRoom is how much the widest tick label takes, so that none is cut.
func (p MonthPanel) tickRoom() float64 {
	need := 0.0
	if lo, hi, ok := p.extent(); ok {
		for _, t := range p.ticks(lo, hi) {
			need = max(need, textWidth(t.Label)+7)
		}
	}
	return need
}

type monthDrawing struct {
	drawing
	spec MonthSpec
}

func (p MonthPanel) height() float64 {
	if p.Height == 0 {
		return monthHeight
	}
	return p.Height
}

func (d *monthDrawing) draw() {
	d.open("months", d.spec.ID, d.spec.Title, d.spec.Description)
	for i, p := range d.spec.Panels {
		d.panel(p, i == 0)
	}
	d.months()
	d.put("</svg>")
}

// open writes the head of a picture with its names for readers by ear.
func (d *drawing) open(kind, id, title, description string) {
	id = html.EscapeString(id)
	d.put(`<svg class="strips `, kind, `" id="`, id, `" role="img" aria-labelledby="`, id, `-title `, id, `-desc" viewBox="0 0 `, px(d.width), " ", px(d.height), `">`, "\n")
	d.put(`<title id="`, id, `-title">`, html.EscapeString(title), "</title>\n")
	d.put(`<desc id="`, id, `-desc">`, html.EscapeString(description), "</desc>\n")
}

// panel draws one panel below the last. Only the first names the shades and
// the dated lines.
func (d *monthDrawing) panel(p MonthPanel, first bool) {
	top := d.legend(d.title(d.y, p.Title), p.key()) + headGap
	h := p.height()
	d.y = top + h + panelGap
	for _, s := range d.spec.Shades {
		from, to := d.time.Pixel(float64(s.From)), d.time.Pixel(float64(s.To+1))
		d.rect("shade", from, top, to-from, h)
	}
	d.rect("plot", d.time.Lo, top, d.time.Hi-d.time.Lo, h)
	for i := range d.spec.Count {
		if (d.spec.First+i)%12 == 0 && i > 0 {
			x := d.time.Pixel(float64(i))
			d.line("grid", x, top, x, top+h)
		}
	}
	lo, hi, ok := p.extent()
	if !ok {
		d.text("unit", "middle", (d.time.Lo+d.time.Hi)/2, top+h/2+4, p.Empty)
		return
	}
	axis := Axis{From: lo, To: hi, Lo: top + h, Hi: top}
	for _, t := range p.ticks(lo, hi) {
		y := axis.Pixel(t.Value)
		d.line("grid", d.time.Lo, y, d.time.Hi, y)
		d.text("tick", "end", d.time.Lo-5, min(max(y+4, top+9), top+h), t.Label)
	}
	for _, a := range p.Areas {
		d.area(a, axis)
	}
	// Names of shades keep clear of the levels: at the foot, or at the top
	// where a level lies low.
	foot := top + h - 5
	for _, l := range p.Levels {
		if l.V < (lo+hi)/2 {
			foot = top + textSize + 1
		}
	}
	if first {
		d.shadeLabels(foot)
	}
	for _, l := range p.Levels {
		if l.V >= lo && l.V <= hi {
			y := axis.Pixel(l.V)
			d.line("edge", d.time.Lo, y, d.time.Hi, y)
			at := y - 4
			if at < top+textSize {
				at = y + textSize + 1
			}
			d.text("note", "end", d.time.Hi-5, at, l.Label)
		}
	}
	for _, l := range p.Lines {
		d.monthLine(l, axis)
	}
	// Dated lines stand in the panels only, so that they cross no title; their
	// letters stand in the first.
	for _, r := range d.placed {
		d.line("rule strong", r.x, top, r.x, top+h)
		if first {
			d.text("note letter", "start", r.x+4, top+textSize+1+float64(r.lane)*laneHeight, r.Label)
		}
	}
}

// shadeLabels names the shaded months.
func (d *monthDrawing) shadeLabels(y float64) {
	for _, s := range d.spec.Shades {
		x := d.time.Pixel(float64(s.From)) + 5
		d.text("note", "start", min(x, d.width-textWidth(s.Label)), y, s.Label)
	}
}

// extent is the axis of a panel.
func (p MonthPanel) extent() (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	take := func(v float64) {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	for _, l := range p.Lines {
		if l.Role == MainLine {
			for _, v := range l.Values {
				take(v)
			}
		}
	}
	if math.IsInf(lo, 1) {
		return 0, 0, false
	}
	for _, a := range p.Areas {
		for i := range a.Low {
			take(a.Low[i])
			take(a.High[i])
		}
	}
	most := 4 * hi
	for _, l := range p.Lines {
		for _, v := range l.Values {
			if l.Role != MainLine && v <= most {
				take(v)
			}
		}
	}
	for _, l := range p.Levels {
		take(l.V)
	}
	take(p.Low)
	take(p.High)
	switch {
	case hi == lo && lo == p.Low: // such as no event at all: no axis below 0
		hi++
	case hi == lo:
		hi, lo = hi+0.5, lo-0.5
	}
	room := (hi - lo) * 0.06
	if lo != p.Low {
		lo -= room
	}
	if hi != p.High {
		hi += room
	}
	return lo, hi, true
}
