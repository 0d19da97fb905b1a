package chart

import (
	"math"
	"strconv"
)

// number writes a mapping figure exactly, so that the cursor computes with the
// same numbers as the drawing.
func number(v float64) string {
	if v == 0 {
		return "0" // whatever the sign of the zero
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// lineClasses is how many line classes the style sheet has.
const lineClasses = 6

func lineClass(i int) string { return "line l" + strconv.Itoa(i%lineClasses) }

// series draws one line: the good samples joined where neither a gap nor a
// masked sample lies between, the masked ones as hollow dots.
func (d *drawing) series(i int, l Line, axis Axis) {
	path := pen{}
	var masked []Point
	for _, p := range l.Points {
		if p.T < d.time.From || p.T > d.time.To {
			// Leaving the window lifts the pen: nothing is drawn outside.
			path.lift()
			continue
		}
		if p.Masked || math.IsNaN(p.V) {
			path.lift()
			masked = append(masked, p)
			continue
		}
		if p.Break {
			path.lift()
		}
		path.to(d.time.Pixel(p.T), axis.Pixel(p.V))
	}
	d.hollow(i, masked, axis) // first, so that good lines lie on top
	if s := path.end(); s != "" {
		d.put(`<path class="`, lineClass(i), `" d="`, s, `"/>`, "\n")
	}
}

// hollow marks masked samples, at the edge of the panel where their value
// lies outside. Dots nearer than 9 px would run together into a line that
// reads as good data, so of those only the first is drawn.
func (d *drawing) hollow(i int, masked []Point, axis Axis) {
	last := math.Inf(-1)
	for _, p := range masked {
		x := d.time.Pixel(p.T)
		if x-last < 9 {
			continue
		}
		last = x
		d.dot(i, x, hollowY(p, axis))
	}
}

func (d *drawing) dot(i int, x, y float64) {
	d.put(`<circle class="masked l`, strconv.Itoa(i%lineClasses), `" cx="`, px(x), `" cy="`, px(y), `" r="2.2"/>`, "\n")
}

// hollowY keeps a masked value inside the panel.
func hollowY(p Point, axis Axis) float64 {
	if math.IsNaN(p.V) {
		return axis.Hi + 3
	}
	return min(max(axis.Pixel(p.V), axis.Hi+3), axis.Lo-3)
}

// pen builds path data in whole tenths of a pixel, relative, which is both
// the shortest form and free of rounding drift.
type pen struct {
	out    []byte
	down   bool
	x, y   int // last point, tenths
	dx, dy int // step not yet written
	held   bool
}

func tenths(v float64) int { return int(math.Round(v * 10)) }

// lift ends the current stroke.
func (p *pen) lift() {
	p.flush()
	p.down = false
}

// to draws to the point, or starts a stroke there. Steps along the same level
// are joined into one: most of a recording is a quantity at rest.
func (p *pen) to(fx, fy float64) {
	x, y := tenths(fx), tenths(fy)
	if !p.down {
		p.out = append(p.out, 'M')
		p.pair(x, y)
		p.out = append(p.out, "h0"...) // a lone sample is a dot by its round cap
		p.x, p.y, p.down = x, y, true
		return
	}
	dx, dy := x-p.x, y-p.y
	p.x, p.y = x, y
	if p.held && p.dy == 0 && dy == 0 {
		p.dx += dx
		return
	}
	p.flush()
	p.dx, p.dy, p.held = dx, dy, true
}

func (p *pen) flush() {
	if !p.held {
		return
	}
	p.held = false
	switch {
	case p.dy == 0 && p.dx == 0:
	case p.dy == 0:
		p.out = append(p.out, 'h')
		p.tenth(p.dx)
	default:
		p.out = append(p.out, 'l')
		p.pair(p.dx, p.dy)
	}
}

func (p *pen) end() string {
	p.flush()
	return string(p.out)
}

func (p *pen) pair(x, y int) {
	p.tenth(x)
	if y >= 0 { // a minus sign separates by itself
		p.out = append(p.out, ' ')
	}
	p.tenth(y)
}

// tenth writes n tenths without trailing zero.
func (p *pen) tenth(n int) {
	if n < 0 {
		p.out = append(p.out, '-')
		n = -n
	}
	if n >= 10 || n%10 == 0 {
		p.out = strconv.AppendInt(p.out, int64(n/10), 10)
	}
	if n%10 != 0 {
		p.out = append(p.out, '.', byte('0'+n%10))
	}
}

// lineLabels names every line at its right end, beside a sample of its
// dashes, so that no line needs its colour. A line of which every sample is
// masked has a hollow dot in place of dashes, and says so.
func (d *drawing) lineLabels(s Strip, axis Axis) {
	var names []int
	var wish []float64
	for i, l := range s.Lines {
		if p, ok := lastPoint(l, d.time.From, d.time.To); ok {
			names, wish = append(names, i), append(wish, hollowY(p, axis)+4)
		}
	}
	at := spread(wish, axis.Hi+8, axis.Lo+2, textSize)
	for k, i := range names {
		x := d.time.Hi + 3
		if p, _ := lastPoint(s.Lines[i], d.time.From, d.time.To); p.Masked {
			d.dot(i, x+swatch/2, at[k]-4)
		} else {
			d.line(lineClass(i), x, at[k]-4, x+swatch, at[k]-4)
		}
		d.text("line-label", "start", x+swatch+4, at[k], endLabel(s.Lines[i], d.time.From, d.time.To))
	}
}

// endLabel is the label as it is drawn.
func endLabel(l Line, from, to float64) string {
	if p, ok := lastPoint(l, from, to); ok && p.Masked {
		return l.Label + ", masked"
	}
	return l.Label
}

// lastPoint is the last good sample inside the window, or else the last
// masked one.
func lastPoint(l Line, from, to float64) (last Point, any bool) {
	for i := len(l.Points) - 1; i >= 0; i-- {
		p := l.Points[i]
		if p.T < from || p.T > to {
			continue
		}
		p.Masked = p.Masked || math.IsNaN(p.V)
		if !p.Masked {
			return p, true
		}
		if !any {
			last, any = p, true
		}
	}
	return last, any
}

// bars draws a panel of discretes, a row each.
func (d *drawing) bars(s Strip) {
	for i, bar := range s.Bars {
		y := d.y + float64(i)*barRow
		d.text("name", "start", 0, y+barRow-5, bar.Label)
		if i > 0 {
			d.line("grid", d.time.Lo, y, d.time.Hi, y)
		}
		for _, sp := range bar.Spans {
			d.bar(sp, y)
		}
	}
}

// bar draws one stretch. Its state is written into it where it fits, because
// a reader without colour must be able to read it too.
func (d *drawing) bar(s BarSpan, y float64) {
	from, to := max(s.From, d.time.From), min(s.To, d.time.To)
	if to < from {
		return
	}
	x, w := d.time.Pixel(from), d.time.Pixel(to)-d.time.Pixel(from)
	switch {
	case s.Masked:
		d.rect("bar hollow", x, y+4, max(w, 1), barRow-8)
	case s.Quiet:
		d.line("quiet", x, y+barRow/2.0, x+w, y+barRow/2.0)
	default:
		d.rect("bar", x, y+2, max(w, 1), barRow-4)
		if textWidth(s.State)+6 < w {
			d.text("state", "start", x+4, y+barRow-5, s.State)
		}
	}
}
