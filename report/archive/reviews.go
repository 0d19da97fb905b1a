package archive

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// ReviewsFile is the chain of what persons decided about events, a line for
// each decision. The last decision about an event counts.
const ReviewsFile = "reviews.jsonl"

// The decisions.
const (
	ValidEvent    = "valid"
	NuisanceEvent = "nuisance"
	DataFault     = "data fault"
)

// Decisions lists them.
func Decisions() []string { return []string{ValidEvent, NuisanceEvent, DataFault} }

// Review is a line of reviews.jsonl. The event is told by the aircraft, the
// instant and the check, so that a decision outlives the profile and the
// version under which the event was found; Event is its name at that time.
type Review struct {
	Schema   int    `json:"schema"`
	Time     string `json:"time_utc"` // of the decision, RFC 3339
	Decision string `json:"decision"` // "" in a line that is a note
	Reason   string `json:"reason"`
	Role     string `json:"role"` // of who decided, not a name
	Note     string `json:"note"` // why a chain begins anew
	Event    string `json:"event"`
	Kind     string `json:"kind"`
	Check    string `json:"check"`
	Severity string `json:"severity"`
	EventPlace
	Link
}

// EventPlace is where an event happened, apart from what judged it.
type EventPlace struct {
	Tail      string  `json:"tail"` // "" is not known
	Recording string  `json:"recording_sha256"`
	At        float64 `json:"at_s"`   // onset, or else thrust advance, from the first sample
	UTC       string  `json:"at_utc"` // "" when the recording has no date
}

// Reviews are the reviews of an archive as they were read.
type Reviews struct {
	Chain
	Lines []Review // the decisions, in the order in which they were made

	byTail map[string][]int
	bySHA  map[string][]int
}

// Reviews reads the reviews; an archive without any has none. The error is
// that of reading; damage is told in Broken.
func (a *Archive) Reviews() (*Reviews, error) {
	r := newReviews()
	var err error
	r.Chain, err = ReadChain(a, ReviewsFile, r.keep)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// AddReviews appends decisions to the chain. The caller holds the lock of the
// reviews and gives Time, Decision, Reason, Role and the event; the rest is
// filled in.
func (a *Archive) AddReviews(entries []Review) error {
	if err := checkReviews(entries); err != nil {
		return err
	}
	now := ""
	for i := range entries {
		entries[i].Schema, now = chainSchema, entries[i].Time
	}
	return AppendChain(a, ReviewsFile, now, entries)
}

// RenewReviews begins the chain anew with a note of why and the decisions that
// are kept, and gives its head. The caller holds the lock of the reviews.
func (a *Archive) RenewReviews(old *Reviews, note Review, kept []Review) (ChainHead, error) {
	if err := checkReviews(kept); err != nil {
		return ChainHead{}, err
	}
	entries := append([]Review{note}, kept...)
	for i := range entries {
		entries[i].Schema, entries[i].Link = chainSchema, Link{}
	}
	return a.renewChain(&old.Chain, note.Time, anys(entries))
}

func checkReviews(entries []Review) error {
	for i := range entries {
		if err := checkReview(&entries[i]); err != nil {
			return err
		}
	}
	return nil
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
