package ingest

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
)

// which finds out whose recording a file is, and with that its profile: by the
// file name and the flight list, by the metadata of the file, by the column of
// the tail, and last by the recorded names alone. The notes are with known.
func which(path string, f *table.File, profiles []*profile.Profile, opt Options) (*profile.Profile, known, error) {
	k := identify(path, profiles, opt.Flights)
	k.fromMetadata(f.Metadata(), profiles)
	// The column goes before the file name too: limits belong to a tail.
	if !k.byFile["tail"] {
		tail, err := tailInColumn(f, profiles)
		if err != nil {
			return nil, k, err
		}
		k.say("tail", tail, &k.Tail, "column")
	}
	prof, notes, err := Choose(path, f.Columns(), profiles, k.Tail)
	if err != nil {
		return nil, k, err
	}
	k.notes = append(k.notes, notes...)
	return prof, k, nil
}

// from adds where a part of the identity came from.
func (k *known) from(what string) {
	switch {
	case k.From == "":
		k.From = what
	case !slices.Contains(strings.Split(k.From, ", "), what):
		k.From += ", " + what
	}
}

// fromMetadata reads the identity off the file's own metadata, under the keys
// of the first profile that finds the tail there, or else any part. What the
// file says itself goes before its name.
func (k *known) fromMetadata(meta map[string]string, profiles []*profile.Profile) {
	if len(meta) == 0 {
		return
	}
	k.byFile = map[string]bool{}
	for _, p := range profiles {
		tail := firstOf(meta, p.Identity.Tail)
		if tail == "" && len(p.Identity.Tail) > 0 || tail != "" && !hasTail(p, tail) {
			continue
		}
		parts := []struct {
			name string
			keys []string
			to   *string
		}{
			{"tail", p.Identity.Tail, &k.Tail},
			{"type", p.Identity.Type, &k.Type},
			{"flight", p.Identity.Flight, &k.Flight},
			{"date", p.Identity.Date, &k.Date},
			{"aerodrome", p.Identity.Aerodrome, &k.Aerodrome},
			{"runway", p.Identity.Runway, &k.Runway},
		}
		for _, part := range parts {
			if v := firstOf(meta, part.keys); v != "" {
				k.say(part.name, v, part.to, "metadata")
				k.byFile[part.name] = true
			}
		}
		return
	}
}

// say sets one part of the identity, and notes when something else is known.
func (k *known) say(part, value string, to *string, where string) {
	if part == "date" {
		value = plainDate(value)
	}
	if value == "" || value == *to {
		return
	}
	if *to != "" {
		k.notes = append(k.notes, flightdata.Note{Text: fmt.Sprintf("the %s is %s by the %s and %s by the %s: the %s is believed", part, value, where, *to, k.From, where)})
		if part == "date" {
			k.start = time.Time{}
		}
	}
	*to = value
	k.from(where)
}

// firstOf is the first of some keys that has a value.
func firstOf(meta map[string]string, keys []string) string {
	for _, key := range keys {
		if v := strings.TrimSpace(meta[key]); v != "" {
			return v
		}
	}
	return ""
}

// plainDate writes a date as 2031-05-14, "" when it is none. With strokes
// nobody can tell the day from the month.
func plainDate(s string) string {
	for _, layout := range []string{time.DateOnly, "20060102", "02.01.2006"} {
		if t, err := time.Parse(layout, s); err == nil {
			return t.Format(time.DateOnly)
		}
	}
	return ""
}

// tailInColumn reads the tail from a column that a profile names for it: one
// of that profile's tails, or else any.
func tailInColumn(f *table.File, profiles []*profile.Profile) (string, error) {
	other := ""
	seen := map[int]string{}
	for _, p := range profiles {
		for _, name := range p.Identity.Tail {
			i := slices.IndexFunc(f.Columns(), func(c table.Column) bool { return c.Name == name })
			if i < 0 {
				continue
			}
			tail, read := seen[i]
			if !read {
				data, err := f.Read([]table.Want{{Column: i, As: table.State}})
				if err != nil {
					return "", err
				}
				if words := data.Columns[0].Words; len(words) > 0 {
					tail = words[0]
				}
				seen[i] = tail
			}
			if tail != "" && hasTail(p, tail) {
				return tail, nil
			}
			other = cmp.Or(other, tail)
		}
	}
	return other, nil
}

// identityColumns asks for the columns that name the flight.
func (b *builder) identityColumns(at map[string]int, want func(column string, as table.As) int) {
	b.named = map[string]int{}
	id := b.prof.Identity
	for _, part := range []struct {
		name    string
		columns []string
	}{{"type", id.Type}, {"flight", id.Flight}, {"date", id.Date}, {"aerodrome", id.Aerodrome}, {"runway", id.Runway}, {"tail", id.Tail}} {
		for _, c := range part.columns {
			if _, ok := at[c]; ok {
				b.named[part.name] = want(c, table.State)
				break
			}
		}
	}
}

// nameFlight takes the identity out of the columns. A column that says two
// things names no flight: the file holds several.
func (b *builder) nameFlight(id *flightdata.Identity) {
	k := known{Identity: *id}
	// Metadata go first.
	for part := range b.known.byFile {
		delete(b.named, part)
	}
	for _, part := range []struct {
		name string
		to   *string
	}{{"type", &k.Type}, {"flight", &k.Flight}, {"date", &k.Date}, {"aerodrome", &k.Aerodrome}, {"runway", &k.Runway}, {"tail", &k.Tail}} {
		want, ok := b.named[part.name]
		if !ok {
			continue
		}
		c := &b.data.Columns[want]
		switch {
		case len(c.Words) > 1 && part.name != "date":
			b.note(b.file.Columns()[b.wants[want].Column].Name, "the %s is %s: the first one is taken", part.name, quoted(c.Words))
			fallthrough
		case len(c.Words) > 0:
			k.say(part.name, c.Words[0], part.to, "column")
		}
	}
	*id = k.Identity
	b.known.Identity = k.Identity
	b.notes = append(b.notes, k.notes...)
}
