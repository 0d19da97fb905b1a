package chart

import "strings"

const (
	legendRow = textSize + 4
	titleRow  = textSize + 3
	// boldText is how much wider the names of panels are, which are bold.
	boldText = 1.1
)

// wrapped breaks a text into rows that fit into a width. A word that is wider
// stands on a row of its own, cut with an ellipsis: what is named is in the
// table as well.
func wrapped(s string, width float64) []string {
	var rows []string
	row := ""
	for _, word := range strings.Fields(s) {
		word = shortened(word, width)
		switch {
		case row == "":
			row = word
		case textWidth(row+" "+word) <= width:
			row += " " + word
		default:
			rows, row = append(rows, row), word
		}
	}
	if row != "" {
		rows = append(rows, row)
	}
	return rows
}

// shortened is the text itself where it fits, or its beginning with an
// ellipsis.
func shortened(s string, width float64) string {
	if textWidth(s) <= width {
		return s
	}
	runes := []rune(s)
	keep := max(int(width/textWidth("x"))-1, 1)
	return string(runes[:min(keep, len(runes))]) + "…"
}

// title writes the name of a panel from the left edge, at y, on as many rows
// as it takes, and gives the y below it.
func (d *drawing) title(y float64, name string) float64 {
	for _, row := range wrapped(name, d.width/boldText) {
		d.text("name", "start", 0, y+textSize+1, row)
		y += titleRow
	}
	return y
}

// titleHeight is what title takes.
func titleHeight(name string, width float64) float64 {
	return float64(len(wrapped(name, width/boldText))) * titleRow
}

// entry is one name in the key of a panel, with a sample in front of it.
type entry struct {
	label string
	draw  func(d *drawing, x, y float64) // the sample, swatch wide, about y
}

// key is what a panel explains: its figures first, then what they lie in, and
// what they are compared with. Names at the ends of the lines would take a
// third of the width of a phone.
func (p MonthPanel) key() []entry {
	var out []entry
	put := func(label string, draw func(d *drawing, x, y float64)) {
		if label != "" {
			out = append(out, entry{label, draw})
		}
	}
	for _, l := range p.Lines {
		if l.Role == MainLine {
			put(l.Label, func(d *drawing, x, y float64) {
				d.line("line l0", x, y, x+swatch, y)
				d.circle("dot", x+swatch/2.0, y, 2.4)
			})
		}
	}
	for _, a := range p.Areas {
		class := "spread"
		if a.Inner {
			class = "spread inner"
		}
		put(a.Label, func(d *drawing, x, y float64) { d.rect(class, x, y-5, swatch, 10) })
	}
	for _, l := range p.Lines {
		if l.Role != MainLine {
			put(l.Label, func(d *drawing, x, y float64) { d.line("step "+string(l.Role), x, y, x+swatch, y) })
		}
	}
	return out
}

// place puts the entries of a key one after the other on rows that fit into
// the width, and calls f with the corner of each; it gives the number of rows.
func place(key []entry, width float64, f func(e entry, x float64, row int)) int {
	x, row := 0.0, 0
	for i, e := range key {
		need := swatch + 4 + textWidth(e.label)
		if i > 0 && x+need > width {
			x, row = 0, row+1
		}
		if f != nil {
			f(e, x, row)
		}
		x += need + 8
	}
	if len(key) == 0 {
		return 0
	}
	return row + 1
}

// legend draws a key from y on and gives the y below it.
func (d *drawing) legend(y float64, key []entry) float64 {
	rows := place(key, d.width, func(e entry, x float64, row int) {
		middle := y + (float64(row)+0.5)*legendRow
		e.draw(d, x, middle)
		d.text("unit", "start", x+swatch+4, middle+4, shortened(e.label, d.width-swatch-4))
	})
	return y + float64(rows)*legendRow
}
