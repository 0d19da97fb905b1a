package profile

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v4"
)

// CSVRule is what the profile says of CSV text; what it leaves open is found
// out of each file.
type CSVRule struct {
	Delimiter byte // ',', ';' or a tab; 0 is found out
	Decimal   byte // '.' or ','; 0 is found out
}

// LongRule names the columns of a recording in which each row is one sample
// of one parameter.
type LongRule struct {
	Parameter string // holds the recorded name
	Value     string
	Unit      string // "" when there is none
}

// IdentityRule says where a recording names its flight: for each part, keys of
// its metadata or columns, in order of preference. Nothing else is read, so a
// column that could name people stays unread.
type IdentityRule struct {
	Tail, Type, Flight, Date, Aerodrome, Runway []string
}

// Names are all keys and columns, part by part.
func (i *IdentityRule) Names() []string {
	return slices.Concat(i.Tail, i.Type, i.Flight, i.Date, i.Aerodrome, i.Runway)
}

// shape reads how a recording is laid out.
func (r *reader) shape(top section, p *Profile) {
	c := r.section(top.get("csv"), "csv", "delimiter", "decimal")
	switch r.word(c.get("delimiter"), "delimiter", "", "comma", "semicolon", "tab") {
	case "comma":
		p.CSV.Delimiter = ','
	case "semicolon":
		p.CSV.Delimiter = ';'
	case "tab":
		p.CSV.Delimiter = '\t'
	}
	switch r.word(c.get("decimal"), "decimal", "", "point", "comma") {
	case "point":
		p.CSV.Decimal = '.'
	case "comma":
		p.CSV.Decimal = ','
	}
	p.Long = r.long(top, p.Time)
	r.identity(top, &p.Identity)
}

// long reads the columns of a long recording; nil when it is a wide one.
func (r *reader) long(top section, t TimeRule) *LongRule {
	n := top.get("long")
	if n == nil {
		return nil
	}
	s := r.section(n, "long", "parameter", "value", "unit")
	l := &LongRule{}
	l.Parameter, _ = r.text(s.need("parameter", "parameter: NAME"), "parameter")
	l.Value, _ = r.text(s.need("value", "value: VALUE"), "value")
	l.Unit, _ = r.text(s.get("unit"), "unit")
	r.longForms(n, t)
	seen := map[string]string{}
	for _, c := range t.Columns {
		seen[c] = "time"
	}
	for _, part := range []struct{ key, column string }{{"parameter", l.Parameter}, {"value", l.Value}, {"unit", l.Unit}} {
		if other, twice := seen[part.column]; twice && part.column != "" {
			r.fail(s.get(part.key), "give each part its own column", "long: column %q is used for the %s and for the %s", part.column, other, part.key)
		}
		seen[part.column] = part.key
	}
	return l
}

func (r *reader) identity(top section, i *IdentityRule) {
	s := r.section(top.get("identity"), "identity", "tail", "type", "flight", "date", "aerodrome", "runway")
	for _, part := range i.parts() {
		*part.names = r.texts(s.get(part.key), "identity "+part.key, true)
	}
}

// An identityPart is one part of the identity and where it is named.
type identityPart struct {
	key   string
	names *[]string
}

func (i *IdentityRule) parts() []identityPart {
	return []identityPart{
		{"tail", &i.Tail},
		{"type", &i.Type},
		{"flight", &i.Flight},
		{"date", &i.Date},
		{"aerodrome", &i.Aerodrome},
		{"runway", &i.Runway},
	}
}

// Bits is a part of a word, from the bit From to the bit To, both included;
// bit 0 is the lowest. The zero value is the whole cell: Set is false.
type Bits struct {
	Set      bool
	From, To int
}

// Of is the value of those bits in a word that is not negative.
func (b Bits) Of(word uint64) uint64 { return word >> b.From & (1<<(b.To-b.From+1) - 1) }

// String is "bit 3" or "bits 2 to 4".
func (b Bits) String() string {
	if b.From == b.To {
		return fmt.Sprintf("bit %d", b.From)
	}
	return fmt.Sprintf("bits %d to %d", b.From, b.To)
}

// highestBit is the highest of a word that a double holds exactly.
const highestBit = 52

// bits reads bit: 3 or bits: [2, 4].
func (r *reader) bits(s section, what string) Bits {
	one, several := s.get("bit"), s.get("bits")
	switch {
	case one != nil && several != nil:
		r.fail(several, "remove one", "%s has both bit and bits", what)
	case one != nil:
		b := r.whole(one, "bit", 0, 0, highestBit)
		return Bits{true, b, b}
	case several != nil:
		return r.bitRange(several)
	}
	return Bits{}
}

func (r *reader) bitRange(n *yaml.Node) Bits {
	ends := r.list(n, "bits")
	if len(ends) != 2 {
		if len(ends) > 0 && n.Kind == yaml.SequenceNode {
			r.fail(n, "write [lowest, highest]; bit 0 is the lowest of the word", "bits has %d entries", len(ends))
		}
		return Bits{}
	}
	b := Bits{true, r.whole(ends[0], "bits", 0, 0, highestBit), r.whole(ends[1], "bits", 0, 0, highestBit)}
	if b.From >= b.To {
		r.fail(n, "write [lowest, highest], or bit: for one", "bits: %d is not below %d", b.From, b.To)
		return Bits{}
	}
	return b
}
