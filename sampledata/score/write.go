package score

import (
	"fmt"
	"io"
	"strings"
)

// Write prints the report for a person. Long lists are cut and say so.
func (r *Report) Write(w io.Writer) error {
	p := &printer{w: w}
	p.line("recordings %d, without summary %d, without truth %d", r.Files, r.Unread, r.Unknown)
	p.line("attempts %d, found %d, missed %d, invented %d; optional %d", r.Attempts, r.Found, r.Missed, r.Invented, r.Optional)
	r.writeKinds(p)
	r.writeMeasures(p)
	r.writeScenarios(p)
	r.writeDifferences(p)
	r.writeWorst(p)
	for _, t := range r.Targets() {
		if !t.Met {
			p.line("TARGET NOT MET  %s: %.3f, wanted %g", t.Name, t.Got, t.Want)
		}
	}
	if r.Perfect() {
		p.line("every statement is as in the truth")
	}
	return p.err
}

// printer keeps the first error.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		// Padding of the last column of a table is no part of the line.
		_, p.err = io.WriteString(p.w, strings.TrimRight(fmt.Sprintf(format, args...), " ")+"\n")
	}
}

func (r *Report) writeKinds(p *printer) {
	p.line("")
	p.line("%-36s %7s %7s %7s %7s %7s %7s %7s %7s", "statement", "hits", "quiet", "miss", "false", "untold-", "guessed", "untold+", "open")
	for _, k := range r.Kinds {
		p.line("%-36s %7d %7d %7d %7d %7d %7d %7d %7d", k.Name, k.Hits, k.Quiet, k.Misses, k.FalseAlarms, k.WrongUntold, k.Guessed, k.RightUntold, k.Open)
	}
}

func (r *Report) writeMeasures(p *printer) {
	p.line("")
	p.line("%-36s %4s %7s %9s %9s %9s %9s %7s %7s %8s %9s", "error of", "unit", "n", "p50", "p95", "p99", "max", "missing", "extra", "held %", "width")
	for _, m := range r.Measures {
		held := "-"
		if m.Brackets > 0 {
			held = fmt.Sprintf("%.2f", 100*float64(m.Held)/float64(m.Brackets))
		}
		p.line("%-36s %4s %7d %9.3f %9.3f %9.3f %9.3f %7d %7d %8s %9.3f", m.Name, m.Unit, m.N, m.P50, m.P95, m.P99, m.Max, m.Missing, m.Extra, held, m.Width)
	}
}

// shownScenarios and shownDifferences bound what a person is shown; the JSON
// has them all.
const (
	shownScenarios   = 40
	shownDifferences = 60
)

func (r *Report) writeScenarios(p *printer) {
	p.line("")
	shown, whole := 0, 0
	for _, s := range r.Scenarios {
		if s.Right == s.Attempts {
			whole++
			continue
		}
		if shown++; shown <= shownScenarios {
			p.line("scenario %d of %d right: %s", s.Right, s.Attempts, s.Name)
		}
	}
	if shown > shownScenarios {
		p.line("… and %d more scenarios with differences", shown-shownScenarios)
	}
	p.line("scenarios wholly right: %d of %d", whole, len(r.Scenarios))
}

func (r *Report) writeDifferences(p *printer) {
	p.line("")
	for i, d := range r.Differences {
		if i == shownDifferences {
			p.line("… and %d more differences", len(r.Differences)-i)
			return
		}
		p.line("%s attempt %d at %.2f s: %s: %s, found %s (%s)", d.File, d.Attempt, d.Second, d.What, d.Want, d.Got, d.Scenario)
	}
}

func (r *Report) writeWorst(p *printer) {
	p.line("")
	for _, c := range r.Worst {
		p.line("worst %s: %s attempt %d at %.2f s: %.3f, found %.3f (%s)", c.Measure, c.File, c.Attempt, c.Second, c.Want, c.Got, c.Scenario)
	}
}
