package page

import (
	"html/template"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// table is one table of a page. Every table is built in Go and drawn by one
// template, so that alignment, units and scrolling are the same everywhere.
type table struct {
	ID      string // of the table element, "" for none
	Kind    string // names tables with the same head; letters and hyphens only
	Narrow  narrow // what becomes of it on a narrow screen
	Caption string
	Head    []head
	Rows    [][]cell
	Sort    bool   // headers become sort buttons where there is a script
	Filter  string // label of the filter box, "" for none
	Empty   string // sentence in place of a table without rows
}

// narrow is what becomes of a table on a narrow screen.
type narrow string

const (
	scrolls narrow = ""      // sideways, short texts on one line
	fits    narrow = "fit"   // every text wraps
	stacks  narrow = "stack" // a row is a block with a line for each cell
	flows   narrow = "flow"  // a row is a block, its short cells one after the other
)

// head is a column head; a unit there holds for the whole column.
type head struct {
	Text, Unit string
	Num        bool // right-aligned
}

// cell is one cell. Sub is a second, quieter line; Lines are more of them.
type cell struct {
	Text   string
	Sub    string
	Lines  []string
	Num    bool
	Head   bool // heads its row
	Strong bool
	Mono   bool
	Href   string
	// Key sorts the cell where its text would sort wrongly.
	Key string
	// Series names the parameter whose reading a cursor writes here.
	Series string
}

// Class is the class of the cell. What says nothing is left out where rows are
// blocks. A text too long for one line wraps but keeps
// a width that can be read; the others stay on their line.
func (c cell) Class() string {
	switch {
	case c.Num && c.Text == None && c.Sub == "":
		return "num none"
	case c.Num:
		return "num"
	case c.Text == None && c.Sub == "" && len(c.Lines) == 0, c.Text == "" && c.Sub == "":
		return "none"
	case c.Mono:
		return "mono"
	case utf8.RuneCountInString(c.Text) > 26:
		return "wide"
	}
	return ""
}

// Classes are the classes of the table element.
func (t table) Classes() string {
	var out []string
	if t.Kind != "" {
		out = append(out, "k-"+t.Kind)
	}
	if t.Narrow != scrolls {
		out = append(out, string(t.Narrow))
	}
	if t.Sort {
		out = append(out, "sortable")
	}
	return strings.Join(out, " ")
}

// stacked is the style that puts the heads in front of the cells on narrow
// screens, once for each kind: a head on every cell of a long table would
// double the page.
func stacked(tables ...table) string {
	var b strings.Builder
	var done []string
	for _, t := range tables {
		if t.Narrow != stacks && t.Narrow != flows || len(t.Rows) == 0 || slices.Contains(done, t.Kind) {
			continue
		}
		done = append(done, t.Kind)
		for i, h := range t.Head {
			label := h.Text
			if h.Unit != "" {
				label += ", " + h.Unit
			}
			b.WriteString("\t.k-" + t.Kind + " td:nth-child(" + strconv.Itoa(i+1) + ")::before { content: " + strconv.Quote(label) + "; }\n")
		}
	}
	if b.Len() == 0 {
		return ""
	}
	return "@media screen and (max-width: 40rem) {\n" + b.String() + "}\n"
}

// withStyle is a shell with more style; what may act is named anew.
func (s shell) withStyle(more string) shell {
	style := string(s.Style) + more
	s.Style, s.Policy = template.CSS(style), policy(style, string(s.Script))
	return s
}

func text(s string) cell    { return cell{Text: s} }
func num(s string) cell     { return cell{Text: s, Num: true} }
func rowHead(s string) cell { return cell{Text: s, Head: true} }
func mono(s string) cell    { return cell{Text: s, Mono: true} }

// severityCell is the word in its column; high stands out by weight, not by a
// colour, and sorts first.
func severityCell(word string) cell {
	if word == "" {
		return cell{Text: None, Key: "9"}
	}
	return cell{Text: word, Strong: word == "high", Key: string(rune('0' + rank(word)))}
}

func columns(texts ...string) []head {
	out := make([]head, len(texts))
	for i, t := range texts {
		out[i] = head{Text: t}
	}
	return out
}
