package archive

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"path"
	"strconv"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
)

// How much of a key is used where a whole one is too long to read.
const (
	idDigits     = 12 // of an attempt ID
	folderDigits = 8  // of a flight folder
)

// Key identifies a result: the SHA-256, in hex, over the hash of the
// recording, the hash of the profile (both hex) and the detection version.
// Each part is preceded by its length as 8 bytes, big end first, so that no
// two triples run together to the same text.
func Key(recording, profile, detection string) string {
	h := sha256.New()
	for _, part := range []string{recording, profile, detection} {
		var length [8]byte
		binary.BigEndian.PutUint64(length[:], uint64(len(part)))
		h.Write(length[:])
		h.Write([]byte(part))
	}
	return hex.EncodeToString(h.Sum(nil))
}

// AttemptID is the name of an attempt in commands: the first 12 digits of the
// key, a hyphen and the number of the attempt.
func AttemptID(key string, number int) string {
	return key[:min(idDigits, len(key))] + "-" + strconv.Itoa(number)
}

// folderOf is the flight folder of a recording, relative to the archive, with
// slashes: flights/2031/03/07/<tail>-<flight>-<HHMM>-<key8>. What is not
// known is left out; with neither tail nor flight the name of the file stands
// in. Without a date it is flights/undated/<file stem>-<key8>. Every part
// comes from outside and is made harmless by element.
func folderOf(r *flightdata.Recording, key string) string {
	day, dated := dayOf(r)
	stem := fileStem(r.Source.Path)
	short := key[:min(folderDigits, len(key))]
	if !dated {
		return path.Join(flightsDir, undatedDir, element(stem+"-", short))
	}
	name := ""
	for _, part := range []string{r.Identity.Tail, r.Identity.Flight} {
		if part != "" {
			name += clean(part, partLength) + "-"
		}
	}
	if name == "" {
		name = clean(stem, partLength) + "-"
	}
	if !r.Start.IsZero() {
		name += r.Start.UTC().Format("1504") + "-"
	}
	return path.Join(flightsDir, day.Format("2006/01/02"), element(name, short))
}

// dayOf is the day that the flight is filed under: the date of its identity
// or, without a usable one, of the start.
func dayOf(r *flightdata.Recording) (time.Time, bool) {
	if day, err := time.Parse(time.DateOnly, r.Identity.Date); err == nil {
		return day, true
	}
	return r.Start.UTC(), !r.Start.IsZero() && fourDigits(r.Start)
}

// fourDigits says whether the year can be written in RFC 3339. A damaged
// clock can give any year; such a date is told to nobody.
func fourDigits(t time.Time) bool { return t.UTC().Year() >= 1 && t.UTC().Year() <= 9999 }

// fileBase is the last element of a path of any system; fileStem the same up
// to its first dot, so that "a.csv.gz" gives "a".
func fileBase(p string) string { return p[strings.LastIndexAny(p, `/\`)+1:] }

func fileStem(p string) string {
	stem, _, _ := strings.Cut(strings.TrimLeft(fileBase(p), "."), ".")
	return stem
}

// Lengths of names in bytes. 80 for a whole element leaves room for the
// folders above it within the 260 characters that older Windows allows.
const (
	elementLength = 80
	partLength    = 30
)

// clean keeps letters of ASCII, digits, ".", "_" and "-" of a name and puts
// "_" for every other character, so that no separator, control character or
// letter that two systems spell differently gets into a path. The result has
// at most most bytes and may be empty.
func clean(name string, most int) string {
	var b strings.Builder
	for _, r := range name {
		if b.Len() == most {
			break
		}
		if !plain(r) {
			r = '_'
		}
		b.WriteRune(r)
	}
	return b.String()
}

func plain(r rune) bool {
	return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("._-", r)
}

// element makes one harmless element of a path from a name and an ending that
// is kept whole. It can be no "." or "..", no hidden file, no flag of a
// command, no device of Windows, and has no trailing dot, which Windows drops.
func element(name, ending string) string {
	s := clean(name, elementLength-len(ending)-1) + clean(ending, elementLength)
	s = strings.TrimRight(s, ".")
	if s == "" || strings.ContainsRune(".-", rune(s[0])) || device(s) {
		s = "_" + s
	}
	return s
}

// device says whether Windows takes the name for a device, whatever follows
// its first dot. Source: Microsoft, "Naming Files, Paths, and Namespaces".
func device(name string) bool {
	base, _, _ := strings.Cut(strings.ToUpper(name), ".")
	switch base {
	case "CON", "PRN", "AUX", "NUL":
		return true
	}
	return len(base) == 4 && (strings.HasPrefix(base, "COM") || strings.HasPrefix(base, "LPT")) && base[3] >= '0' && base[3] <= '9'
}

// checkElement refuses a name that is no harmless element as it stands: the
// names of runs and profiles, which must be found again under the same name.
func checkElement(what, name string) error {
	if name == "" || element(name, "") != name {
		return fmt.Errorf("%s %q cannot be a file name; use letters, digits, '.', '_' and '-', at most %d of them, and no device name", what, name, elementLength-1)
	}
	return nil
}
