package profile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one mistake in a profile, with its place.
type Problem struct {
	Path   string // file as it was given
	Line   int    // counted from 1; zero when the mistake is of the whole file
	Column int    // counted from 1 in characters
	Text   string // what is wrong
	Hint   string // what to do; "" when Text says it all
	Source string // the line of the file; "" when there is none
}

// sourceWidth is how much of a long source line is shown around the place; a
// table of a band may fill hundreds of columns.
const sourceWidth = 96

// String is the message in one line, without the source.
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.Path)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	b.WriteString(": " + p.Text)
	if p.Hint != "" {
		b.WriteString(" (" + p.Hint + ")")
	}
	return b.String()
}

// Excerpt is the source line and, under it, a caret at the place; "" when
// there is no source.
func (p Problem) Excerpt() string {
	if p.Source == "" || p.Column < 1 {
		return ""
	}
	line := []rune(strings.ToValidUTF8(p.Source, "\uFFFD"))
	for i, c := range line {
		if invisible(c) { // nothing from the file may steer a terminal
			line[i] = '\uFFFD'
		}
	}
	at := min(p.Column-1, len(line))
	from := 0
	if len(line) > sourceWidth {
		from = max(0, min(at-sourceWidth/2, len(line)-sourceWidth))
	}
	to := min(len(line), from+sourceWidth)
	shown, caret := slices.Clone(line[from:to]), make([]rune, 0, at-from+1)
	if from > 0 {
		shown[0] = '…'
	}
	if to < len(line) {
		shown[len(shown)-1] = '…'
	}
	for _, c := range line[from:at] { // a tab stays a tab, so that the caret lines up
		if c != '\t' {
			c = ' '
		}
		caret = append(caret, c)
	}
	return "    " + string(shown) + "\n    " + string(caret) + "^"
}

// Errors are all mistakes of one or more profiles, sorted by place. It is the
// error that Load, Parse and LoadDir give for mistakes in the text.
type Errors []Problem

// Error prints every mistake with its source line and a caret.
func (e Errors) Error() string {
	parts := make([]string, 0, len(e))
	for _, p := range e {
		s := p.String()
		if x := p.Excerpt(); x != "" {
			s += "\n" + x
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, "\n")
}

// sorted puts the mistakes in the order of a reader's eye and drops
// repetitions, which arise where two rules look at the same value.
func (e Errors) sorted() Errors {
	slices.SortStableFunc(e, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Path, b.Path), cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Column, b.Column), cmp.Compare(a.Text, b.Text))
	})
	return slices.CompactFunc(e, func(a, b Problem) bool {
		return a.Path == b.Path && a.Line == b.Line && a.Column == b.Column && a.Text == b.Text
	})
}
