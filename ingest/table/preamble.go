package table

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// maxBefore is how many lines may stand before the header. Exporters write
// some dozens.
const maxBefore = 400

// findHeader finds the header line and with it the delimiter. It is the first
// line that has one of the known names as a cell. Where none is known, or none
// found, it is the first line with the most cells, if what follows looks like
// its rows.
func (d *Dialect) findHeader(text []byte, opt *Options) {
	candidates := delimiters
	if opt.Delimiter != 0 {
		candidates = []byte{opt.Delimiter}
	}
	d.Delimiter = candidates[0]
	if len(opt.Names) > 0 && d.byName(text, candidates, opt.Names) {
		return
	}
	best := 0
	for _, delimiter := range candidates {
		h, ok := byShape(text, delimiter)
		// A line that is certain goes before one that may be it.
		score := 2 * h.cells
		if ok {
			score += 1 << 20
		}
		if h.cells > 1 && score > best {
			best = score
			d.Delimiter, d.Before, d.Header = delimiter, h.before, h.at
		}
	}
}

// byName looks for a line with one of the names.
func (d *Dialect) byName(text []byte, candidates []byte, names []string) bool {
	at := 0
	for before := range maxBefore {
		size, most := 0, 0
		for _, delimiter := range candidates {
			s := splitter{delimiter: delimiter}
			n, err := s.split(text[at:], false)
			if err != nil || n == 0 {
				continue
			}
			size = n
			if len(s.cells) > most && slices.ContainsFunc(s.cells, func(cell []byte) bool { return slices.Contains(names, string(trim(cell))) }) {
				most = len(s.cells)
				d.Delimiter, d.Before, d.Header = delimiter, before, at
			}
		}
		if most > 0 {
			return true
		}
		if size == 0 { // quotes that no delimiter explains: free text
			if size = bytes.IndexByte(text[at:], '\n') + 1; size == 0 {
				return false
			}
		}
		at += size
	}
	return false
}

// A place is where a header may be, and how many cells it has.
type place struct{ before, at, cells int }

// byShape looks for the first record with the most cells. It is certain when
// none of its cells is a number and the records below it have as many cells;
// otherwise the first record that is not blank may be it.
func byShape(text []byte, delimiter byte) (h place, certain bool) {
	var records []place
	s := splitter{delimiter: delimiter}
	first := -1
	for at := 0; len(records) < maxBefore; {
		n, err := s.split(text[at:], false)
		if err != nil || n == 0 {
			break
		}
		r := place{before: len(records), at: at, cells: len(s.cells)}
		records = append(records, r)
		at += n
		switch {
		case first < 0 && !isBlank(text, r):
			first = r.before
		case first >= 0 && r.before == first+1 && r.cells > 1 && r.cells == records[first].cells:
			// A table from the first line on, as nearly every file is.
			return records[first], named(text, records[first], &s)
		}
	}
	if first < 0 {
		if _, err := s.split(text, true); err != nil {
			return place{}, false
		}
		return place{cells: len(s.cells)}, false
	}
	h = records[first]
	for _, r := range records[first:] {
		if r.cells > h.cells {
			h = r
		}
	}
	below := records[h.before+1:]
	same := 0
	for _, r := range below {
		if r.cells == h.cells || isBlank(text, r) {
			same++
		}
	}
	if same == 0 || same*10 < len(below)*9 || !named(text, h, &s) {
		return records[first], false
	}
	return h, true
}

// named says whether no cell of a record is a number.
func named(text []byte, r place, s *splitter) bool {
	_, err := s.split(text[r.at:], false)
	return err == nil && !slices.ContainsFunc(s.cells, func(cell []byte) bool { return looksNumber(trim(cell)) })
}

func isBlank(text []byte, r place) bool {
	return r.cells == 1 && len(bytes.TrimRight(lineAt(text, r.at), "\r")) == 0
}

func lineAt(text []byte, at int) []byte {
	line, _, _ := bytes.Cut(text[at:], newline)
	return line
}

// looksNumber takes decimal points and commas.
func looksNumber(cell []byte) bool {
	_, ok := parseNumber(cell)
	return ok || hasMark(cell, ',')
}

// metadata reads the lines before the header: "key: value", "key = value", a
// line of two cells, each with or without a # in front. Any other line is kept
// whole, under "line 3". Of a key that comes again the first value counts.
func (d *Dialect) metadata(text []byte) map[string]string {
	meta := map[string]string{}
	s := splitter{delimiter: d.Delimiter}
	line := 1
	for at := 0; at < len(text); {
		n, err := s.split(text[at:], true)
		if err != nil || n == 0 {
			if n = bytes.IndexByte(text[at:], '\n') + 1; n == 0 {
				n = len(text) - at
			}
			s.cells = [][]byte{bytes.TrimRight(text[at:at+n], "\r\n")}
		}
		key, value := keyValue(s.cells, d)
		if key == "" && value != "" {
			key = fmt.Sprintf("line %d", line)
		}
		if _, twice := meta[key]; !twice && value != "" {
			meta[key] = value
		}
		line += max(bytes.Count(text[at:at+n], newline), 1)
		at += n
	}
	return meta
}

// keyValue takes one line apart; no key means that it is free text.
func keyValue(cells [][]byte, d *Dialect) (key, value string) {
	var full []string
	for _, c := range cells {
		if d.Latin1 {
			c = fromLatin1(c)
		}
		if t := strings.TrimSpace(strings.ToValidUTF8(string(c), "\uFFFD")); t != "" {
			full = append(full, t)
		}
	}
	if len(full) == 0 {
		return "", ""
	}
	full[0] = strings.TrimLeft(full[0], "# \t")
	whole := strings.TrimSpace(strings.Join(full, " "))
	for _, mark := range []string{":", "="} {
		k, v, ok := strings.Cut(full[0], mark)
		k, v = strings.TrimSpace(k), strings.TrimSpace(v)
		if !ok || k == "" {
			continue
		}
		if rest := strings.TrimSpace(strings.Join(append([]string{v}, full[1:]...), " ")); rest != "" {
			return k, rest
		}
	}
	if len(full) == 2 && full[0] != "" {
		return full[0], full[1]
	}
	return "", whole
}

// isUnits says whether a record below the header names units: each cell is
// blank, a dash, in brackets or known as a unit, and one at least is a unit.
// units are those, without brackets.
func isUnits(cells []string, known func(string) bool) (units []string, ok bool) {
	units = make([]string, len(cells))
	for i, c := range cells {
		c = strings.TrimSpace(c)
		if c == "" || c == "-" {
			continue
		}
		inner, bracketed := unbracket(c)
		if !bracketed && (known == nil || !known(c)) {
			return nil, false
		}
		if inner != "" && inner != "-" {
			units[i], ok = inner, true
		}
	}
	return units, ok
}

// unbracket takes the brackets off; a number in brackets is no unit.
func unbracket(c string) (inner string, ok bool) {
	for _, pair := range []string{"()", "[]", "{}", "<>"} {
		if len(c) >= 2 && c[0] == pair[0] && c[len(c)-1] == pair[1] {
			inner = strings.TrimSpace(c[1 : len(c)-1])
			return inner, !looksNumber([]byte(inner))
		}
	}
	return c, false
}
