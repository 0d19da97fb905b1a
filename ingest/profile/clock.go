package profile

import (
	"slices"
	"time"

	"go.yaml.in/yaml/v4"
)

// TimeForm is how a recording writes its times.
type TimeForm string

// The forms of time.
const (
	TimeSeconds      TimeForm = "seconds"        // a number of seconds from any origin
	TimeMilliseconds TimeForm = "milliseconds"   // a number of milliseconds from any origin
	TimeSecondsOfDay TimeForm = "seconds of day" // seconds since midnight, which start again at midnight
	TimeClock        TimeForm = "HH:MM:SS"       // time of day with or without decimals, the same
	TimeRFC3339      TimeForm = "RFC 3339"       // date and time of day with offset
	TimeISO8601      TimeForm = "ISO 8601"       // the same; the offset may be missing, which means UTC
	TimeFrames       TimeForm = "frame counter"  // a whole number that counts frames
)

// timeForms are the forms in the order in which messages list them.
var timeForms = []string{
	string(TimeSeconds), string(TimeMilliseconds), string(TimeSecondsOfDay), string(TimeClock),
	string(TimeRFC3339), string(TimeISO8601), string(TimeFrames),
}

// Dated says whether a reading in this form names its day.
func (f TimeForm) Dated() bool { return f == TimeRFC3339 || f == TimeISO8601 }

// OfDay says whether a reading in this form starts again at midnight.
func (f TimeForm) OfDay() bool { return f == TimeSecondsOfDay || f == TimeClock }

// TimeRule says where the times are and how they are written.
type TimeRule struct {
	Columns []string // recorded names, in order of preference
	Form    TimeForm
	// DateColumn names the day of a time of day; "" when the file has none.
	DateColumn string
	// Step is how long one count of a frame counter lasts, or one written time
	// stands for; zero when each row has a time of its own.
	Step time.Duration
	// Rows is how many rows share one written time and lie evenly in its Step;
	// 1 when each row has its own.
	Rows int
	// WrapsAt is the count at which a frame counter is zero again; 0 when it
	// never is.
	WrapsAt int64
}

// slowestStep and mostRows bound what one written time can stand for.
const (
	slowestStep = time.Minute
	mostRows    = 1024
	mostFrames  = 1 << 31
)

// clock reads where the times are.
func (r *reader) clock(top section) TimeRule {
	s := r.section(top.need("time", "time: {column: TIME, form: seconds}"), "time",
		"column", "form", "date_column", "step", "rows", "wraps_at")
	t := TimeRule{Rows: 1}
	t.Columns = r.texts(s.need("column", "column: TIME"), "time column", true)
	t.Form = TimeForm(r.word(s.need("form", "form: seconds"), "form", "", timeForms...))
	if n := s.get("date_column"); n != nil {
		t.DateColumn, _ = r.text(n, "date_column")
		if t.Form != "" && !t.Form.OfDay() {
			r.fail(n, "remove it; or write form: HH:MM:SS", "date_column belongs to a time of day, not to form: %s", t.Form)
		}
		if slices.Contains(t.Columns, t.DateColumn) {
			r.fail(n, "name the column of the date", "date_column %q is the time column", t.DateColumn)
		}
	}
	if n := s.get("step"); n != nil {
		if t.Step = r.duration(n, "step", 0); t.Step > slowestStep {
			r.fail(n, "at most 1 min", "step: %q is out of reach", n.Value)
		}
	}
	if n := s.get("rows"); n != nil {
		t.Rows = r.whole(n, "rows", 1, 2, mostRows)
	}
	if n := s.get("wraps_at"); n != nil {
		t.WrapsAt = int64(r.whole(n, "wraps_at", 0, 2, mostFrames))
	}
	r.checkClock(s, t)
	return t
}

// checkClock finds keys that lack their fellow.
func (r *reader) checkClock(s section, t TimeRule) {
	step, rows, wraps := s.get("step"), s.get("rows"), s.get("wraps_at")
	switch {
	case t.Form == "":
	case t.Form == TimeFrames:
		s.need("step", "step: 4 s, the length of a frame")
	case wraps != nil:
		r.fail(wraps, "remove it; or write form: frame counter", "wraps_at belongs to a frame counter, not to form: %s", t.Form)
	case step != nil && rows == nil:
		r.fail(step, "add rows, the number of rows that share one written time; or remove it", "step stands without rows")
	case rows != nil && step == nil:
		r.fail(rows, "add step, how long one written time lasts: step: 1 s", "rows stands without step")
	}
}

// longForms checks that the times of a long recording stand alone: its rows
// come in any order, so none can be told from the row before it.
func (r *reader) longForms(n *yaml.Node, t TimeRule) {
	switch t.Form {
	case "", TimeSeconds, TimeMilliseconds, TimeRFC3339, TimeISO8601:
	default:
		r.fail(n, "export seconds, milliseconds, RFC 3339 or ISO 8601", "long: with form: %s a time would depend on the row before it, and rows come in any order", t.Form)
	}
	if t.Rows > 1 {
		r.fail(n, "remove rows and step", "long: every row has its own time")
	}
}
