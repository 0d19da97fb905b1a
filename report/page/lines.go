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

// instantTable lists the moments with their brackets. Where a bracket reaches
// into one above, the order of the two is not claimed, which is said below the
// name of the later one.
func instantTable(a archive.AttemptSummary) table {
	t := table{Kind: "instants", Narrow: fits, Caption: "Instants, relative to the onset", Empty: "No instant of this attempt could be told.", Head: []head{
		{Text: "Instant"},
		{Text: "From onset", Unit: "s", Num: true},
		{Text: "Uncertainty", Unit: "s", Num: true},
		{Text: "Time", Unit: "UTC", Num: true},
		{Text: "In the recording", Unit: "s", Num: true},
	}}
	zero := origin(a)
	all := instants(a)
	for i, m := range all {
		name := rowHead(m.name)
		if open := unordered(all[:i], m); len(open) > 0 {
			name.Sub = "order with " + list(open) + " not resolvable"
		}
		t.Rows = append(t.Rows, []cell{
			name, num(signed(m.At-zero, 2)), num(bracket(m.Moment)), num(clockTenths(m.Moment)), num(Number(m.At, 2)),
		})
	}
	return t
}

// unordered names the instants before another one in the list that may have
// been after it.
func unordered(before []instant, m instant) []string {
	var out []string
	for _, b := range before {
		if m.name != onsetName && order(b.Moment, m.Moment) == notResolvable {
			out = append(out, b.name)
		}
	}
	return out
}
