package chart

import (
	_ "embed"
	"html"
	"math"
	"strings"
)

// Style is the style sheet of the pictures, to be put into a page once.
//
//go:embed chart.css
var Style string

// SVG is a picture as the text of one svg element.
type SVG string

// Strips draws the chart. A Spec without time extent or strips still gives
// a picture with its title.
func Strips(s Spec) SVG {
	d := newDrawing(s)
	d.frame()
	for _, strip := range s.Strips {
		d.strip(strip)
	}
	d.timeAxis()
	d.rules()
	d.put("</svg>")
	return SVG(d.b.String())
}

// drawing is a picture in the making; y is the top of the next panel.
type drawing struct {
	b      strings.Builder
	spec   Spec
	width  float64
	height float64
	top    float64 // of the first panel
	y      float64
	time   Axis
	placed []placed
}

func newDrawing(s Spec) *drawing {
	d := &drawing{spec: s, width: s.Width}
	if d.width == 0 {
		d.width = defaultWidth
	}
	left := leftGutter(s)
	d.time = Axis{From: s.From, To: s.To, Lo: left, Hi: d.width - rightGutter(s, left, d.width)}
	d.placed = lanes(s.Rules, d.time)
	count := 0
	for _, p := range d.placed {
		count = max(count, p.lane+1)
	}
	d.top = float64(count)*laneHeight + 6
	d.height = d.top + axisHeight
	for _, strip := range s.Strips {
		d.height += strip.height() + gap
	}
	d.y = d.top
	return d
}

func (d *drawing) put(parts ...string) {
	for _, p := range parts {
		d.b.WriteString(p)
	}
}

// text puts a text element; anchor is "start", "middle" or "end".
func (d *drawing) text(class, anchor string, x, y float64, s string) {
	d.put(`<text class="`, class, `" text-anchor="`, anchor, `" x="`, px(x), `" y="`, px(y), `">`, html.EscapeString(s), "</text>\n")
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	d.put(`<line class="`, class, `" x1="`, px(x1), `" y1="`, px(y1), `" x2="`, px(x2), `" y2="`, px(y2), `"/>`, "\n")
}

func (d *drawing) rect(class string, x, y, w, h float64) {
	d.put(`<rect class="`, class, `" x="`, px(x), `" y="`, px(y), `" width="`, px(max(w, 0)), `" height="`, px(max(h, 0)), `"/>`, "\n")
}

// frame opens the svg element. Its data attributes are the time axis for a
// cursor: seconds at both ends, the pixels they lie at, and the rows of pixels
// that the strips take.
func (d *drawing) frame() {
	id := html.EscapeString(d.spec.ID)
	bottom := d.height - axisHeight - gap
	d.put(`<svg class="strips" id="`, id, `" role="img" aria-labelledby="`, id, `-title `, id, `-desc" viewBox="0 0 `, px(d.width), " ", px(d.height),
		`" data-from="`, number(d.time.From), `" data-to="`, number(d.time.To), `" data-lo="`, number(d.time.Lo), `" data-hi="`, number(d.time.Hi),
		`" data-top="`, px(d.top), `" data-bottom="`, px(bottom), `">`, "\n")
	d.put(`<title id="`, id, `-title">`, html.EscapeString(d.spec.Title), "</title>\n")
	d.put(`<desc id="`, id, `-desc">`, html.EscapeString(d.spec.Description), "</desc>\n")
}

func (d *drawing) strip(s Strip) {
	h := s.height()
	d.put(`<g class="panel">`, "\n")
	d.rect("plot", d.time.Lo, d.y, d.time.Hi-d.time.Lo, h)
	for _, t := range d.timeTicks() {
		x := d.time.Pixel(t.Value)
		d.line("grid", x, d.y, x, d.y+h)
	}
	if len(s.Bars) > 0 {
		d.bars(s)
	} else {
		d.values(s, h)
	}
	d.put("</g>\n")
	d.y += h + gap
}

