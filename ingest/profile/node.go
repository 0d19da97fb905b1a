package profile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/spelling"
)

// reader walks the nodes of one profile and gathers every mistake, so that a
// person mends the file once and not mistake by mistake.
type reader struct {
	path     string
	lines    []string
	problems Errors
}

// fail records a mistake at a node.
func (r *reader) fail(n *yaml.Node, hint, format string, args ...any) {
	r.failAt(n.Line, n.Column, hint, fmt.Sprintf(format, args...))
}

// maxProblems and maxText bound what a file of rubbish can make the program
// print; a person mends no more at a time.
const (
	maxProblems = 200
	maxText     = 400
)

// failAt records a mistake at a place; line 0 is the whole file.
func (r *reader) failAt(line, column int, hint, text string) {
	if len(r.problems) >= maxProblems {
		return
	}
	text, hint = clip(text), clip(hint)
	p := Problem{Path: r.path, Line: line, Column: column, Text: text, Hint: hint}
	if line >= 1 && line <= len(r.lines) {
		p.Source = r.lines[line-1]
	}
	r.problems = append(r.problems, p)
}

// clip shortens a text and takes out what could steer a terminal.
func clip(s string) string {
	s = strings.Map(func(c rune) rune {
		if invisible(c) {
			return '\uFFFD'
		}
		return c
	}, s)
	if c := []rune(s); len(c) > maxText {
		return string(c[:maxText]) + " …"
	}
	return s
}

// section is one mapping of the file with the keys that the language knows
// there. The zero section has no keys and reports nothing missing: a mistake
// higher up has already been told.
type section struct {
	r      *reader
	node   *yaml.Node
	what   string
	values map[string]*yaml.Node
	empty  map[string]bool // keys without a value: told, and not missing too
}

// section opens a mapping and reports what does not belong into it. A nil
// node gives an empty section.
func (r *reader) section(n *yaml.Node, what string, known ...string) section {
	if n == nil {
		return section{r: r, what: what}
	}
	// Keys without a value are remembered: they are told here, and not as
	// missing a second time.
	s := section{r: r, node: n, what: what, values: map[string]*yaml.Node{}, empty: map[string]bool{}}
	if n.Kind != yaml.MappingNode {
		r.fail(n, "keys here: "+strings.Join(known, ", "), "%s must be keys with values, not %s", what, describe(n))
		return section{r: r, what: what}
	}
	for key, value := range r.entries(n, what) {
		switch {
		case !slices.Contains(known, key.Value):
			r.fail(key, spelling.DidYouMean(key.Value, known), "unknown key %q in %s", key.Value, what)
		case isNull(value):
			r.fail(key, "give a value or leave the key out", "%q has no value", key.Value)
			s.empty[key.Value] = true
		default:
			s.values[key.Value] = value
		}
	}
	return s
}

// entries yields the keys and values of a mapping in the order of the file
// and reports a key that stands twice.
func (r *reader) entries(n *yaml.Node, what string) func(yield func(key, value *yaml.Node) bool) {
	return func(yield func(key, value *yaml.Node) bool) {
		first := map[string]int{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			key := n.Content[i]
			if key.Kind != yaml.ScalarNode {
				r.fail(key, "", "a key of %s must be a word, not %s", what, describe(key))
				continue
			}
			if line, twice := first[key.Value]; twice {
				r.fail(key, fmt.Sprintf("first at line %d; remove one", line), "%q stands twice in %s", key.Value, what)
				continue
			}
			first[key.Value] = key.Line
			if !yield(key, n.Content[i+1]) {
				return
			}
		}
	}
}

// get is the value of a key, nil when it is not there.
func (s section) get(key string) *yaml.Node { return s.values[key] }

// need is the value of a key that may not be left out.
func (s section) need(key, example string) *yaml.Node {
	if n := s.values[key]; n != nil || s.node == nil || s.empty[key] {
		return n
	}
	s.r.fail(s.node, "for example "+example, "%s lacks the key %q", s.what, key)
	return nil
}

func isNull(n *yaml.Node) bool {
	return n.Kind == yaml.ScalarNode && n.Tag == "!!null"
}

// describe names the shape of a node for a message.
func describe(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "keys with values"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case isNull(n):
		return "nothing"
	}
	return strconv.Quote(n.Value)
}

// text reads a non-empty scalar as it is written: 010 stays "010", and 1.10
// stays "1.10". Nil gives "" without a report.
func (r *reader) text(n *yaml.Node, what string) (string, bool) {
	switch {
	case n == nil:
		return "", false
	case isNull(n):
		r.fail(n, `put it in quotes if it is meant as text`, "%s has no value", what)
		return "", false
	case n.Kind != yaml.ScalarNode:
		r.fail(n, "", "%s must be a text, not %s", what, describe(n))
		return "", false
	case strings.TrimSpace(n.Value) == "":
		r.fail(n, "", "%s is empty", what)
		return "", false
	case strings.ContainsFunc(n.Value, invisible):
		r.fail(n, "write it in one line, without escapes", "%s holds a line break or a control character", what)
		return "", false
	}
	return n.Value, true
}

// prose reads a text for people, which may run over several lines of the
// file; every run of white space counts as one blank.
func (r *reader) prose(n *yaml.Node, what string) string {
	if n == nil {
		return ""
	}
	flat := *n
	if n.Kind == yaml.ScalarNode {
		flat.Value = strings.Join(strings.Fields(n.Value), " ")
	}
	s, _ := r.text(&flat, what)
	return s
}

// list reads a non-empty list. Nil gives nil without a report.
func (r *reader) list(n *yaml.Node, what string) []*yaml.Node {
	switch {
	case n == nil:
		return nil
	case n.Kind != yaml.SequenceNode:
		r.fail(n, "write it as [ … ]", "%s must be a list, not %s", what, describe(n))
		return nil
	case len(n.Content) == 0:
		r.fail(n, "give at least one entry or leave the key out", "%s is an empty list", what)
	}
	return n.Content
}

// texts reads a list of different texts; one text alone stands for a list of
// one when single says so.
func (r *reader) texts(n *yaml.Node, what string, single bool) []string {
	if n == nil {
		return nil
	}
	nodes := []*yaml.Node{n}
	if !single || n.Kind == yaml.SequenceNode {
		nodes = r.list(n, what)
	}
	var out []string
	seen := map[string]bool{}
	for _, c := range nodes {
		s, ok := r.text(c, what)
		switch {
		case !ok:
		case seen[s]:
			r.fail(c, "remove one", "%q stands twice in %s", s, what)
		default:
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// word reads one of the given words; otherwise is the value for nil.
func (r *reader) word(n *yaml.Node, what, otherwise string, words ...string) string {
	s, ok := r.text(n, what)
	if !ok {
		return otherwise
	}
	if !slices.Contains(words, s) {
		r.fail(n, orElse(spelling.DidYouMean(s, words), "known here: "+strings.Join(words, ", ")), "%s cannot be %q", what, s)
		return otherwise
	}
	return s
}

// truth reads true or false; false for nil.
func (r *reader) truth(n *yaml.Node, what string) bool {
	// "yes" and "on" are texts in one version of YAML and truths in another.
	return r.word(n, what, "false", "true", "false") == "true"
}
