package guess

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"rollonset/ingest/flightdata"
)

// name is a recorded name cut into words.
type name struct {
	words  []string // lower case, without numbers, sides and what is in brackets
	number int      // the first number that stands for an engine or a source, 0 for none
	side   string   // "left", "right" or ""
	hints  []string // what stood in brackets, lower case, such as "kt" or "1=air"
}

// whole are words with a digit that is part of the word.
var whole = []string{"n1", "n2", "n3", "v1", "v2"}

// cut takes a recorded name apart: at everything that is no letter or digit, at
// a small letter before a capital, and before the digits at the end of a word.
func cut(s string) name {
	var n name
	s, n.hints = brackets(s)
	for _, w := range split(stemOfSlot(s)) {
		n.take(w)
	}
	return n
}

// slotLetter is the letter at the end of a name of which a row has several, one
// for each sample in it: N1_1a, N1_1b, PITCH_c.
var slotLetter = regexp.MustCompile(`^(.*[0-9_ ])([a-h])$`)

// stemOfSlot is a recorded name without that letter.
func stemOfSlot(s string) string {
	if m := slotLetter.FindStringSubmatch(s); m != nil {
		return m[1]
	}
	return s
}

// take sorts one word.
func (n *name) take(w string) {
	if slices.Contains(whole, w) {
		n.words = append(n.words, w)
		return
	}
	// N1 of the second engine is often written N12.
	if len(w) == 3 && slices.Contains(whole, w[:2]) && w[2] >= '1' && w[2] <= '8' {
		n.words, n.number = append(n.words, w[:2]), int(w[2]-'0')
		return
	}
	stem := strings.TrimRight(w, "0123456789")
	if v, err := strconv.Atoi(w[len(stem):]); err == nil && n.number == 0 {
		n.number = v
	}
	switch stem {
	case "":
	case "l", "lh", "left":
		n.side = "left"
	case "r", "rh", "right":
		n.side = "right"
	default:
		n.words = append(n.words, stem)
	}
}

// brackets takes what stands in brackets out of a name.
func brackets(s string) (rest string, inside []string) {
	for {
		i := strings.IndexAny(s, "([")
		if i < 0 {
			return s, inside
		}
		k := strings.IndexAny(s[i:], ")]")
		if k < 0 {
			return s, inside
		}
		inside = append(inside, strings.ToLower(strings.TrimSpace(s[i+1:i+k])))
		s = s[:i] + " " + s[i+k+1:]
	}
}

// split cuts a text into lower-case words of letters and digits.
func split(s string) []string {
	var out []string
	var w []rune
	flush := func() {
		if len(w) > 0 {
			out = append(out, strings.ToLower(string(w)))
			w = w[:0]
		}
	}
	for _, r := range s {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '%' {
			flush()
			continue
		}
		if len(w) > 0 && unicode.IsUpper(r) && unicode.IsLower(w[len(w)-1]) {
			flush()
		}
		w = append(w, r)
	}
	flush()
	return out
}

// parameter is the canonical name with the engine or side that the name states;
// "" when it needs an engine and states none.
func (n name) parameter(def flightdata.Definition) flightdata.Parameter {
	switch {
	case def.PerEngine && n.number >= 1 && n.number <= 8:
		return def.Name.Engine(n.number)
	case def.PerEngine:
		return ""
	case def.Sided && n.side == "left":
		return def.Name.Left()
	case def.Sided && n.side == "right":
		return def.Name.Right()
	}
	return def.Name
}

// timely are the words for time.
var timely = []string{"time", "utc", "gmt", "clock", "elapsed", "timestamp", "datetime", "t"}

// NamesFrames says whether a recorded name is one for a counter of frames.
func NamesFrames(recorded string) bool {
	return slices.ContainsFunc(split(recorded), func(w string) bool {
		return slices.Contains([]string{"frame", "frames", "frm", "subframe", "framecount", "framecounter", "framecnt"}, w)
	})
}

// NamesDate says whether a recorded name is one for the date.
func NamesDate(recorded string) bool {
	return slices.ContainsFunc(split(recorded), func(w string) bool { return w == "date" || w == "day" })
}

// NamesParameter says whether a recorded name is one for a parameter.
func NamesParameter(recorded string) bool { return lookUp(cut(recorded)).base != "" }

// Role is what a column of a file is for in which each row is one sample.
type Role string

// The roles; the time is found as in any file.
const (
	NameRole  Role = "recorded name"
	ValueRole Role = "value"
	UnitRole  Role = "unit"
)

// RoleOf says which role a column is named for, "" for none.
func RoleOf(recorded string) Role {
	for _, w := range split(recorded) {
		switch w {
		case "parameter", "param", "parametername", "name", "mnemonic", "signal", "channel", "label", "tag", "variable":
			return NameRole
		case "value", "val", "reading", "data", "sample":
			return ValueRole
		case "unit", "units", "uom":
			return UnitRole
		}
	}
	return ""
}

// NamesTime says whether a recorded name is one for the time.
func NamesTime(recorded string) bool {
	return slices.ContainsFunc(split(recorded), func(w string) bool { return slices.Contains(timely, w) })
}

// NamesMilliseconds says whether a recorded name states milliseconds.
func NamesMilliseconds(recorded string) bool {
	return slices.ContainsFunc(split(recorded), func(w string) bool { return w == "ms" || w == "msec" || w == "millis" })
}
