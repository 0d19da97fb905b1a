package archive

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
)

// A chain is a file of lines that is only ever appended to: what persons
// decided, what retention took, who asked for a name. Every line is an object
// of JSON that carries the SHA-256 of the line before it and, as its last
// field, of its own bytes in front of that field, so that a changed, lost,
// doubled or moved line is found. That the end was cut off at a line end,
// which no line can tell, is told by the file beside it, see HeadFile.

// chainSchema is the version of the layout of a line of any chain.
const chainSchema = 1

// Link are the last fields of a line. Whoever appends leaves them empty.
type Link struct {
	Previous string `json:"previous_sha256"` // of nothing for the first line
	SHA256   string `json:"sha256"`
}

// ChainHead is how far a chain went: its lines and the hash of the last.
type ChainHead struct {
	Lines  int    `json:"lines"`
	SHA256 string `json:"sha256"`
}

// Chain is what following a chain gave.
type Chain struct {
	File string // relative to the archive, for messages
	Head ChainHead
	// Torn says that the last line was cut off when it was written. Broken
	// lists what is wrong with the chain; lines that it names count for nothing.
	Torn   bool
	Broken []string
	// Notes tell of lines that were set aside.
	Notes []string
	// Anchored says that the file of the head is there, Astray that it tells of
	// a line that the chain has not.
	Anchored, Astray bool

	hashes  []string // of the lines, in order
	cut     bool     // the file ends without a line end
	rawTail string   // what stands behind the last line end
}

// cutNote is the line that sets aside what a killed writer left.
type cutNote struct {
	Schema int    `json:"schema"`
	Time   string `json:"time_utc"`
	Note   string `json:"note"`
	Link
}

// follow reads the lines of a chain in order. Each sound one that is no note
// goes to keep, which may give a note instead of keeping it.
func follow[T any](file string, text []byte, keep func(T) (note string)) Chain {
	c := Chain{File: file, Head: ChainHead{SHA256: HashOf(nil)}}
	lines := strings.Split(string(text), "\n")
	c.rawTail = lines[len(lines)-1]
	c.cut = c.rawTail != ""
	if !c.cut {
		lines = lines[:len(lines)-1]
	}
	for i := range lines {
		take(&c, i, lines, keep)
	}
	return c
}

// take adds line i to the chain, or says what is wrong with it.
func take[T any](c *Chain, i int, lines []string, keep func(T) string) {
	line, number := lines[i], i+1
	link, note, entry, err := parseLine[T](line)
	if err != nil && i == len(lines)-1 && c.cut {
		c.Torn = true
		c.Notes = append(c.Notes, fmt.Sprintf("line %d has no end: it was cut off when it was written, or changed; the next one sets it aside", number))
		return // it is no part of the chain yet
	}
	if err == nil && link.Previous != c.Head.SHA256 {
		err = fmt.Errorf("does not follow the line before it: that has the hash %s, the line says %s", c.Head.SHA256, link.Previous)
	}
	switch {
	case err == nil:
		if note == "" {
			note = keep(entry)
		}
		if note != "" {
			c.Notes = append(c.Notes, note)
		}
	case setAside[T](line, lines[i+1:]):
	default:
		c.Broken = append(c.Broken, fmt.Sprintf("line %d %v", number, err))
	}
	c.Head = ChainHead{Lines: number, SHA256: HashOf([]byte(line))}
	c.hashes = append(c.hashes, c.Head.SHA256)
}

// setAside says whether the line that follows is the note of one that was cut
// off and carries its hash.
func setAside[T any](line string, after []string) bool {
	if len(after) == 0 {
		return false
	}
	link, note, _, err := parseLine[T](after[0])
	return err == nil && note != "" && link.Previous == HashOf([]byte(line))
}

// parseLine reads one line and holds it to its own hash. A line is an entry or
// a note.
func parseLine[T any](line string) (link Link, note string, entry T, err error) {
	if err := checkSeal([]byte(line), lineSeal); err != nil {
		return link, "", entry, err
	}
	var n cutNote
	if strict(line, &n) == nil && n.Note != "" && n.Schema == chainSchema {
		return n.Link, n.Note, entry, nil
	}
	var any struct {
		Schema int `json:"schema"`
		Link
	}
	if err := json.Unmarshal([]byte(line), &any); err != nil {
		return link, "", entry, fmt.Errorf("is not readable (%w)", err)
	}
	if any.Schema != chainSchema {
		return link, "", entry, fmt.Errorf("has the layout %d, this program knows %d", any.Schema, chainSchema)
	}
	if err := strict(line, &entry); err != nil {
		return link, "", entry, fmt.Errorf("is not readable (%w)", err)
	}
	return any.Link, "", entry, nil
}

// strict decodes a line that has no field but those of v.
func strict(line string, v any) error {
	dec := json.NewDecoder(strings.NewReader(line))
	dec.DisallowUnknownFields()
	return dec.Decode(v)
}

// Whole is an error that says what is wrong with the chain, nil when nothing
// is. Whoever counts its lines or adds to them asks first.
func (c *Chain) Whole() error {
	if len(c.Broken) == 0 {
		return nil
	}
	return fmt.Errorf("%s %s; restore the file from a copy", c.File, strings.Join(c.Broken, "; "))
}

// Holds says whether the chain went through a head that was noted earlier; no
// lines at all are always held.
func (c *Chain) Holds(h ChainHead) bool {
	return h.Lines == 0 || h.Lines > 0 && h.Lines <= len(c.hashes) && c.hashes[h.Lines-1] == h.SHA256
}

// extend makes the bytes that go behind the file, and the head that it has
// then. What a killed writer left of a line stays, and a note that sets it
// aside, of the given time, follows it.
func (c *Chain) extend(time string, entries []any) ([]byte, ChainHead, error) {
	var out bytes.Buffer
	head := c.Head
	if c.cut {
		out.WriteByte('\n')
	}
	if c.Torn {
		head = ChainHead{head.Lines + 1, HashOf([]byte(c.rawTail))}
		note := cutNote{Schema: chainSchema, Time: time, Note: fmt.Sprintf("line %d was cut off when it was written and counts for nothing", head.Lines)}
		entries = append([]any{note}, entries...)
	}
	for _, e := range entries {
		line, err := chainLine(e, head.SHA256)
		if err != nil {
			return nil, head, err
		}
		head = ChainHead{head.Lines + 1, HashOf(line)}
		out.Write(line)
		out.WriteByte('\n')
	}
	return out.Bytes(), head, nil
}

// lineSeal stands around the hash at the end of a line, linkSeal is the end of
// an entry whose links are empty.
var (
	lineSeal = [2]string{`,"sha256":"`, `"}`}
	linkSeal = `,"previous_sha256":"","sha256":""}`
)

// chainLine is an entry, whose links are empty, as its line without the line
// end.
func chainLine(e any, previous string) ([]byte, error) {
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(e); err != nil {
		return nil, fmt.Errorf("line of a chain: %w", err)
	}
	body, ok := bytes.CutSuffix(bytes.TrimSuffix(text.Bytes(), []byte("\n")), []byte(linkSeal))
	if !ok {
		return nil, errors.New("line of a chain: its last fields are not empty links")
	}
	body = append(body, `,"previous_sha256":"`+previous+`"`...)
	return append(body, lineSeal[0]+HashOf(body)+lineSeal[1]...), nil
}
