package evidence

import (
	"fmt"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// LookUpsFile is the log of identity look-ups, a chain at the top of the
// archive.
const LookUpsFile = "lookups.jsonl"

// LookUp is one line of the log: that somebody asked who stands behind a
// pseudonym, when and why. Whom it turned out to be is not logged, or the log
// would be the very list that pseudonyms are there to avoid.
type LookUp struct {
	Schema    int    `json:"schema"`
	Time      string `json:"time_utc"` // RFC 3339
	Pseudonym string `json:"pseudonym"`
	Reason    string `json:"reason"`
	Key       string `json:"key"` // name of the key, see Key.Name
	archive.Link
}

// LogLookUp appends a line to the log, through to the disk; the caller holds
// the lock of the chains. It must be called before the answer is given; when it
// fails there is to be no answer.
func LogLookUp(a *archive.Archive, l LookUp) error {
	l.Schema = 1
	if err := archive.AppendChain(a, LookUpsFile, l.Time, []LookUp{l}); err != nil {
		return fmt.Errorf("log the look-up: %w; without the log there is no answer", err)
	}
	return nil
}

// Kinds are the kinds of pseudonyms that can be looked up.
var kinds = []string{"tail", "flight", "recording", "aerodrome", "runway"}

// CheckPseudonym refuses a text that no pseudonym has the form of, before it
// is logged.
func CheckPseudonym(text string) error {
	kind, digits, ok := strings.Cut(text, "-")
	if !ok || !slices.Contains(kinds, kind) || len(digits) != pseudonymDigits || strings.Trim(digits, "0123456789abcdef") != "" {
		return fmt.Errorf("%q is no pseudonym; one looks like tail-0b344c61d8db, and begins with %s", text, strings.Join(kinds, ", "))
	}
	return nil
}

// Behind lists what a pseudonym stands for among the flights of the archive:
// a tail, an aerodrome, or the flights, each once and in order; nil when none
// of them has it under this key. A flight that retention has reduced has no
// identity left to be found.
func (k *Key) Behind(a *archive.Archive, pseudonym string) ([]string, error) {
	var out []string
	add := func(text string) {
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	for s, err := range a.Summaries() {
		if err != nil {
			return nil, err
		}
		f := s.Flight
		for kind, value := range map[string]string{"tail": f.Tail, "aerodrome": f.Aerodrome, "runway": f.Aerodrome + " " + f.Runway} {
			if k.Pseudonym(kind, value) == pseudonym {
				add(value)
			}
		}
		for i := range (Cover{}).parts(&s) {
			if k.Pseudonym("flight", flightMark(f, i)) == pseudonym || k.Pseudonym("recording", recordingMark(&s, i)) == pseudonym {
				add(strings.Join([]string{f.Tail, f.Flight, f.Date, f.Folder}, " "))
			}
		}
	}
	return out, nil
}
