package archive

import (
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Found is what a text named: a flight, and one of its attempts when the text
// named an attempt.
type Found struct {
	Summary Summary
	Attempt *AttemptSummary // nil: the flight as a whole
}

// fewestDigits is the shortest start of a key that Find takes: fewer digits
// would name several flights in any archive of size.
const fewestDigits = 6

// shown is how many candidates a message lists.
const shown = 5

// Find resolves what a person typed. In this order, the first that fits:
//
//	a flight folder, or a file in it, as a path from here, inside the
//	archive or below flights/;
//	an attempt ID, or the start of a key of at least 6 digits, with the
//	number of an attempt after a hyphen or without;
//	the name of a flight folder, or a part of it: "ZZ-Q17-MA12";
//	the base name of the recording. This alone reads every summary.
//
// Upper and lower case are alike where that leaves one flight.
//
// A text that fits several flights is an error that lists them, one that fits
// none an error that names the nearest.
func (a *Archive) Find(text string) (Found, error) {
	if folder := a.folderAt(text); folder != "" {
		return a.found(folder, 0)
	}
	// Keys are written in lower case; a person may not.
	folders, number, err := a.byKey(strings.ToLower(text))
	if err != nil {
		return Found{}, err
	}
	if len(folders) == 0 {
		if folders, err = a.byName(text); err != nil {
			return Found{}, err
		}
	}
	if len(folders) == 0 {
		if folders, err = a.byFile(text); err != nil {
			return Found{}, err
		}
	}
	switch len(folders) {
	case 0:
		return Found{}, a.nothing(text)
	case 1:
		return a.found(folders[0], number)
	}
	return Found{}, fmt.Errorf("%q fits %d flights: %s; name one of them", text, len(folders), some(folders))
}

// found reads the flight and picks the attempt; number 0 is the flight.
func (a *Archive) found(folder string, number int) (Found, error) {
	s, err := a.Read(folder)
	if err != nil || number == 0 {
		return Found{Summary: s}, err
	}
	var ids []string
	for i := range s.Attempts {
		if s.Attempts[i].Number == number {
			return Found{Summary: s, Attempt: &s.Attempts[i]}, nil
		}
		ids = append(ids, s.Attempts[i].ID)
	}
	if len(ids) == 0 {
		return Found{}, fmt.Errorf("%s has no attempt %d; it has none at all", folder, number)
	}
	return Found{}, fmt.Errorf("%s has no attempt %d; it has %s", folder, number, some(ids))
}

// folderAt is the flight folder that a path leads to, "" when it leads to
// none with a summary. Links are not followed.
func (a *Archive) folderAt(text string) string {
	tries := []string{filepath.ToSlash(filepath.Clean(text)), path.Join(flightsDir, filepath.ToSlash(text))}
	root, errRoot := filepath.Abs(a.dir)
	here, errHere := filepath.Abs(text)
	if rel, err := filepath.Rel(root, here); errRoot == nil && errHere == nil && err == nil {
		tries = append(tries, filepath.ToSlash(rel))
	}
	for _, folder := range tries {
		for _, folder := range []string{folder, path.Dir(folder)} {
			if !isFlightFolder(folder) {
				continue
			}
			if _, err := os.Stat(a.Path(path.Join(folder, SummaryFile))); err == nil {
				return folder
			}
		}
	}
	return ""
}

// byKey finds flights by the start of their key in the lookup of Done, or in
// the names of the folders when the lookup has none, and splits off the
// number of an attempt.
func (a *Archive) byKey(text string) (folders []string, number int, err error) {
	start, rest, numbered := strings.Cut(text, "-")
	if len(start) < fewestDigits || len(start) > keyDigits || strings.Trim(start, "0123456789abcdef") != "" {
		return nil, 0, nil
	}
	if numbered {
		if number, err = strconv.Atoi(rest); err != nil || number < 1 {
			return nil, 0, nil
		}
	}
	entries, err := os.ReadDir(a.Path(path.Join(keysDir, start[:2])))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, 0, fmt.Errorf("look up %q: %w", text, err)
	}
	for _, e := range entries {
		if !isKey(e.Name()) || !strings.HasPrefix(e.Name(), start) {
			continue
		}
		folder, ok, err := a.Done(e.Name())
		if err != nil {
			return nil, 0, err
		}
		if ok {
			folders = append(folders, folder)
		}
	}
	if len(folders) > 0 {
		return folders, number, nil
	}
	folders, err = a.byShortKey(start)
	return folders, number, err
}

