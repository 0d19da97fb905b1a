package main

import (
	"fmt"
	"strings"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// elsewhere lists the attempts that several recordings hold, each once.
func (a account) elsewhere(b *strings.Builder) {
	told := map[*archive.Seen]bool{}
	for _, r := range a.results {
		for _, s := range r.Seen {
			if told[s] {
				continue
			}
			if len(told) == 0 {
				b.WriteString("\nIn more than one recording, counted once:\n")
			}
			told[s] = true
			fmt.Fprintf(b, "  %s\n", seenLine(s))
		}
	}
}

// seenLine says of one attempt where it lies.
func seenLine(s *archive.Seen) string {
	first := &s.Sightings[0]
	line := first.ID + " in " + first.File + " counts"
	for i := 1; i < len(s.Sightings); i++ {
		m := &s.Sightings[i]
		if i == s.End {
			line += "; it goes on in " + m.File + " (" + m.ID + ", " + m.Outcome + ")"
			continue
		}
		line += "; also in " + m.File + " (" + m.ID + ")"
	}
	for _, n := range s.GoesOn {
		line += "; its end is not told, " + n.File + " holds what followed"
	}
	return line
}

// elsewhere says in which other recordings an attempt lies; see
// page.ElsewhereOf.
func elsewhere(b *strings.Builder, seen []archive.SeenRow, folder, attempt string) {
	for _, e := range page.ElsewhereOf(seen, folder, attempt, func(string) string { return "" }) {
		fmt.Fprintf(b, "  %s\n", e.Text())
	}
}
