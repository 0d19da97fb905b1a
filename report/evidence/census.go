package evidence

import (
	"path"
	"strings"

	"rollonset/report/archive"
)

// CensusOf counts the flights of an archive in the given months, "2031-03",
// nil for all. Flights filed under another month are not even read; a flight
// whose summary cannot be read is an error, because a count that is too low
// would hide nothing and one that is silently wrong proves nothing.
func CensusOf(a *archive.Archive, months []string) (*Census, error) {
	c := &Census{}
	for folder, err := range a.Folders() {
		if err != nil {
			return nil, err
		}
		if months != nil && !filedUnder(folder, months) {
			continue
		}
		s, err := a.Read(folder)
		if err != nil {
			return nil, err
		}
		c.Add(&s)
	}
	return c, nil
}

// filedUnder says whether a folder may hold a flight of one of the months.
// The date of one without a dated folder is known only to its summary.
func filedUnder(folder string, months []string) bool {
	if strings.HasPrefix(folder, "flights/undated/") {
		return true
	}
	for _, m := range months {
		if strings.HasPrefix(folder, path.Join("flights", strings.ReplaceAll(m, "-", "/"))+"/") {
			return true
		}
	}
	return false
}
