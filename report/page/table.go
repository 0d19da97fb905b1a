package page

import "unicode/utf8"

// table is one table of a page. Every table is built in Go and drawn by one
// template, so that alignment, units and scrolling are the same everywhere.
type table struct {
	ID      string // of the table element, "" for none
	Caption string
	Head    []head
	Rows    [][]cell
	Sort    bool   // headers become sort buttons where there is a script
	Filter  string // label of the filter box, "" for none
	Empty   string // sentence in place of a table without rows
}

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

// Class is the class of the cell. A text too long for one line wraps but keeps
// a width that can be read; the others stay on their line.
func (c cell) Class() string {
	switch {
	case c.Num:
		return "num"
	case c.Mono:
		return "mono"
	case utf8.RuneCountInString(c.Text) > 26:
		return "wide"
	}
	return ""
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