// byShortKey looks for the digits of the key that end the names of folders,
// and asks the summary for the others.
func (a *Archive) byShortKey(start string) (folders []string, err error) {
	for folder, err := range a.Folders() {
		if err != nil {
			return nil, err
		}
		short := folder[strings.LastIndexByte(folder, '-')+1:]
		if !strings.HasPrefix(short, start[:min(len(start), folderDigits)]) {
			continue
		}
		if s, err := a.Read(folder); err == nil && strings.HasPrefix(s.Key, start) {
			folders = append(folders, folder)
		}
	}
	return folders, nil
}

func (a *Archive) byName(text string) (folders []string, err error) {
	text = strings.Trim(filepath.ToSlash(text), "/")
	if text == "" {
		return nil, nil
	}
	for folder, err := range a.Folders() {
		if err != nil {
			return nil, err
		}
		if path.Base(folder) == text {
			return []string{folder}, nil
		}
		if strings.Contains(strings.ToLower(path.Base(folder)), strings.ToLower(text)) {
			folders = append(folders, folder)
		}
	}
	return folders, nil
}

// byFile compares the base name of the recording. A summary that cannot be
// read is passed over: it names no file.
func (a *Archive) byFile(text string) (folders []string, err error) {
	base := fileBase(text)
	if base == "" {
		return nil, nil
	}
	var alike []string
	for s, err := range a.Summaries() {
		switch {
		case err != nil:
		case s.Recording.File == base:
			folders = append(folders, s.Flight.Folder)
		case strings.EqualFold(s.Recording.File, base):
			alike = append(alike, s.Flight.Folder)
		}
	}
	if len(folders) == 0 {
		return alike, nil
	}
	return folders, nil
}

// nothing is the error for a text that names no flight.
func (a *Archive) nothing(text string) error {
	var names []string
	for folder, err := range a.Folders() {
		if err != nil {
			return err
		}
		names = append(names, path.Base(folder))
	}
	return fmt.Errorf("nothing in %s is named %q; %s", a.dir, text, nearest(text, names))
}

// nearest proposes the names that differ from the text in the fewest letters.
func nearest(text string, names []string) string {
	if len(names) == 0 {
		return "there is none at all"
	}
	distance := make(map[string]int, len(names))
	for _, name := range names {
		// A person writes the first part of a folder's name, seldom the whole.
		wrong, right := strings.ToLower(text), strings.ToLower(name)
		distance[name] = min(edits(wrong, right), edits(wrong, right[:min(len(wrong), len(right))]))
	}
	slices.SortFunc(names, func(x, y string) int {
		if d := distance[x] - distance[y]; d != 0 {
			return d
		}
		return strings.Compare(x, y)
	})
	return "nearest: " + strings.Join(names[:min(3, len(names))], ", ")
}

// longest bounds the work of edits; no name of the archive is longer.
const longest = 2 * elementLength

// edits is how many letters must be put in, left out or changed to make b of
// a, row by row of the usual table.
func edits(a, b string) int {
	a, b = a[:min(len(a), longest)], b[:min(len(b), longest)]
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		corner := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := corner
			if a[i] != b[j] {
				change++
			}
			corner = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

func some(names []string) string {
	if len(names) <= shown {
		return strings.Join(names, ", ")
	}
	return strings.Join(names[:shown], ", ") + fmt.Sprintf(" and %d more", len(names)-shown)
}
