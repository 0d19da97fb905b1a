package ingest

import (
	"math"
	"slices"
	"strings"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

// Most of a recording is flown far from any runway, where nothing is judged.
// There all columns but those that tell flight from ground are decoded in one
// stretch out of several. How that is decided: common practice, no published
// source.
const (
	// fastOver is the speed over the ground, kt, that no tyre is rated for, so
	// that no takeoff and no landing is as fast. It is reached well after the one
	// and left well before the other. fastAir is the same for a second witness,
	// the airspeed, which is the lower of the two at height.
	fastOver, fastAir = 225, 200
	// aloftAfter is how long it must have been flown faster than that.
	aloftAfter = int64(30 * time.Second)
	// Of every aloftCycle the last aloftStretch is read. A stretch holds several
	// samples of a parameter recorded every four seconds and is long enough for
	// the comparisons of quality and sanity.
	aloftCycle   = int64(128 * time.Second)
	aloftStretch = int64(16 * time.Second)
	// aloftStale is how old a sample of the gate may be.
	aloftStale = int64(10 * time.Second)
	// aloftProof is how many samples of the speed must have been slow with
	// air/ground on the ground before it is believed, and how many that
	// contradict it end that for good.
	aloftProof = 5
	// Slower than taxiFast an aircraft can be on the ground, and slower than
	// stillFast it cannot be in the air.
	taxiFast, stillFast = 60, 30
	// A clock of the day goes back by that much and more at midnight.
	midnight = int64(12 * time.Hour)
)

// aloft is the gate that is open on and near the ground. It is shut only while
// air/ground and every speed there is agree, and whatever is odd about one of
// them or about the clock keeps it open from there on.
type aloft struct {
	rule       *profile.ParameterRule // of air_ground
	word       string                 // the latest, and what it says
	air, known bool
	airAt      int64 // clock of the latest sample
	speeds     []fast
	timed      bool
	clock      int64 // of the latest row that has one
	since      int64 // the clock when fast flight began
	flying     bool
	odd        bool // never to be shut again
	proof      int  // samples slow and on the ground
	against    int  // samples that contradict air/ground
	// The steps between samples of the first speed: how many, the one that most
	// of them seem to be, how often that was met, and by how much it leads.
	steps, even, lead int
	step              int64
	uneven            bool // too few of them are that one
	// What was decided, and up to what clock that stands while no row tells
	// anything else.
	shut  bool
	until int64
}

// fast is one speed and its latest sample.
type fast struct {
	conv  unit.Conversion
	above float64 // kt
	value float64 // kt; NaN while none counts
	at    int64
}

// Open says whether the row is to be read whole.
func (a *aloft) Open(r *table.GateRow) bool {
	if !a.tick(r) {
		return true
	}
	news := r.Told && a.tell(r.Word)
	for i := range r.Numbers {
		if n := &r.Numbers[i]; n.There && a.hear(i, n.Value) {
			news = true
		}
	}
	if news || r.Clock > a.until {
		a.decide()
	}
	return !a.shut
}

// hear takes a number of a speed. It says whether that may change what was
// decided: in fast flight a speed that is above its bound as before does not.
func (a *aloft) hear(i int, value float64) (news bool) {
	s, before := &a.speeds[i], a.uneven
	value = s.conv.Apply(value)
	if i == 0 {
		a.count(a.clock - s.at)
		a.weigh(value)
	}
	s.value, s.at = value, a.clock
	a.odd = a.odd || value != value
	return !a.flying || a.uneven != before || !(value > s.above) // no number is not above
}

// decide says whether the latest row and those after it are read whole.
func (a *aloft) decide() {
	a.shut, a.until = false, math.MaxInt64
	if a.odd || !a.fastInAir() {
		a.flying = false
		return
	}
	if !a.flying {
		a.flying, a.since = true, a.clock
	}
	a.until = a.airAt + aloftStale
	for i := range a.speeds {
		a.until = min(a.until, a.speeds[i].at+aloftStale)
	}
	if a.uneven {
		return
	}
	next := a.since + aloftAfter // the clock at which this ends
	if d := a.clock - next; d >= 0 {
		into := d % aloftCycle
		a.shut = into < aloftCycle-aloftStretch
		next = a.clock - into + aloftCycle
		if a.shut {
			next -= aloftStretch
		}
	}
	a.until = min(a.until, next-1)
}

// tick takes the clock of a row, false if it has none. Times that do not rise
// make the recording odd, and nothing from before a break counts.
func (a *aloft) tick(r *table.GateRow) bool {
	if !r.Timed {
		a.odd, a.until = true, math.MinInt64
		return false
	}
	if d := r.Clock - a.clock; a.timed && (d <= 0 || d > aloftStale) {
		a.odd = a.odd || d <= 0 && d > -midnight
		a.known, a.flying, a.until = false, false, math.MinInt64
		for i := range a.speeds {
			a.speeds[i].value = math.NaN()
		}
	}
	a.timed, a.clock = true, r.Clock
	return true
}

// count takes the time between two samples of the first speed. Where those
// differ the period of a parameter is a median for which every sample counts:
// then all are read.
func (a *aloft) count(d int64) {
	a.steps++
	switch {
	case d == a.step:
		a.even, a.lead = a.even+1, a.lead+1
	case a.lead == 0:
		a.step, a.even, a.lead = d, 1, 1
	default:
		a.lead--
	}
	a.uneven = a.even*3 < a.steps*2
}

// tell takes a word of the air/ground discrete, and says as hear does whether
// it may change what was decided.
func (a *aloft) tell(word string) (news bool) {
	a.airAt = a.clock
	if word == a.word && a.known {
		return !a.flying
	}
	k := stateOf(a.rule.States, word)
	a.word, a.known, a.odd = word, k >= 0, a.odd || k < 0
	a.air = a.known && a.rule.States[k].State == airState
	return true
}

// airState is the state of air_ground in flight.
const airState = "air"

// weigh holds a speed against air/ground.
func (a *aloft) weigh(kt float64) {
	switch {
	case !a.known:
	case !a.air && kt < taxiFast:
		a.proof++
	case a.air && kt < stillFast, !a.air && kt > fastOver:
		a.against++
	}
}

// fastInAir says whether all agree that this is flight.
func (a *aloft) fastInAir() bool {
	if !a.known || !a.air || a.clock-a.airAt > aloftStale || a.proof < aloftProof || a.against >= aloftProof {
		return false
	}
	for i := range a.speeds {
		if s := &a.speeds[i]; !(s.value > s.above) || a.clock-s.at > aloftStale { // no number is not above
			return false
		}
	}
	return true
}

// Copy is the gate as it stands.
func (a *aloft) Copy() table.Gate {
	out := *a
	out.speeds = slices.Clone(a.speeds)
	return &out
}

// sift says how the file may be read in part, nil when it has to be read in
// full: no time that tells how long something lasts, no gate, or columns whose
// samples hang on the rows before them.
func (b *builder) sift() *table.Sift {
	t := b.prof.Time
	if b.whole || t.Form == profile.TimeFrames || t.WrapsAt > 0 || t.Rows > 1 {
		return nil
	}
	for i := range b.sources {
		if r := b.sources[i].rule; r.Filled || r.InRow {
			return nil
		}
	}
	s, gate := &table.Sift{Clock: 0}, &aloft{}
	discrete := b.always(s, flightdata.AirGround)
	if discrete == nil || discrete.rule.Bits.Set {
		return nil
	}
	s.State, gate.rule = discrete.at[0], discrete.rule
	for _, p := range []flightdata.Parameter{flightdata.GroundSpeed, flightdata.Airspeed} {
		src := b.always(s, p)
		if src == nil {
			continue
		}
		conv, err := unit.Convert(src.unit, src.rule.Canonical)
		if err != nil {
			return nil
		}
		above := float64(fastOver)
		if len(gate.speeds) > 0 {
			above = fastAir
		}
		s.Numbers = append(s.Numbers, src.at[0])
		gate.speeds = append(gate.speeds, fast{conv: conv, above: above, value: math.NaN()})
	}
	if len(gate.speeds) == 0 {
		return nil
	}
	if b.dates >= 0 {
		s.Always = append(s.Always, b.dates)
	}
	for _, want := range b.named {
		s.Always = append(s.Always, want)
	}
	slices.Sort(s.Always)
	s.Gate = gate
	return s
}

// always has a parameter decoded in every row, from all its recorded names, and
// returns the first choice of them; nil if the file has none.
func (b *builder) always(s *table.Sift, p flightdata.Parameter) (first *source) {
	for i := range b.sources {
		src := &b.sources[i]
		if src.rule.Parameter != p {
			continue
		}
		s.Always = append(s.Always, src.at...)
		if first == nil {
			first = src
			b.gate = append(b.gate, p)
		}
	}
	return first
}

// passedOver turns the rows that were not read whole into spans of time, and
// notes them. A clock with any irregularity makes the recording odd.
func (b *builder) passedOver() {
	if b.data.Skipped == nil {
		return
	}
	if b.swapped || b.repeated || b.keep != nil {
		b.odd = true
		return
	}
	for _, r := range b.data.Skipped {
		to := b.end + 1
		if r.To < int64(len(b.readings)) {
			to = b.time(int(r.To))
		}
		b.unread = append(b.unread, span.Span{From: b.time(int(r.From)), To: to})
	}
	names := make([]string, len(b.gate))
	for i, p := range b.gate {
		names[i] = string(p)
	}
	first, last := b.unread[0], b.unread[len(b.unread)-1]
	b.note("", "in flight above %d kt between %.0f s and %.0f s, %.0f s were passed over: there only %s were read, and of each %.0f s the last %.0f s in full",
		fastOver, first.From.Seconds(), last.To.Seconds(), b.unread.Length().Seconds(), strings.Join(names, ", "),
		time.Duration(aloftCycle).Seconds(), time.Duration(aloftStretch).Seconds())
}

// unreadOf is what was passed over of a parameter.
func (b *builder) unreadOf(p flightdata.Parameter) span.Set {
	if slices.Contains(b.gate, p) {
		return nil
	}
	return b.unread
}

// period is the nominal period of a series, the same as if all of it had been
// read: one step that two thirds of those read are, on either side of what was
// passed over and in between. If there is none, or if nothing tells the rate in
// between, the recording is odd.
func (b *builder) period(s *flightdata.Series) time.Duration {
	if len(s.Unread) == 0 || len(s.Times) < 2 || b.odd {
		return flightdata.NominalPeriod(s.Times)
	}
	runs := make([][]span.Instant, 0, len(s.Unread)+1)
	from := 0
	for _, u := range s.Unread {
		to, _ := slices.BinarySearch(s.Times, u.From)
		runs = append(runs, s.Times[from:to])
		from = to
	}
	between := runs[1:]
	step, n, near := flightdata.MostSteps(runs[0], s.Times[from:])
	same, aloft := flightdata.CountSteps(step, between...), 0
	for _, r := range between {
		aloft += max(len(r)-1, 0)
	}
	// Without one step nothing is known of its rate.
	b.odd = b.odd || n == 0 || n*3 < near*2 || same*3 < aloft*2
	return time.Duration(step)
}

// lacking says whether something was not met in what was read that a check
// needs to be seen at least once in the recording: it may lie in the rest.
func (b *builder) lacking(rec *flightdata.Recording) bool {
	for p, s := range rec.Series {
		if len(s.Unread) > 0 && rec.Life[p].Samples == 0 {
			return true
		}
	}
	for i := range b.prof.Checks {
		c := &b.prof.Checks[i]
		s := rec.Get(c.Watched())
		if s == nil || len(s.Unread) == 0 {
			continue
		}
		l, little := rec.Life[s.Parameter], 0.0
		if c.OneOf != nil {
			little = 2 * c.OneOf.Tolerance
		}
		if s.Kind == flightdata.Discrete && len(l.States) < 2 || s.Kind == flightdata.Continuous && l.Hi-l.Lo <= little {
			return true
		}
	}
	return false
}
