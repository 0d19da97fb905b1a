package casefile

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"rollonset/detect"
	"rollonset/ingest/span"
)

// Problem is one expectation that was not met.
type Problem struct {
	File   string
	Line   int
	Case   string
	Source string
	Text   string
}

// String is the place, the case and what was found instead.
func (p Problem) String() string {
	s := fmt.Sprintf("%s:%d: case %q: %s", p.File, p.Line, p.Case, p.Text)
	if p.Source != "" {
		s += " (figures: " + p.Source + ")"
	}
	return s
}

// Check holds an assessment against the expectations of the case. None met
// and none missed is a problem too: a case must expect something.
func (c *Case) Check(asm *detect.Assessment) []Problem {
	k := checker{c: c, asm: asm}
	attempts, looks, none := 0, 0, false
	for _, e := range c.Expect {
		kind, what, _ := strings.Cut(e.Text, ":")
		what = strings.TrimSpace(what)
		switch {
		case attemptForm.MatchString(kind):
			attempts++
			k.attempt(e, attempts, attemptForm.FindStringSubmatch(kind)[1], what)
		case kind == "look-alike":
			looks++
			k.lookAlike(e, looks, what)
		case kind == "no attempt":
			none = true
		case kind == "note":
			k.note(e.Line, what)
		default:
			k.fail(e.Number, "expect %q is not known; write attempt N: OUTCOME, no attempt, look-alike: KIND, note: TEXT", e.Text)
		}
	}
	if attempts == 0 && !none {
		k.fail(c.Line, "the case expects neither an attempt nor \"no attempt\"")
	}
	if none && attempts > 0 {
		k.fail(c.Line, "the case expects attempts and \"no attempt\"")
	}
	k.counts(attempts, looks)
	return k.out
}

var attemptForm = regexp.MustCompile(`^attempt ([0-9]+)$`)

type checker struct {
	c   *Case
	asm *detect.Assessment
	out []Problem
}

func (k *checker) fail(line int, format string, args ...any) {
	k.out = append(k.out, Problem{k.c.File, line, k.c.Name, k.c.Source, fmt.Sprintf(format, args...)})
}

// counts holds the numbers of attempts and look-alikes, and prints what there
// is when they differ.
func (k *checker) counts(attempts, looks int) {
	if got := len(k.asm.Attempts); got != attempts {
		var list []string
		for _, a := range k.asm.Attempts {
			list = append(list, fmt.Sprintf("%s at %.2f s (%s)", a.Outcome, a.ThrustAdvance.At.Seconds(), a.Why))
		}
		k.fail(k.c.Line, "expected %d attempts, found %d: %s%s", attempts, got, orNone(list), k.notes())
	}
	if got := len(k.asm.LookAlikes); got != looks {
		var list []string
		for _, l := range k.asm.LookAlikes {
			list = append(list, fmt.Sprintf("%s in %s (%s)", l.Kind, l.Span, l.Why))
		}
		k.fail(k.c.Line, "expected %d look-alikes, found %d: %s%s", looks, got, orNone(list), k.notes())
	}
}

func orNone(list []string) string {
	if len(list) == 0 {
		return "none"
	}
	return strings.Join(list, "; ")
}

func (k *checker) notes() string {
	var s strings.Builder
	for _, n := range k.asm.Notes {
		s.WriteString("\n\tnote: " + n.String())
	}
	return s.String()
}

func (k *checker) note(l Line, what string) {
	for _, n := range k.asm.Notes {
		if matches(n.String(), what) {
			return
		}
	}
	k.fail(l.Number, "no note %s%s", what, k.notes())
}

func (k *checker) lookAlike(e Expectation, n int, what string) {
	if n > len(k.asm.LookAlikes) {
		return // counts reports it
	}
	l := k.asm.LookAlikes[n-1]
	if l.Kind != what {
		k.fail(e.Number, "look-alike %d: expected %s, found %s (%s)", n, what, l.Kind, l.Why)
	}
	for _, f := range e.Facts {
		name, want, _ := strings.Cut(f.Text, ":")
		switch want = strings.TrimSpace(want); name {
		case "from":
			k.number(f, name, want, number{true, l.Span.From.Seconds(), l.Span.From.Seconds(), l.Span.From.Seconds()})
		case "to":
			k.number(f, name, want, number{true, l.Span.To.Seconds(), l.Span.To.Seconds(), l.Span.To.Seconds()})
		case "why":
			k.word(f, name, want, l.Why)
		default:
			k.fail(f.Number, "a look-alike has no fact %q; known: from, to, why", name)
		}
	}
}

