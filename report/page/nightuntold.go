package page

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/report/archive"
)

// warningCheck and endOf stand in the tables of coverage beside the names of
// checks: the cross-check of the warning, and how an attempt ended.
const (
	warningCheck = "takeoff configuration warning"
	endOf        = "end of the attempt"
)

// told counts one check of one type over the night.
type told struct {
	kind, check    string
	told, attempts int
	lifeless       int // recordings, by [Lifeless]
	reasons        map[string]int
}

// gap is something that could not be told, or was never seen, on one aircraft
// for one reason. A reason that holds on every flight is one row, not many.
type gap struct{ tail, check, why string }

// places are the flights of a gap.
type places struct {
	n       int
	flights []string // the first ones, as a person names them
	href    string   // of the first
}

// mostFlights is how many flights a row names; more of them are counted.
const mostFlights = 4

func (p *places) add(s *archive.Summary, href string) {
	p.n++
	name := strings.TrimSpace(known(s.Flight.Flight, s.Recording.File) + " " + s.Flight.Date)
	if n := len(p.flights); n > 0 && p.flights[n-1] == name || n == mostFlights+1 {
		return
	}
	if len(p.flights) == 0 {
		p.href = href
	}
	p.flights = append(p.flights, name)
}

// cell names the flights; a single one that has a page is linked.
func (p *places) cell() cell {
	switch n := len(p.flights); {
	case n > mostFlights:
		return text(strings.Join(p.flights[:mostFlights], ", ") + " and others")
	case n == 1:
		return cell{Text: p.flights[0], Href: p.href}
	}
	return text(strings.Join(p.flights, ", "))
}

// typeOf is the type of the aircraft, or the profile, which is that of one
// type, where the recording does not tell it.
func typeOf(s *archive.Summary) string { return known(s.Flight.Type, known(s.Profile.Name, None)) }

// addCoverage counts what could be told on a flight and what could not.
func (n *night) addCoverage(s *archive.Summary, href string) {
	for _, c := range s.Coverage {
		t := n.toldOf(typeOf(s), c.Check)
		t.told += c.Told
		t.attempts += c.Attempts
		if Lifeless(c) {
			t.lifeless++
			g := gap{nameOf(*s), c.Check, known(c.LifeWhy, "not told")}
			n.deadness[g] = deadness(g.why, s.Sensors)
			note(n.life, g, s, href)
		}
	}
	for i := range s.Attempts {
		n.addUntold(s, &s.Attempts[i], href)
	}
}

func (n *night) addUntold(s *archive.Summary, a *archive.AttemptSummary, href string) {
	any := false
	miss := func(check, why string) {
		any = true
		note(n.untold, gap{nameOf(*s), check, why}, s, href)
	}
	for _, f := range a.Findings {
		if f.State == unknown {
			why := known(f.Reason, "no reason given")
			n.toldOf(typeOf(s), f.Check).reasons[why]++
			miss(f.Check, why)
		}
	}
	if w := a.Warning; w != nil && len(a.Findings) > 0 {
		t := n.toldOf(typeOf(s), warningCheck)
		t.attempts++
		if w.Verdict == string(configuration.WarnUnknown) {
			why := known(w.Reason, "no reason given")
			t.reasons[why]++
			miss(warningCheck, why)
		} else {
			t.told++
		}
	}
	if a.Outcome == string(takeoff.Undetermined) {
		miss(endOf, known(a.Why, "no reason given"))
	}
	if any {
		n.untoldAttempts++
	}
}

// note puts a flight under a gap.
func note(all map[gap]*places, g gap, s *archive.Summary, href string) {
	if all[g] == nil {
		all[g] = &places{}
	}
	all[g].add(s, href)
}

// toldOf is the count of a check of a type. Rows stand in the order in which
// they first came, types together.
func (n *night) toldOf(kind, check string) *told {
	last := len(n.coverage)
	for i, t := range n.coverage {
		if t.kind == kind && t.check == check {
			return t
		}
		if t.kind == kind {
			last = i + 1
		}
	}
	t := &told{kind: kind, check: check, reasons: map[string]int{}}
	n.coverage = slices.Insert(n.coverage, last, t)
	return t
}

func (n *night) coverageTable() table {
	t := table{ID: "coverage-table", Kind: "night-coverage", Narrow: flows, Caption: "Coverage: on how many attempts each check could be told", Sort: true, Empty: "No check was run.", Head: []head{
		{Text: "Type"},
		{Text: "Check"},
		{Text: "Told", Num: true},
		{Text: "Attempts", Num: true},
		{Text: "Not told", Num: true},
		{Text: "No sign of life, recordings", Num: true},
		{Text: "Why not told, attempts"},
	}}
	for _, c := range n.coverage {
		t.Rows = append(t.Rows, []cell{
			text(c.kind), rowHead(c.check), num(strconv.Itoa(c.told)), num(strconv.Itoa(c.attempts)), num(strconv.Itoa(c.attempts - c.told)),
			num(strconv.Itoa(c.lifeless)), text(known(reasonWords(c.reasons), None)),
		})
	}
	return t
}

// reasonWords lists reasons, the most frequent first.
func reasonWords(reasons map[string]int) string {
	words := make([]string, 0, len(reasons))
	for r := range reasons {
		words = append(words, r)
	}
	slices.SortFunc(words, func(a, b string) int {
		return cmp.Or(cmp.Compare(reasons[b], reasons[a]), cmp.Compare(a, b))
	})
	for i, r := range words {
		words[i] = r + ": " + strconv.Itoa(reasons[r])
	}
	return strings.Join(words, "; ")
}

func (n *night) untoldTable() table {
	return gapTable(n.untold, nil, table{
		ID: "untold", Kind: "untold", Narrow: flows, Caption: "What could not be told, on which flight, and why", Sort: true, Empty: "Every check, every warning and every end of an attempt could be told.",
		Head: []head{{Text: "Tail"}, {Text: "Check"}, {Text: "Attempts", Num: true}, {Text: "Why"}, {Text: "Flights"}},
	})
}

// lifeOrder says in words how the table of sensors is sorted.
const lifeOrder = "First what has no valid sample at all, then what never showed another state, then what never moved."

func (n *night) lifeTable() table {
	return gapTable(n.life, n.deadness, table{
		ID: "life-table", Kind: "life", Narrow: flows, Caption: "Checks without a sign of life", Sort: true, Empty: "Every check that applied rests on a sensor that showed a sign of life.",
		Head: []head{{Text: "Tail"}, {Text: "Check"}, {Text: "Recordings", Num: true}, {Text: "What was seen"}, {Text: "Flights"}},
	})
}

// gapTable fills a table with gaps in the order that is given, where there is
// one, then of tail, check and reason.
func gapTable(all map[gap]*places, first map[gap]int, t table) table {
	keys := make([]gap, 0, len(all))
	for k := range all {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b gap) int {
		return cmp.Or(cmp.Compare(first[a], first[b]), cmp.Compare(a.tail, b.tail), cmp.Compare(a.check, b.check), cmp.Compare(a.why, b.why))
	})
	for _, k := range keys {
		t.Rows = append(t.Rows, []cell{text(k.tail), rowHead(k.check), num(strconv.Itoa(all[k].n)), text(k.why), all[k].cell()})
	}
	return t
}
