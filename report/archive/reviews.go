package archive

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"
)

// ReviewsFile holds what persons decided about events: one line of JSON for
// each decision, only ever appended. Every line carries the SHA-256 of the
// line before it and, as its last field, of its own bytes in front of that
// field, so that a changed, lost or moved line is found. The last decision
// about an event counts.
const ReviewsFile = "reviews.jsonl"

// The decisions.
const (
	ValidEvent    = "valid"
	NuisanceEvent = "nuisance"
	DataFault     = "data fault"
)

// Decisions lists them.
func Decisions() []string { return []string{ValidEvent, NuisanceEvent, DataFault} }

// reviewSchema is the version of the layout of a line.
const reviewSchema = 1

// Review is a line of reviews.jsonl. The event is told by the aircraft, the
// instant and the check, so that a decision outlives the profile and the
// version under which the event was found; Event is its name at that time.
type Review struct {
	Schema   int    `json:"schema"`
	Time     string `json:"time_utc"` // of the decision, RFC 3339
	Decision string `json:"decision"` // "" in a line that is a note
	Reason   string `json:"reason"`
	Role     string `json:"role"` // of who decided, not a name
	Note     string `json:"note"` // what became of a line that was cut off
	Event    string `json:"event"`
	Kind     string `json:"kind"`
	Check    string `json:"check"`
	Severity string `json:"severity"`
	EventPlace
	Previous string `json:"previous_sha256"` // of nothing for the first line
	SHA256   string `json:"sha256"`
}

// EventPlace is where an event happened, apart from what judged it.
type EventPlace struct {
	Tail      string  `json:"tail"` // "" is not known
	Recording string  `json:"recording_sha256"`
	At        float64 `json:"at_s"`   // onset, or else thrust advance, from the first sample
	UTC       string  `json:"at_utc"` // "" when the recording has no date
}

// ReviewHead is how far the chain went: its lines and the hash of the last.
type ReviewHead struct {
	Lines  int    `json:"lines"`
	SHA256 string `json:"sha256"`
}

// Reviews are the reviews of an archive as they were read.
type Reviews struct {
	Lines []Review // the decisions, in the order in which they were made
	Head  ReviewHead
	// Torn says that the last line was cut off when it was written. Broken
	// lists what is wrong with the chain; lines that it names count for nothing.
	Torn   bool
	Broken []string
	// Notes tell of lines that were set aside.
	Notes []string

	hashes  []string // of the lines, in order
	byTail  map[string][]int
	bySHA   map[string][]int
	cut     bool   // the file ends without a line end
	rawTail string // what stands behind the last line end
}

// Reviews reads the reviews; an archive without any has none. The error is
// that of reading; damage is told in Broken.
func (a *Archive) Reviews() (*Reviews, error) {
	text, err := os.ReadFile(a.Path(ReviewsFile))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read reviews: %w", err)
	}
	return ParseReviews(text), nil
}

// Whole is an error that says what is wrong with the chain, nil when nothing
// is. Whoever counts reviews or adds to them asks first.
func (r *Reviews) Whole() error {
	if len(r.Broken) == 0 {
		return nil
	}
	return fmt.Errorf("%s %s; restore the file from a copy", ReviewsFile, strings.Join(r.Broken, "; "))
}

// AddReviews appends decisions to the chain, in one write that is on the disk
// when it returns. The caller holds the lock of the reviews and gives Time,
// Decision, Reason, Role and the event; the rest is filled in. What a killed
// writer left of a line stays in the file, and a note that sets it aside
// follows it.
func (a *Archive) AddReviews(entries []Review) error {
	was, err := a.Reviews()
	if err != nil {
		return err
	}
	if err := was.Whole(); err != nil {
		return err
	}
	text, err := was.next(entries)
	if err != nil || len(text) == 0 {
		return err
	}
	file := a.Path(ReviewsFile)
	f, err := os.OpenFile(file, os.O_APPEND|os.O_CREATE|os.O_WRONLY, fileMode)
	if err != nil {
		return fmt.Errorf("write reviews: %w", err)
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	return syncFolder(filepath.Dir(file))
}

// next makes the bytes that go behind the file.
func (r *Reviews) next(entries []Review) ([]byte, error) {
	var out bytes.Buffer
	previous, number := r.Head.SHA256, r.Head.Lines
	if r.cut {
		out.WriteByte('\n')
	}
	if r.Torn {
		previous, number = HashOf([]byte(r.rawTail)), number+1
		entries = append([]Review{{Time: entries[0].Time, Note: fmt.Sprintf("line %d was cut off when it was written and counts for nothing", number)}}, entries...)
	}
	for _, e := range entries {
		if e.Note == "" {
			if err := checkReview(&e); err != nil {
				return nil, err
			}
		}
		e.Schema, e.Previous = reviewSchema, previous
		line, err := reviewLine(e)
		if err != nil {
			return nil, err
		}
		previous = HashOf(line)
		out.Write(line)
		out.WriteByte('\n')
	}
	return out.Bytes(), nil
}

// longestText bounds a reason or a role, in bytes: a line is a remark, not a
// report.
const longestText = 2000

func checkReview(e *Review) error {
	switch {
	case !slices.Contains(Decisions(), e.Decision):
		return fmt.Errorf("review of %s: %q is no decision; choose %s", e.Event, e.Decision, strings.Join(Decisions(), ", "))
	case strings.TrimSpace(e.Reason) == "":
		return fmt.Errorf("review of %s: a reason is missing; say in a few words why", e.Event)
	case len(e.Reason) > longestText || len(e.Role) > longestText:
		return fmt.Errorf("review of %s: the reason or the role is longer than %d bytes; shorten it", e.Event, longestText)
	case !utf8.ValidString(e.Reason) || !utf8.ValidString(e.Role):
		return fmt.Errorf("review of %s: the reason or the role is not UTF-8 text; save the worklist as UTF-8", e.Event)
	}
	return nil
}

// lineSeal stands around the hash at the end of a line.
var lineSeal = [2]string{`,"sha256":"`, `"}`}

// reviewLine is a review as its line, without the line end.
func reviewLine(e Review) ([]byte, error) {
	e.SHA256 = ""
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(e); err != nil {
		return nil, fmt.Errorf("review: %w", err)
	}
	body, ok := bytes.CutSuffix(bytes.TrimSuffix(text.Bytes(), []byte("\n")), []byte(lineSeal[0]+lineSeal[1]))
	if !ok {
		return nil, errors.New("review: the hash is not the last field of the line")
	}
	return append(body, lineSeal[0]+HashOf(body)+lineSeal[1]...), nil
}