func (k *checker) attempt(e Expectation, n int, written, outcome string) {
	if written != strconv.Itoa(n) {
		k.fail(e.Number, "attempt %s is the %d. of the case: number them in order", written, n)
	}
	if n > len(k.asm.Attempts) {
		return // counts reports it
	}
	a := &k.asm.Attempts[n-1]
	if string(a.Outcome) != outcome {
		k.fail(e.Number, "attempt %d: expected %s, found %s: %s%s", n, outcome, a.Outcome, a.Why, k.notes())
	}
	k.brackets(e.Line, a)
	named := map[string]bool{}
	for _, f := range e.Facts {
		if name, ok := strings.CutPrefix(f.Text, "finding "); ok {
			name, _, _ = strings.Cut(name, ":")
			named[name] = true
		}
	}
	for _, f := range e.Facts {
		k.fact(f, a, named)
	}
}

// brackets holds for every attempt, asked for or not: a known instant lies in
// its own bracket.
func (k *checker) brackets(l Line, a *detect.Attempt) {
	for _, name := range momentNames {
		m := moment(a, name)
		if m.Known && (m.At < m.Earliest || m.At > m.Latest) {
			k.fail(l.Number, "%s at %.3f s lies outside its own bracket %.3f to %.3f s", name, m.At.Seconds(), m.Earliest.Seconds(), m.Latest.Seconds())
		}
	}
}

// number is a figure with its bracket.
type number struct {
	known            bool
	value, low, high float64
}

func ofMoment(m span.Moment) number {
	return number{m.Known, m.At.Seconds(), m.Earliest.Seconds(), m.Latest.Seconds()}
}

// exact is how far a figure without ± may be off: the float noise of a sum.
const exact = 1e-6

// number compares a figure with a list of demands.
func (k *checker) number(l Line, name, want string, got number) {
	for _, item := range split(want, ',') {
		if why := got.meets(item); why != "" {
			k.fail(l.Number, "%s: expected %s, found %s%s", name, item, got, why)
		}
	}
}

func (n number) String() string {
	if !n.known {
		return "unknown"
	}
	return fmt.Sprintf("%.6g [%.6g, %.6g]", n.value, n.low, n.high)
}

var numberForm = regexp.MustCompile(`^(-?[0-9.]+)(?:\s*±\s*([0-9.]+)(%?))?(\s+in bracket)?$`)

// meets says why the figure does not meet one demand, "" when it does.
func (n number) meets(item string) string {
	if item == "unknown" {
		return differ(!n.known)
	}
	if text, ok := strings.CutPrefix(item, "bracket at most "); ok {
		most, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return ": no number after \"bracket at most\""
		}
		return differ(n.known && n.high-n.low <= most+exact)
	}
	m := numberForm.FindStringSubmatch(item)
	if m == nil {
		return ": this is no demand on a figure; write 60.6 ±0.1, 75 in bracket, bracket at most 2, unknown"
	}
	want, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return ": " + err.Error()
	}
	if m[4] != "" {
		return differ(n.known && n.low <= want+exact && want-exact <= n.high)
	}
	tol, _ := strconv.ParseFloat(m[2], 64) // absent means exact
	if m[3] != "" {
		tol *= abs(want) / 100
	}
	return differ(n.known && abs(n.value-want) <= tol+exact)
}

func abs(v float64) float64 { return max(v, -v) }

// differ is empty when the demand is met and ends a message otherwise.
func differ(ok bool) string {
	if ok {
		return ""
	}
	return " "
}

// matches compares a text: contained when the wanted one is quoted.
func matches(got, want string) bool {
	if len(want) >= 2 && want[0] == '"' && want[len(want)-1] == '"' {
		return strings.Contains(got, want[1:len(want)-1])
	}
	return got == want
}

func (k *checker) word(l Line, name, want, got string) {
	if !matches(got, want) && !(want == "none" && got == "") {
		k.fail(l.Number, "%s: expected %s, found %q", name, want, got)
	}
}

// list compares a list item by item, in order.
func (k *checker) list(l Line, name, want string, got []string) {
	items := split(want, ';')
	if want == "none" {
		items = nil
	}
	if strings.Join(items, "; ") != strings.Join(got, "; ") {
		k.fail(l.Number, "%s: expected %s, found %s", name, want, orNone(got))
	}
}