// values draws a panel of lines.
func (d *drawing) values(s Strip, h float64) {
	d.text("name", "start", 0, d.y+textSize, s.Title)
	if s.Unit != "" {
		d.text("unit", "start", 0, d.y+2*textSize+2, s.Unit)
	}
	lo, hi, any := valueRange(s)
	if !any {
		d.text("unit", "middle", (d.time.Lo+d.time.Hi)/2, d.y+h/2+4, s.Empty)
		return
	}
	axis := Axis{From: lo, To: hi, Lo: d.y + h, Hi: d.y}
	notes := d.bands(s, axis)
	for _, t := range Ticks(lo, hi, max(3, int(h/21))) {
		y := axis.Pixel(t.Value)
		d.line("grid", d.time.Lo, y, d.time.Hi, y)
		// Kept off the corners so that neighbouring panels never touch.
		d.text("tick", "end", d.time.Lo-5, min(max(y+4, d.y+8), d.y+h), t.Label)
	}
	notes = append(notes, d.levels(s, axis)...)
	for i, l := range s.Lines {
		d.series(i, l, axis)
	}
	d.notes(notes)
	d.lineLabels(s, axis)
}

// note is a label inside a panel, in the order of drawing: x is its left end,
// y its base line.
type note struct {
	x, y  float64
	label string
}

// notes writes the labels of bands and levels over the lines. One that would
// run into another goes to the right of it, and where there is no room left it
// is left out: its line still stands and the text alternative names it.
func (d *drawing) notes(all []note) {
	var done []note
	for _, n := range all {
		for moved := n.label != ""; moved; {
			moved = false
			for _, o := range done {
				end := o.x + textWidth(o.label) + 10
				if math.Abs(n.y-o.y) <= textSize+1 && n.x < end && o.x < n.x+textWidth(n.label)+10 {
					n.x, moved = end, true
				}
			}
		}
		if n.label == "" || n.x+textWidth(n.label) > d.time.Hi {
			continue
		}
		done = append(done, n)
		d.text("note", "start", n.x, n.y, n.label)
	}
}

func (d *drawing) bands(s Strip, axis Axis) (notes []note) {
	for _, b := range s.Bands {
		top, bottom := axis.Hi, axis.Lo
		if !math.IsInf(b.High, 0) {
			top = axis.Pixel(b.High)
		}
		if !math.IsInf(b.Low, 0) {
			bottom = axis.Pixel(b.Low)
		}
		d.rect("band", d.time.Lo, top, d.time.Hi-d.time.Lo, bottom-top)
		notes = append(notes, note{d.time.Lo + 4, min(max(top+textSize, axis.Hi+textSize), axis.Lo-3), b.Label})
	}
	return notes
}

// levels draws the thresholds.
func (d *drawing) levels(s Strip, axis Axis) (notes []note) {
	for _, l := range s.Levels {
		y := axis.Pixel(l.V)
		d.line("level", d.time.Lo, y, d.time.Hi, y)
		at := y - 3
		if at < axis.Hi+textSize-2 { // no room above
			at = y + textSize
		}
		notes = append(notes, note{d.time.Lo + 4, at, l.Label})
	}
	return notes
}

func (d *drawing) timeTicks() []Tick { return Ticks(d.time.From, d.time.To, 13) }

// timeAxis draws the common axis under the last panel.
func (d *drawing) timeAxis() {
	y := d.y - gap + 4
	d.line("axis", d.time.Lo, y, d.time.Hi, y)
	for _, t := range d.timeTicks() {
		x := d.time.Pixel(t.Value)
		d.line("axis", x, y, x, y+4)
		d.text("tick", "middle", x, y+4+textSize, t.Label)
	}
	d.text("unit", "start", 0, y+4+textSize, "seconds from onset")
}

// rules draws brackets, lines and labels of the instants over everything.
func (d *drawing) rules() {
	bottom := d.y - gap + 4
	for _, r := range d.placed {
		class := "rule"
		if r.Strong {
			class = "rule strong"
		}
		lo, hi := max(d.time.Pixel(r.Earliest), d.time.Lo), min(d.time.Pixel(r.Latest), d.time.Hi)
		if hi-lo > 1.5 { // narrower than the line itself says nothing
			d.rect("bracket", lo, d.top, hi-lo, bottom-d.top)
		}
		y := d.top - 4 - float64(r.lane)*laneHeight
		d.line(class, r.x, y-textSize+2, r.x, bottom)
		d.text("rule-label", "start", r.x+3, y, r.Label)
	}
}
