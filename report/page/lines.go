package page

import "rollonset/report/archive"

// InstantLine is one instant of an attempt as a terminal prints it.
type InstantLine struct {
	Name     string
	Relative string // seconds from the onset with the bracket, "+3.10 s (3.0 to 3.2)"
	Clock    string // UTC, "" when the recording has no date
}

// Instants lists the moments of an attempt in time order, the same as the
// page's table.
func Instants(a archive.AttemptSummary) []InstantLine {
	zero := origin(a)
	var out []InstantLine
	for _, m := range instants(a) {
		out = append(out, InstantLine{
			Name:     m.name,
			Relative: signed(m.At-zero, 2) + " s (" + signed(m.Earliest-zero, 2) + " to " + signed(m.Latest-zero, 2) + ")",
			Clock:    clockTenths(m.Moment),
		})
	}
	return out
}
