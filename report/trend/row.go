package trend

import "time"

// Kind is what a row tells of.
type Kind string

// The kinds of row and of series.
const (
	CheckKind   Kind = "check"   // one configuration check on one takeoff attempt
	RejectKind  Kind = "reject"  // whether one takeoff attempt was given up
	MeasureKind Kind = "measure" // a measured value of one attempt, no verdict
)

// Review is what a person decided about an event.
type Review string

// The reviews. Nuisance and data fault are no events of the rate; an event
// that nobody has looked at yet is counted apart.
const (
	Unreviewed Review = ""
	Valid      Review = "valid"
	Nuisance   Review = "nuisance"
	DataFault  Review = "data fault"
)

// Row is one check, the reject or one measure of one takeoff attempt. A
// recording that was processed again must come once, under its latest result:
// a row counts each time that it comes.
type Row struct {
	Kind Kind
	// Date is the day of the flight in UTC; the zero time when it is not
	// known, and then the row is counted as undated and no more.
	Date time.Time
	// Where it was; "" is not known, and such a row is in no group. Type is the
	// name of the profile where a recording does not tell its type.
	Type, Tail, Aerodrome, Runway string
	// Check is the name of the check or of the measure; not read for rejects.
	Check string
	Unit  string // of Value
	// Told says that the check could be told, or that the outcome of the
	// attempt is known; Event that it is out of limits, or was given up.
	Told, Event bool
	// Class is the class of a reject: before the roll, low-speed, high-speed.
	Class    string
	Severity string // of an event
	Review   Review // of an event
	// Life says that every state on which the check depends was seen in the
	// recording: a parameter that never changes cannot clear anybody.
	Life bool
	// Value is the margin of a check or what was measured, NaN when neither
	// exists.
	Value float64
}

// place is the group of the row in one way of grouping, "" when not known. A
// runway is named with its aerodrome, for every aerodrome may have an 09.
func (r *Row) place(by By) string {
	switch by {
	case ByType:
		return r.Type
	case ByBase:
		return r.Aerodrome
	case ByTail:
		return r.Tail
	default:
		if r.Aerodrome == "" || r.Runway == "" {
			return ""
		}
		return r.Aerodrome + " " + r.Runway
	}
}

// By is a way of grouping.
type By string

// The ways of grouping.
const (
	ByType   By = "type"
	ByBase   By = "base"
	ByRunway By = "runway"
	ByTail   By = "tail"
)

// Ways lists them in the order of pages.
func Ways() []By { return []By{ByType, ByBase, ByRunway, ByTail} }
