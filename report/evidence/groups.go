package evidence

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"rollonset/report/archive"
)

// Other is the group of what is too rare to be named.
const Other = "other"

// Smallest is the default size below which a group is merged into Other. A
// least cell count of five is common practice in published statistics, no
// published source for flight data.
const Smallest = 5

// Groups says which months, types, places and aircraft of an archive have
// enough flights to be named. Each is counted inside the one before it, in
// the order month, type, aerodrome, runway, because a reader sees them all at
// once: five flights of a type and five at a place may be one flight of that
// type at that place. Aircraft are counted inside month and type. The zero
// value names nothing.
type Groups struct{ kept map[string]bool }

// group is a path from month to runway, or to a tail, as one text.
func group(parts ...string) string { return strings.Join(parts, "\x00") }

// groupsOf lists the paths that a flight counts in, the outer ones first. The
// type is told apart as finely as the profile tells it, because the profile's
// hash and limits go with every flight.
func groupsOf(s *archive.Summary) [5]string {
	f, m := s.Flight, Month(s.Flight.Date)
	kind := strings.Join([]string{f.Type, s.Profile.Name, s.Profile.Version, s.Profile.SHA256}, "\x01")
	return [5]string{
		group("m", m), group("m", m, kind), group("m", m, kind, "a", f.Aerodrome),
		group("m", m, kind, "a", f.Aerodrome, f.Runway), group("m", m, kind, "t", f.Tail),
	}
}

// typeOf is the type of a flight, that of its profile when none is recorded.
func typeOf(s *archive.Summary) string {
	if s.Flight.Type != "" {
		return s.Flight.Type
	}
	return s.Profile.Name
}

// Census counts the flights of an archive for Groups.
type Census struct{ counts map[string]int }

// Add counts a flight.
func (c *Census) Add(s *archive.Summary) {
	if c.counts == nil {
		c.counts = map[string]int{}
	}
	for _, g := range groupsOf(s) {
		c.counts[g]++
	}
}

// Groups decides with the least size k; below 1 is 1.
func (c *Census) Groups(k int) *Groups {
	families := map[string][]string{} // siblings by what is above them
	for g := range c.counts {
		above := g[:strings.LastIndexByte(g, 0)]
		families[above] = append(families[above], g)
	}
	g := &Groups{map[string]bool{}}
	for _, family := range families {
		for _, name := range c.largeEnough(family, max(k, 1)) {
			g.kept[name] = true
		}
	}
	return g
}

// largeEnough leaves out the groups below k. What is left out must together
// have k flights too, else it could be told by subtraction from a total that
// somebody knows; so the next smallest join it until it has.
func (c *Census) largeEnough(family []string, k int) []string {
	slices.SortFunc(family, func(a, b string) int {
		return cmp.Or(cmp.Compare(c.counts[a], c.counts[b]), strings.Compare(a, b))
	})
	merged := 0
	for i, name := range family {
		if n := c.counts[name]; n >= k && (merged == 0 || merged >= k) {
			return family[i:]
		}
		merged += c.counts[name]
	}
	return nil
}

// Named is a flight's group names: what is too rare, and all that is counted
// inside of it, is Other; what is not known stays "". A month that is too rare
// is "".
type Named struct {
	Month, Type, Aerodrome, Runway, Tail string
}

// Of names the groups of a flight.
func (g *Groups) Of(s *archive.Summary) Named {
	f, paths := s.Flight, groupsOf(s)
	var kept [5]bool
	for i, p := range paths {
		kept[i] = g != nil && g.kept[p]
	}
	// Inside of what is merged nothing is named.
	kept[1] = kept[1] && kept[0]
	kept[2] = kept[2] && kept[1]
	kept[3] = kept[3] && kept[2]
	kept[4] = kept[4] && kept[1]
	n := Named{Month: Month(f.Date)}
	if !kept[0] {
		n.Month = ""
	}
	for i, part := range []struct {
		to   *string
		text string
	}{1: {&n.Type, typeOf(s)}, 2: {&n.Aerodrome, f.Aerodrome}, 3: {&n.Runway, f.Runway}, 4: {&n.Tail, f.Tail}} {
		if part.to == nil || part.text == "" {
			continue
		}
		*part.to = Other
		if kept[i] {
			*part.to = part.text
		}
	}
	return n
}

// Month is the month of a date, "2031-03", of one that is only a month the
// same, and "" of anything else.
func Month(date string) string {
	for _, layout := range []string{time.DateOnly, monthOnly} {
		if t, err := time.Parse(layout, date); err == nil {
			return t.Format(monthOnly)
		}
	}
	return ""
}

const monthOnly = "2006-01"
