package profile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollonset/ingest/unit"
)

// checks writes each check as sentences.
func (e *explainer) checks() {
	e.heading("Checks")
	for i := range e.p.Checks {
		c := &e.p.Checks[i]
		if i > 0 {
			e.out.WriteString("\n")
		}
		// One sentence for each question that a reader has: what, when, how
		// bad, and whether the aircraft itself ought to have said so.
		lead := fmt.Sprintf("%2d. ", i+1)
		e.para(lead, fmt.Sprintf("%s: %s.", c.Name, c.Title))
		e.demand(c)
		e.para("    ", e.when(c))
		e.para("    ", e.grade(c))
		e.para("    ", due(c))
	}
}

// demand writes what the check demands, with its limits.
func (e *explainer) demand(c *Check) {
	u := e.canonical(c.Watched())
	switch {
	case c.OneOf != nil:
		e.para("    ", oneOfText(c.OneOf, u))
	case c.Range != nil:
		e.para("    ", rangeText(c.Range, u))
	case c.State != nil:
		e.para("    ", fmt.Sprintf("%s must be %q.", c.State.Parameter, c.State.Is))
	case c.Band != nil:
		e.band(c.Band, u)
	}
}

func oneOfText(o *OneOf, u unit.Unit) string {
	give := fmt.Sprintf(", give or take %s.", amount(o.Tolerance, u))
	switch o.Rule {
	case PlannedSetting:
		return fmt.Sprintf("%s must be at the value that the flight list plans%s", o.Parameter, give)
	case AsAtOnset:
		return fmt.Sprintf("%s must stay where it was at the onset%s", o.Parameter, give)
	}
	settings := make([]string, len(o.Settings))
	for i, s := range o.Settings {
		settings[i] = amount(s, u)
	}
	return fmt.Sprintf("%s must be at %s%s", o.Parameter, listed(settings, "or"), give)
}

func rangeText(g *Range, u unit.Unit) string {
	what := string(g.Parameter)
	if g.Minus != "" {
		what += " minus " + string(g.Minus)
	}
	switch {
	case math.IsInf(g.Min, -1):
		return fmt.Sprintf("%s must be at most %s.", what, amount(g.Max, u))
	case math.IsInf(g.Max, 1):
		return fmt.Sprintf("%s must be at least %s.", what, amount(g.Min, u))
	}
	return fmt.Sprintf("%s must be from %s to %s.", what, amount(g.Min, u), amount(g.Max, u))
}

// when says over which span and at which speeds the check is judged.
func (e *explainer) when(c *Check) string {
	from := map[string]string{"onset": "the onset", "roll start": "roll start"}[c.Judged.From]
	kt := unit.Canonical(unit.Speed)
	speeds := "at any speed"
	switch {
	case !math.IsInf(c.SpeedTo, 1):
		speeds = fmt.Sprintf("at ground speeds from %s to %s", plain(c.SpeedFrom), amount(c.SpeedTo, kt))
	case c.SpeedFrom > 0:
		speeds = fmt.Sprintf("at ground speeds from %s", amount(c.SpeedFrom, kt))
	}
	// "However short" is said aloud: a reader who expects a grace period must
	// see that there is none.
	counts := "however short"
	if c.Persistence > 0 {
		counts = fmt.Sprintf("when it lasts %s or longer", lasting(c.Persistence))
	}
	return fmt.Sprintf("Judged from %s to %s or the start of a reject, %s; out of limits counts %s.", from, c.Judged.To, speeds, counts)
}

func (e *explainer) grade(c *Check) string {
	s := "Severity by speed"
	if c.Severity != bySpeed {
		s = "Severity " + c.Severity + " at any speed"
	}
	if c.FarOutside > 0 && c.Severity != "high" {
		s += fmt.Sprintf(", one step higher when more than %s outside", amount(c.FarOutside, e.canonical(c.Watched())))
	}
	return s + "."
}

