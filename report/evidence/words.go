package evidence

import (
	"bytes"
	"strings"
	"time"

	"rollonset/report/archive"
)

// Words are the texts that must not be in what is given to others: tails,
// flight numbers, dates, places, names of files, hashes. The zero value is
// ready to use.
type Words struct{ list []string }

// shortest is the fewest letters of a word that is looked for; a runway "04"
// is in every number.
const shortest = 4

// Add adds all that names the flight of a summary, in the spellings in which
// this program or a recorder writes them.
func (w *Words) Add(s archive.Summary) {
	f := s.Flight
	w.add(f.Tail, f.Flight, f.Aerodrome, f.Folder, s.Recording.File, s.Recording.SHA256, s.Key)
	stem, _, _ := strings.Cut(s.Recording.File, ".")
	w.add(stem)
	if day, err := time.Parse(time.DateOnly, f.Date); err == nil {
		for _, layout := range []string{time.DateOnly, "20060102", "2006/01/02", "2 January 2006", "02.01.2006", "02/01/2006"} {
			w.add(day.Format(layout))
		}
	}
	if start, err := time.Parse(time.RFC3339Nano, f.StartUTC); err == nil {
		w.add(start.Format("15:04:05"), start.Format("20060102T150405"))
	}
	if f.Plan != nil {
		w.add(f.Plan.List, f.Plan.Entry)
	}
	if s.Clip != nil {
		w.add(s.Clip.SHA256)
	}
	w.add(s.Profile.SHA256)
	for i := range s.Attempts {
		w.add(s.Attempts[i].ID)
	}
}

func (w *Words) add(words ...string) {
	for _, word := range words {
		// Digits alone are in any table of numbers unless there are many.
		if len(word) < shortest || len(word) < 8 && strings.Trim(word, "0123456789") == "" {
			continue
		}
		w.list = append(w.list, word)
	}
}

// In lists the words that the bytes hold, each once, in any case of letters.
func (w *Words) In(b []byte) []string {
	b = bytes.ToLower(b)
	var found []string
	seen := map[string]bool{}
	for _, word := range w.list {
		low := strings.ToLower(word)
		if seen[low] {
			continue
		}
		seen[low] = true
		if bytes.Contains(b, []byte(low)) {
			found = append(found, word)
		}
	}
	return found
}
