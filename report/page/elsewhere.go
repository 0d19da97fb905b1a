package page

import (
	"strings"

	"rollonset/report/archive"
)

// Elsewhere is a line about another recording of an attempt, with the address
// of its page, "" when it has none.
type Elsewhere struct{ Before, File, After, Href string }

// Text is the line without its link.
func (e Elsewhere) Text() string { return e.Before + e.File + e.After }

// ElsewhereOf says of an attempt where else it lies, or where the aircraft's
// data goes on, from the rows of tables/sightings of its flight. attempt is its
// ID; "" is the recording itself, for what it holds of an attempt that began
// in another. href gives the address of a flight's page, "" when there is none.
func ElsewhereOf(rows []archive.SeenRow, folder, attempt string, href func(folder string) string) []Elsewhere {
	var out []Elsewhere
	for _, mine := range rows {
		if mine.Folder != folder || mine.ID != attempt {
			continue
		}
		for _, r := range rows {
			if r.Counted != mine.Counted || r.Folder == mine.Folder {
				continue
			}
			line := Elsewhere{File: r.File, Href: href(r.Folder)}
			if line.Href != "" && r.ID != "" {
				_, number, _ := strings.Cut(r.ID, "-")
				line.Href += "#attempt-" + number
			}
			line.Before, line.After = elsewhereWords(mine, r)
			out = append(out, line)
		}
	}
	return out
}

// elsewhereWords say what another row is to the one that the page is about.
func elsewhereWords(mine, other archive.SeenRow) (before, after string) {
	switch {
	case mine.ID == "" && other.Counts:
		return "This recording begins where ", " breaks off, in the roll of attempt " + other.ID + ", which counts there."
	case mine.ID == "":
		return "The same roll lies in ", " as attempt " + other.ID + "."
	case other.ID == "":
		return "The data goes on in ", ", which holds what followed."
	case mine.Counts && other.Ends:
		return "The attempt goes on in ", " as attempt " + other.ID + " (" + other.Outcome + "), from which its end is taken."
	case mine.Counts:
		return "This attempt lies in ", " too, as attempt " + other.ID + "; it counts once, as this one."
	case other.Counts && mine.Ends:
		return "This is the end of an attempt that began in ", ": attempt " + other.ID + ", which counts; what was judged at the onset holds there."
	case other.Counts:
		return "This attempt lies in ", " too: attempt " + other.ID + ", which counts; this one is not counted."
	}
	return "This attempt lies in ", " too, as attempt " + other.ID + "."
}
