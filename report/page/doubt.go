package page

import (
	"cmp"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"rollonset/report/archive"
)

// Doubt is data of one recording that was taken out of use because it
// contradicts itself or other data.
type Doubt struct {
	Parameter string
	Why       string
	// Remedy is what to look at, with the profile's file and line where the
	// parameter is mapped.
	Remedy string
}

// doubted is how a note of the recording says it: names, reason, remedy.
var doubted = regexp.MustCompile(`^(.+?) (?:is|are) not believed: (.+); ([^;]+)$`)

// Doubts lists the data of a recording that is not believed, in the order of
// its notes, each parameter once: the first note on it is the one with the
// remedy, a later one tells what was read in its place.
func Doubts(s *archive.Summary) []Doubt {
	var out []Doubt
	for _, note := range s.Notes {
		m := doubted.FindStringSubmatch(note)
		if m == nil {
			continue
		}
		remedy := m[3]
		if file := path.Base(strings.ReplaceAll(s.Profile.File, `\`, "/")); s.Profile.File != "" {
			remedy = strings.ReplaceAll(remedy, "of the profile)", "of "+file+")")
		}
		for _, p := range strings.Split(m[1], ", ") {
			if !slices.ContainsFunc(out, func(d Doubt) bool { return d.Parameter == p }) {
				out = append(out, Doubt{Parameter: p, Why: m[2], Remedy: remedy})
			}
		}
	}
	return out
}

// distrust is data that is not believed on one aircraft for one remedy. Its
// reason may carry a figure that is another on every flight, so it is no part
// of what rows are told apart by.
type distrust struct{ tail, parameter, remedy string }

// doubtful are the recordings of a distrust.
type doubtful struct {
	n      int
	why    string // of the first
	others bool   // another reason on a later one
}

func (n *night) addDoubts(s *archive.Summary) {
	list := Doubts(s)
	if len(list) > 0 {
		n.doubtedFlights++
	}
	for _, d := range list {
		key := distrust{nameOf(*s), d.Parameter, d.Remedy}
		if n.doubts == nil {
			n.doubts = map[distrust]*doubtful{}
		}
		at := n.doubts[key]
		if at == nil {
			at = &doubtful{why: d.Why}
			n.doubts[key] = at
		}
		at.n++
		at.others = at.others || at.why != d.Why
	}
}

// doubtTable is what was taken out of use on the whole, near the top of the
// page: a unit that is wrong in a profile takes a check from a whole fleet.
func (n *night) doubtTable() table {
	t := table{ID: "doubted", Kind: "doubted", Narrow: flows, Caption: "Data not believed", Head: []head{
		{Text: "Tail"}, {Text: "Parameter"}, {Text: "Recordings", Num: true}, {Text: "Why"}, {Text: "What to do"},
	}}
	keys := make([]distrust, 0, len(n.doubts))
	for k := range n.doubts {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b distrust) int {
		return cmp.Or(cmp.Compare(a.tail, b.tail), cmp.Compare(a.parameter, b.parameter), cmp.Compare(a.remedy, b.remedy))
	})
	for _, k := range keys {
		d := n.doubts[k]
		why := d.why
		if d.others {
			why = "for example: " + why
		}
		t.Rows = append(t.Rows, []cell{text(k.tail), rowHead(k.parameter), num(strconv.Itoa(d.n)), text(why), text(k.remedy)})
	}
	return t
}
