package chart

import (
	"math"
	"strings"
)

// at keeps a value on the axis: what lies beyond is drawn at its edge.
func at(axis Axis, v float64) float64 {
	return axis.Pixel(min(max(v, axis.From), axis.To))
}

// runs calls f for every stretch of months that have a value.
func runs(values []float64, f func(from, to int)) {
	for i := 0; i < len(values); {
		if math.IsNaN(values[i]) || math.IsInf(values[i], 0) {
			i++
			continue
		}
		from := i
		for i < len(values) && !math.IsNaN(values[i]) && !math.IsInf(values[i], 0) {
			i++
		}
		f(from, i)
	}
}

func (d *monthDrawing) monthLine(l MonthLine, axis Axis) {
	if l.Role != MainLine {
		d.steps(l, axis)
		return
	}
	middle := func(i int) float64 { return d.time.Pixel(float64(i) + 0.5) }
	// Dots of neighbours do not run together, however many months there are.
	dot := min(max(0.3*(d.time.Hi-d.time.Lo)/d.time.To, 0.8), 2.4)
	runs(l.Values, func(from, to int) {
		var b strings.Builder
		for i := from; i < to; i++ {
			b.WriteString(px(middle(i)) + "," + px(at(axis, l.Values[i])) + " ")
		}
		if to-from > 1 {
			d.put(`<polyline class="line l0" points="`, strings.TrimSpace(b.String()), `"/>`, "\n")
		}
		for i := from; i < to; i++ {
			d.circle("dot", middle(i), at(axis, l.Values[i]), dot)
		}
	})
	for i, ring := range l.Rings {
		if ring {
			d.circle("ring", middle(i), at(axis, l.Values[i]), 6)
		}
	}
}

func (d *drawing) circle(class string, x, y, r float64) {
	d.put(`<circle class="`, class, `" cx="`, px(x), `" cy="`, px(y), `" r="`, px(r), `"/>`, "\n")
}

// steps draws a limit: each month has its own, over its whole width.
func (d *monthDrawing) steps(l MonthLine, axis Axis) {
	runs(l.Values, func(from, to int) {
		var b strings.Builder
		for i := from; i < to; i++ {
			y := px(at(axis, l.Values[i]))
			if i == from {
				b.WriteString("M" + px(d.time.Pixel(float64(i))) + " " + y)
			} else {
				b.WriteString("V" + y)
			}
			b.WriteString("H" + px(d.time.Pixel(float64(i+1))))
		}
		d.put(`<path class="step `, string(l.Role), `" d="`, b.String(), `"/>`, "\n")
	})
}

func (d *monthDrawing) area(a MonthArea, axis Axis) {
	class := "spread"
	if a.Inner {
		class = "spread inner"
	}
	both := make([]float64, len(a.Low))
	for i := range both {
		both[i] = a.Low[i] + a.High[i] // NaN when either is
	}
	runs(both, func(from, to int) {
		var there, back strings.Builder
		for i := from; i < to; i++ {
			there.WriteString(px(d.time.Pixel(float64(i)+0.5)) + "," + px(at(axis, a.High[i])) + " ")
		}
		for i := to - 1; i >= from; i-- {
			back.WriteString(px(d.time.Pixel(float64(i)+0.5)) + "," + px(at(axis, a.Low[i])) + " ")
		}
		d.put(`<polygon class="`, class, `" points="`, there.String(), strings.TrimSpace(back.String()), `"/>`, "\n")
	})
}
