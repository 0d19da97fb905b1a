package ingest

import (
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// known is what is known of a recording before it is read: from its file
// name by the pattern of a profile, and from the flight list.
type known struct {
	flightdata.Identity
	start time.Time // zero when nothing names it
	list  *FlightList
	notes []flightdata.Note
	// byFile are the parts that the file's metadata name.
	byFile map[string]bool
}

// identify reads the file name by the first profile whose pattern fits and
// whose tails hold the tail it finds.
func identify(path string, profiles []*profile.Profile, list *FlightList) known {
	k := known{list: list}
	stem := stemOf(path)
	for _, p := range profiles {
		id, start, ok := readName(p.File.Pattern, stem)
		if !ok || id.Tail != "" && !hasTail(p, id.Tail) {
			continue
		}
		k.Identity, k.start = id, start
		k.From = "file name"
		break
	}
	if named := list.byFile(filepath.Base(path)); len(named) == 1 && k.Tail == "" {
		k.Tail = named[0].Tail
		k.From = "flight list"
	}
	return k
}

// stemOf is the file name without its known extensions.
func stemOf(path string) string {
	stem := filepath.Base(path)
	for {
		switch ext := strings.ToLower(filepath.Ext(stem)); ext {
		case ".gz", ".zst", ".csv", ".parquet", ".arrow", ".arrows", ".txt", ".tsv", ".feather":
			stem = stem[:len(stem)-len(ext)]
		default:
			return stem
		}
	}
}

// placeholders of a file-name pattern and what they match.
var placeholders = map[string]string{
	"{tail}": `(?P<tail>[A-Za-z0-9-]+)`, "{type}": `(?P<type>[A-Za-z0-9-]+)`,
	"{flight}": `(?P<flight>[A-Za-z0-9]+)`, "{date}": `(?P<date>\d{8})`, "{time}": `(?P<time>\d{4}|\d{6})`,
	"{aerodrome}": `(?P<aerodrome>[A-Za-z0-9]+)`, "{runway}": `(?P<runway>[0-9]{1,2}[A-Za-z]?)`, "{any}": `.*`,
}

var placeholder = regexp.MustCompile(`\{[a-z]+\}`)

// nameExpression turns a pattern into a regular expression over the stem.
func nameExpression(pattern string) *regexp.Regexp {
	var b strings.Builder
	b.WriteString("^")
	last := 0
	for _, at := range placeholder.FindAllStringIndex(pattern, -1) {
		b.WriteString(regexp.QuoteMeta(pattern[last:at[0]]))
		b.WriteString(placeholders[pattern[at[0]:at[1]]])
		last = at[1]
	}
	b.WriteString(regexp.QuoteMeta(pattern[last:]) + "$")
	return regexp.MustCompile(b.String())
}

func readName(pattern, stem string) (flightdata.Identity, time.Time, bool) {
	var id flightdata.Identity
	var start time.Time
	if pattern == "" {
		return id, start, false
	}
	re := nameExpression(pattern)
	m := re.FindStringSubmatch(stem)
	if m == nil {
		return id, start, false
	}
	part := func(name string) string {
		if i := re.SubexpIndex(name); i >= 0 {
			return m[i]
		}
		return ""
	}
	id = flightdata.Identity{
		Tail: part("tail"), Type: part("type"), Flight: part("flight"),
		Aerodrome: part("aerodrome"), Runway: part("runway"),
	}
	if day, err := time.Parse("20060102", part("date")); err == nil {
		id.Date = day.Format(time.DateOnly)
		if clock := part("time"); clock != "" {
			layout := "1504"
			if len(clock) == 6 {
				layout = "150405"
			}
			if t, err := time.Parse(layout, clock); err == nil {
				start = day.Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second)
			}
		}
	}
	return id, start, true
}