// due says what the warning basis means for this check.
func due(c *Check) string {
	switch {
	case c.WarningDue:
		return fmt.Sprintf("Out of limits, the aircraft's own warning is due (%s); if it is recorded and missing, that is a finding of high severity.", c.Basis)
	case c.Basis != "":
		return fmt.Sprintf("No warning of the aircraft is due (%s); its absence is no finding.", c.Basis)
	}
	return "No warning of the aircraft is due; its absence is no finding."
}

// band writes a band check with its tables.
func (e *explainer) band(b *Band, u unit.Unit) {
	over := make([]string, len(b.Over))
	for i, o := range b.Over {
		over[i] = string(o)
	}
	s := fmt.Sprintf("%s must be inside a band that depends on %s", b.Parameter, listed(over, "and"))
	if b.Select != "" {
		s += fmt.Sprintf("; %s, give or take %s, chooses the table", b.Select, amount(b.Tolerance, e.canonical(b.Select)))
	}
	e.para("    ", s+".")
	for _, t := range b.Tables {
		e.out.WriteString("\n")
		if b.Select != "" {
			e.para("      ", fmt.Sprintf("%s at %s:", b.Select, amount(t.Setting, e.canonical(b.Select))))
		}
		e.table(b, t, u)
	}
	e.out.WriteString("\n")
	e.para("    ", "Between the nodes both edges are straight lines. Beyond the table the edges of its nearest node count, and the finding says so.")
	for _, o := range b.Over {
		if e.p.Find(o) == nil {
			e.para("    ", fmt.Sprintf("%s is not recorded: it comes from the flight list; without that, the value is tested against all bands that could apply, and where they disagree it cannot be told.", o))
		}
	}
}

// table lays out one table: X nodes down, Y nodes across, "low to high" in
// the cells. What is wider than the page goes on below.
func (e *explainer) table(b *Band, t Table, u unit.Unit) {
	rows := make([][]string, len(t.X)+1)
	rows[0] = []string{string(b.Over[0])}
	for i, x := range t.X {
		rows[i+1] = []string{amount(x, e.canonical(b.Over[0]))}
		for j := range t.Y {
			rows[i+1] = append(rows[i+1], fmt.Sprintf("%s to %s", plain(t.Low[i][j]), plain(t.High[i][j])))
		}
	}
	across := u.Symbol
	// Over one parameter there is one column, headed by the unit.
	if len(b.Over) == 2 {
		across = strings.TrimSpace(u.Symbol + " at " + string(b.Over[1]))
		for _, y := range t.Y {
			rows[0] = append(rows[0], amount(y, e.canonical(b.Over[1])))
		}
	} else {
		rows[0] = append(rows[0], orElse(across, "number"))
		across = ""
	}
	// The widest cell of each column decides; then as many columns go side by
	// side as the page takes, at least one.
	width := make([]int, len(rows[0]))
	for _, row := range rows {
		for j, cell := range row {
			width[j] = max(width[j], len(cell))
		}
	}
	for from := 1; from < len(width); {
		to, total := from, tableIndent+width[0]
		for to < len(width) && (to == from || total+2+width[to] <= pageWidth) {
			total += 2 + width[to]
			to++
		}
		e.tablePart(rows, width, from, to, across)
		from = to
	}
}

const tableIndent = 6

func (e *explainer) tablePart(rows [][]string, width []int, from, to int, across string) {
	indent := strings.Repeat(" ", tableIndent)
	if across != "" {
		e.out.WriteString(indent + strings.Repeat(" ", width[0]+2) + across + "\n")
	}
	for i, row := range rows {
		cells := []string{indent + pad(row[0], width[0], i > 0)}
		for j, cell := range slices.All(row[from:to]) {
			cells = append(cells, pad(cell, width[from+j], true))
		}
		e.out.WriteString(strings.TrimRight(strings.Join(cells, "  "), " ") + "\n")
	}
}

func pad(s string, width int, right bool) string {
	space := strings.Repeat(" ", max(0, width-len(s)))
	if right {
		return space + s
	}
	return s + space
}
