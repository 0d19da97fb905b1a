package casefile

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Case is one case of a file.
type Case struct {
	File    string
	Line    int
	Name    string
	Source  string // where the figures come from, "" when they are ours
	Profile string // as written; "" in a case without a profile
	Length  time.Duration
	Plan    map[string]float64
	Series  []SeriesLine
	Doubted []Line // "PARAMETER REASON"
	Expect  []Expectation
	// Given are the other "key: text" lines, for tests with words of their own.
	Given map[string]Line
}

// Line is the text of one line and where it stands.
type Line struct {
	Number int
	Text   string
}

// Expectation is one "expect" line with the facts below it. Text is what
// follows the word "expect".
type Expectation struct {
	Line
	Facts []Line
}

// Parse reads the text of a case file. The error joins every mistake, each
// with file and line.
func Parse(file, text string) ([]*Case, error) {
	p := parser{file: file}
	for i, raw := range strings.Split(text, "\n") {
		p.line(i+1, raw)
	}
	if len(p.cases) == 0 && len(p.mistakes) == 0 {
		p.fail(1, "no case: begin one with \"case: NAME\"")
	}
	return p.cases, errors.Join(p.mistakes...)
}

type parser struct {
	file     string
	cases    []*Case
	mistakes []error
}

func (p *parser) fail(line int, format string, args ...any) {
	p.mistakes = append(p.mistakes, fmt.Errorf("%s:%d: %s", p.file, line, fmt.Sprintf(format, args...)))
}

var (
	comment   = regexp.MustCompile(`(^|\s+)#.*$`)
	directive = regexp.MustCompile(`^([a-z][a-z ]*):\s*(.*)$`)
)

func (p *parser) line(n int, raw string) {
	text := strings.TrimRight(comment.ReplaceAllString(raw, ""), " \t\r")
	switch {
	case strings.TrimSpace(text) == "":
	case text[0] == ' ' || text[0] == '\t':
		p.fact(n, strings.TrimSpace(text))
	case strings.HasPrefix(text, "case:"):
		p.begin(n, strings.TrimSpace(text[len("case:"):]))
	case len(p.cases) == 0:
		p.fail(n, "%q stands before the first case: begin one with \"case: NAME\"", text)
	case strings.HasPrefix(text, "expect "):
		c := p.now()
		c.Expect = append(c.Expect, Expectation{Line: Line{n, strings.TrimSpace(text[len("expect "):])}})
	default:
		p.content(n, text)
	}
}

func (p *parser) now() *Case { return p.cases[len(p.cases)-1] }

func (p *parser) begin(n int, name string) {
	if name == "" {
		p.fail(n, "a case without a name")
	}
	if p.named(name) != nil {
		p.fail(n, "case %q stands twice in the file", name)
	}
	p.cases = append(p.cases, &Case{File: p.file, Line: n, Name: name, Plan: map[string]float64{}, Given: map[string]Line{}})
}

func (p *parser) named(name string) *Case {
	for _, c := range p.cases {
		if c.Name == name {
			return c
		}
	}
	return nil
}

func (p *parser) fact(n int, text string) {
	if len(p.cases) == 0 || len(p.now().Expect) == 0 {
		p.fail(n, "%q is indented, and no \"expect\" stands above it", text)
		return
	}
	e := &p.now().Expect[len(p.now().Expect)-1]
	e.Facts = append(e.Facts, Line{n, text})
}

// content is a directive of the open case, or a series.
func (p *parser) content(n int, text string) {
	m := directive.FindStringSubmatch(text)
	if m == nil {
		p.series(n, text)
		return
	}
	c := p.now()
	switch m[1] {
	case "source":
		c.Source = m[2]
	case "profile":
		c.Profile = m[2]
	case "length":
		d, err := time.ParseDuration(m[2])
		if err != nil || d <= 0 {
			p.fail(n, "length %q is not a time such as 150s", m[2])
		}
		c.Length = d
	case "like":
		p.like(n, m[2])
	case "without":
		p.without(n, m[2])
	case "plan":
		p.plan(n, m[2])
	case "doubted":
		if _, why, _ := strings.Cut(m[2], " "); why == "" {
			p.fail(n, "doubted: write PARAMETER REASON, such as parking_brake it reads set while it rolls")
			return
		}
		c.Doubted = append(c.Doubted, Line{n, m[2]})
	default:
		c.Given[m[1]] = Line{n, m[2]}
	}
}

func (p *parser) like(n int, name string) {
	base, c := p.named(name), p.now()
	if base == nil || base == c {
		p.fail(n, "like: no case %q stands above", name)
		return
	}
	if len(c.Series) > 0 || c.Length > 0 {
		p.fail(n, "like: put it first in the case, so that what follows replaces what it brings")
	}
	c.Profile, c.Length, c.Series = base.Profile, base.Length, slices.Clone(base.Series)
	c.Doubted = slices.Clone(base.Doubted)
	for k, v := range base.Plan {
		c.Plan[k] = v
	}
	for k, v := range base.Given {
		c.Given[k] = v
	}
}

func (p *parser) without(n int, names string) {
	c := p.now()
	for _, name := range split(names, ',') {
		kept := slices.DeleteFunc(slices.Clone(c.Series), func(s SeriesLine) bool { return s.Name == name })
		if len(kept) == len(c.Series) {
			p.fail(n, "without: the case has no series %q", name)
		}
		c.Series = kept
	}
}

// planNames are the entries of a flight list, in canonical units.
var planNames = []string{"planned_flap", "v1", "vr", "weight", "cg", "trim", "runway"}

func (p *parser) plan(n int, text string) {
	c := p.now()
	if text == "none" {
		c.Plan = map[string]float64{}
		return
	}
	for _, item := range split(text, ',') {
		name, value, _ := strings.Cut(item, " ")
		v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		switch {
		case !slices.Contains(planNames, name):
			p.fail(n, "plan: unknown entry %q; known: %s", name, strings.Join(planNames, ", "))
		case err != nil:
			p.fail(n, "plan: %q is not a number", value)
		default:
			c.Plan[name] = v
		}
	}
}

// split cuts a list at sep, outside quotes and trimmed; an empty text gives
// no items.
func split(text string, sep rune) []string {
	var out []string
	quoted, from := false, 0
	for i, r := range text {
		switch {
		case r == '"':
			quoted = !quoted
		case r == sep && !quoted:
			out = append(out, strings.TrimSpace(text[from:i]))
			from = i + 1
		}
	}
	if rest := strings.TrimSpace(text[from:]); rest != "" || len(out) > 0 {
		out = append(out, rest)
	}
	return out
}
