package profile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Bounds of a profile file. A profile of a large type with many tables fills
// some tens of kilobytes; nothing in the language nests deeper than eight.
const (
	maxBytes = 1 << 20
	maxDepth = 12
)

// document turns the text into the mapping at its top, or reports why it is
// none. Nil: nothing more can be told of the file.
func (r *reader) document(text []byte) *yaml.Node {
	if !r.readable(text) {
		return nil
	}
	decoder := yaml.NewDecoder(bytes.NewReader(text))
	var first, second yaml.Node
	err := decoder.Decode(&first)
	switch {
	case errors.Is(err, io.EOF) || err == nil && (len(first.Content) == 0 || isNull(first.Content[0])):
		r.failAt(0, 0, `start with "rollonset: 1"`, "the file holds no profile")
		return nil
	case err != nil:
		r.syntax(err)
		return nil
	}
	// The library reads one document and ignores the rest; a limit written
	// below a stray "---" would silently not count.
	switch err := decoder.Decode(&second); {
	case err == nil:
		r.failAt(second.Line, second.Column, `remove the line "---" or put the second profile into its own file`, "a second document begins here")
		return nil // keys below the line would all be called missing
	case !errors.Is(err, io.EOF):
		r.syntax(err)
		return nil
	}
	if !r.plainNodes(first.Content[0], 1, map[string]bool{}) {
		return nil
	}
	return first.Content[0]
}

// readable checks the bytes before any parser sees them.
func (r *reader) readable(text []byte) bool {
	if len(text) > maxBytes {
		r.failAt(0, 0, "a profile holds rules, not recordings; is this the right file?", fmt.Sprintf("the file has %d bytes, more than the %d a profile may have", len(text), maxBytes))
		return false
	}
	r.lines = splitLines(string(bytes.TrimPrefix(text, []byte("\uFEFF"))))
	ok := true
	for i, line := range r.lines {
		if at := slices.IndexFunc([]rune(line), notText); !utf8.ValidString(line) || at >= 0 {
			if bad := firstInvalid(line); bad < len(line) {
				at = utf8.RuneCountInString(line[:bad])
			}
			r.failAt(i+1, at+1, "save the file as UTF-8", "this is not text in UTF-8")
			return false // what follows would fail for the same reason
		}
		if at := strings.IndexFunc(line, invisible); at >= 0 {
			r.failAt(i+1, utf8.RuneCountInString(line[:at])+1, "remove it", fmt.Sprintf("an invisible control character, %U", []rune(line[at:])[0]))
			ok = false
		}
		indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
		if tab := strings.IndexByte(indent, '\t'); tab >= 0 && !blank(line) {
			r.failAt(i+1, tab+1, "indent with spaces", "a tab in the indentation")
			ok = false
		}
	}
	return ok
}

// notText finds the zeros of UTF-16 and of binary files.
func notText(c rune) bool { return c == 0 }

// lineBreaks turns every line break that YAML knows into one of Go's, so that
// lines are counted as the library counts them.
var lineBreaks = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u0085", "\n", "\u2028", "\n", "\u2029", "\n")

func splitLines(text string) []string { return strings.Split(lineBreaks.Replace(text), "\n") }

// invisible says whether a character is a control character that YAML does
// not allow.
func invisible(c rune) bool {
	return c < ' ' && c != '\t' || c >= 0x7f && c < 0xa0 || c == 0xFFFE || c == 0xFFFF
}

func blank(line string) bool {
	s := strings.TrimLeft(line, " \t\r")
	return s == "" || s[0] == '#'
}

func firstInvalid(s string) int {
	for i, c := range s {
		if c == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD") {
			return i
		}
	}
	return len(s)
}

// syntax reports what the YAML library could not read, at its place.
func (r *reader) syntax(err error) {
	var le *yaml.LoadError
	if !errors.As(err, &le) {
		r.failAt(0, 0, "", "not YAML: "+err.Error())
		return
	}
	line, column := min(le.Mark.Line, len(r.lines)), max(1, le.Mark.Column)
	r.failAt(line, column, syntaxHint(le.Message), "not YAML: "+le.Message)
}

// syntaxHint gives the usual cause of a message of the YAML library.
func syntaxHint(message string) string {
	for _, h := range []struct{ part, hint string }{
		{"cannot start any token", `put a text that begins with %, @, & or * in quotes`},
		{"mapping values are not allowed", `put a text with ": " in it in quotes`},
		{"expected ',' or ']'", "a list that was opened with [ is not closed, or a comma is missing"},
		{"expected ',' or '}'", "keys that were opened with { are not closed, or a comma is missing"},
		{"expected <block end>", "check the indentation of this line and the one above"},
		{"could not find expected ':'", "a key needs a colon and a value"},
		{"unknown anchor", "put a text that begins with * in quotes"},
		{"escape character", "in double quotes write \\\\ for a backslash"},
	} {
		if strings.Contains(message, h.part) {
			return h.hint
		}
	}
	return "check quotes, brackets and indentation around this place"
}

// plainNodes refuses what makes a file mean something else than what stands
// there: aliases, merge keys and tags. A limit has to be read where it is
// written. It also bounds the depth, so nothing that follows can run away.
// False: the rest cannot be read before this is mended. seen are the aliases
// told already; one message for each is enough.
func (r *reader) plainNodes(n *yaml.Node, depth int, seen map[string]bool) bool {
	if depth > maxDepth {
		r.fail(n, "", "nested more than %d deep; no profile is", maxDepth)
		return false
	}
	readable := true
	switch {
	case n.Kind == yaml.AliasNode:
		if !seen[n.Value] {
			r.fail(n, "write the value out; or put it in quotes if it is meant as text", "an alias *%s, which the profile language does not have", n.Value)
		}
		seen[n.Value] = true
		return false
	case n.Tag == "!!merge":
		r.fail(n, "write the keys out", "a merge key <<, which the profile language does not have")
		readable = false
	case n.Anchor != "":
		r.fail(n, "remove it; or put the text in quotes", "an anchor &%s, which the profile language does not have", n.Anchor)
	case n.Style&yaml.TaggedStyle != 0:
		r.fail(n, "remove it; or put the text in quotes", "a tag %s, which the profile language does not have", n.Tag)
	}
	for _, c := range n.Content {
		readable = r.plainNodes(c, depth+1, seen) && readable
	}
	return readable
}
