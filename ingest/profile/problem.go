package profile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
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

// didYouMean proposes the known word nearest to a wrong one, or lists the
// known words when none is near and they are few.
func didYouMean(wrong string, known []string) string {
	best, least := "", max(1, len([]rune(wrong))/3)
	for _, k := range known {
		if d := distance(strings.ToLower(wrong), strings.ToLower(k)); d <= least && (best == "" || d < least) {
			best, least = k, d
		}
	}
	switch {
	case best != "":
		return fmt.Sprintf("did you mean %q?", best)
	case len(known) > 0 && len(known) <= 14:
		return "known here: " + strings.Join(known, ", ")
	}
	return ""
}

// longestCompared bounds the work of distance; no known word is longer.
const longestCompared = 64

// distance is the number of single-character edits, swaps of neighbours
// included, that turn a into b.
func distance(a, b string) int {
	if len(a) > longestCompared || len(b) > longestCompared {
		return max(utf8.RuneCountInString(a), utf8.RuneCountInString(b))
	}
	x, y := []rune(a), []rune(b)
	rows := make([][]int, len(x)+1)
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			d := min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(x)][len(y)]
}
