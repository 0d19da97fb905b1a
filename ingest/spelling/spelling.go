// Package spelling finds the known word that a person meant by one that is not
// known: a key of a profile, a flag, a tail.
package spelling

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// DidYouMean proposes the known word nearest to a wrong one, upper and lower
// case alike, or lists the known words when none is near and they are few. It is
// "" when there is nothing to propose.
func DidYouMean(wrong string, known []string) string {
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
