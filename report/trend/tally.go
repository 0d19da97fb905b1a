package trend

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"
)

// add counts one row.
func (t *Tally) add(r *Row) {
	t.Attempts++
	if !r.Told {
		return
	}
	t.Told++
	if !r.Event {
		if !r.Life {
			t.Lifeless++
		}
		return
	}
	switch r.Review {
	case Valid:
		t.Valid++
	case Nuisance:
		t.Nuisance++
	case DataFault:
		t.DataFault++
	default:
		t.Unreviewed++
	}
	if r.Severity == "high" && r.Review != Nuisance && r.Review != DataFault {
		t.High++
	}
}

// plus adds the counts of another tally.
func (t *Tally) plus(o Tally) {
	t.Attempts += o.Attempts
	t.Told += o.Told
	t.Lifeless += o.Lifeless
	t.Valid += o.Valid
	t.Unreviewed += o.Unreviewed
	t.Nuisance += o.Nuisance
	t.DataFault += o.DataFault
	t.High += o.High
}

// series collects one series. Memory goes with days, and with groups times
// months; rows are not kept.
type series struct {
	kind   Kind
	name   string
	unit   string
	days   map[int]*Tally // days since 1970-01-01
	groups map[By]map[string]map[Month]*Tally
	// values by type and month, and their units by type: the types of a fleet
	// need not measure alike
	values map[string]map[Month]digest
	units  map[string]string
}

// collector collects all rows.
type collector struct {
	series  map[Kind]map[string]*series
	rows    int
	undated int
	span    Period
	// Days since 1970-01-01 of the first and last row, where span has months.
	firstDay, lastDay int
	// The date of the row before, for rows come day by day.
	date  time.Time
	day   int
	month Month
}

func newCollector() *collector {
	return &collector{series: map[Kind]map[string]*series{}}
}

const secondsPerDay = 24 * 60 * 60

// add takes one row in.
func (c *collector) add(r *Row) error {
	c.rows++
	if r.Date.IsZero() {
		c.undated++
		return nil
	}
	if !r.Date.Equal(c.date) {
		c.date, c.month = r.Date, MonthOf(r.Date)
		c.day = dayOf(r.Date)
	}
	if c.span.From == 0 {
		c.span.From, c.firstDay, c.lastDay = c.month, c.day, c.day
	}
	c.span.From = min(c.span.From, c.month)
	c.firstDay, c.lastDay = min(c.firstDay, c.day), max(c.lastDay, c.day)
	c.span.To = max(c.span.To, c.month)
	switch r.Kind {
	case CheckKind, MeasureKind:
		if r.Check == "" {
			return fmt.Errorf("trend: row %d, a %s of %s, has no name; give the name of the check in the profile", c.rows, r.Kind, r.Date.Format(time.DateOnly))
		}
		c.of(r.Kind, r.Check).add(r, c.day, c.month)
	case RejectKind:
		c.reject(r)
	default:
		return fmt.Errorf("trend: row %d of %s is of kind %q; give check, reject or measure", c.rows, r.Date.Format(time.DateOnly), r.Kind)
	}
	return nil
}

// rejectClass is the class of a reject that counts in a series of one class.
// The words are those of reject.Measures.
var rejectClass = map[string]string{RejectsBefore: "before the roll", RejectsLow: "low-speed", RejectsHigh: "high-speed"}

// reject counts the attempt in all series of rejects: it is a takeoff of each,
// and an event of all rejects and of the class that it has.
func (c *collector) reject(r *Row) {
	c.of(RejectKind, RejectsAll).add(r, c.day, c.month)
	for _, name := range []string{RejectsBefore, RejectsLow, RejectsHigh} {
		one := *r
		one.Event = r.Event && r.Class == rejectClass[name]
		one.Life = true // an attempt of another class is no dead sensor
		c.of(RejectKind, name).add(&one, c.day, c.month)
	}
}

func (c *collector) of(kind Kind, name string) *series {
	// A check and a measure may bear one name; they are two series.
	byName := c.series[kind]
	if byName == nil {
		byName = map[string]*series{}
		c.series[kind] = byName
	}
	s := byName[name]
	if s == nil {
		s = &series{
			kind: kind, name: name, days: map[int]*Tally{},
			groups: map[By]map[string]map[Month]*Tally{}, values: map[string]map[Month]digest{}, units: map[string]string{},
		}
		byName[name] = s
	}
	return s
}

func (s *series) add(r *Row, day int, month Month) {
	if s.unit == "" || r.Unit != "" && r.Unit < s.unit {
		s.unit = r.Unit // one unit a series; the first by name if there are two
	}
	if have := s.units[r.Type]; have == "" || r.Unit != "" && r.Unit < have {
		s.units[r.Type] = r.Unit
	}
	fault := r.Event && r.Review == DataFault // then the value is no measurement
	if !math.IsNaN(r.Value) && !fault {
		entry(entry2(s.values, r.Type), month, func() digest { return digest{} }).add(r.Value)
	}
	if s.kind == MeasureKind {
		return
	}
	entry(s.days, day, newTally).add(r)
	for _, by := range Ways() {
		if place := r.place(by); place != "" {
			entry(entry2(entry2(s.groups, by), place), month, newTally).add(r)
		}
	}
}

func newTally() *Tally { return &Tally{} }

// entry is the value of a key, made when there is none; entry2 the same for
// a map of maps.
func entry[K comparable, V any](m map[K]V, key K, make func() V) V {
	v, ok := m[key]
	if !ok {
		v = make()
		m[key] = v
	}
	return v
}

func entry2[K, L comparable, V any](m map[K]map[L]V, key K) map[L]V {
	return entry(m, key, func() map[L]V { return map[L]V{} })
}

// inOrder are all series of one kind, by name.
func (c *collector) inOrder(kind Kind) []*series {
	var out []*series
	for _, name := range slices.Sorted(maps.Keys(c.series[kind])) {
		out = append(out, c.series[kind][name])
	}
	return out
}

// months are the tallies of the days summed up by month.
func (s *series) months() map[Month]*Tally {
	out := map[Month]*Tally{}
	for day, t := range s.days {
		entry(out, monthOfDay(day), newTally).plus(*t)
	}
	return out
}

// dayOf is the number of the UTC day since 1970-01-01.
func dayOf(date time.Time) int {
	return int(date.UTC().Truncate(secondsPerDay*time.Second).Unix() / secondsPerDay)
}

func dayStart(day int) time.Time { return time.Unix(int64(day)*secondsPerDay, 0).UTC() }

func monthOfDay(day int) Month { return MonthOf(dayStart(day)) }

// within sums the tallies of the months of a period.
func within(months map[Month]*Tally, p Period) Tally {
	var out Tally
	for month, t := range months {
		if p.Has(month) {
			out.plus(*t)
		}
	}
	return out
}
