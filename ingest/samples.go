package ingest

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

// source says what a parameter is read from: one recorded name, or the several
// that hold the samples of one row.
type source struct {
	rule   *profile.ParameterRule
	column string    // the recorded name, the first of several
	at     []int     // the wants that hold its samples
	slot   []int     // of several: which sample of the row each of them is
	unit   unit.Unit // as recorded, by the file or else the profile
	// times of the samples; nil when they are those of their rows.
	times []span.Instant
}

// bitsOf turns words into the values of some of their bits, as states.
func bitsOf(c *table.ColumnData, bits profile.Bits) table.ColumnData {
	out := table.ColumnData{Rows: c.Rows, Slots: c.Slots, States: make([]int32, len(c.Numbers)), Bad: c.Bad, BadFirst: c.BadFirst}
	index := map[uint64]int32{}
	for i, v := range c.Numbers {
		if v != v || v < 0 {
			if v < 0 {
				out.Bad++
			}
			out.States[i] = -1
			continue
		}
		value := bits.Of(uint64(v))
		k, met := index[value]
		if !met {
			k = int32(len(out.Words))
			index[value] = k
			out.Words = append(out.Words, strconv.FormatUint(value, 10))
		}
		out.States[i] = k
	}
	return out
}

// frame is how long a row lasts: as the profile says, or the median time from
// row to row.
func (b *builder) frame() int64 {
	if t := b.prof.Time; t.Rows > 1 {
		return int64(t.Step) / int64(t.Rows)
	} else if t.Step > 0 {
		return int64(t.Step)
	}
	if b.frameLength == 0 {
		at := make([]span.Instant, 0, len(b.readings))
		for row := range b.readings {
			if b.keep == nil || b.keep[row] {
				at = append(at, b.time(row))
			}
		}
		slices.Sort(at)
		b.frameLength = int64(flightdata.NominalPeriod(at))
	}
	return b.frameLength
}

// severalToARow says whether a source has more than one sample in a row.
func (b *builder) severalToARow(src *source) bool {
	return src.rule.InRow || b.data.Columns[src.at[0]].Slots != nil
}

// placed gathers the samples of columns that hold several to a row and gives
// each its instant: they lie evenly in the frame of their row.
func (b *builder) placed(src *source) *table.ColumnData {
	type sample struct {
		at     span.Instant
		number float64
		state  int32
	}
	out := &table.ColumnData{}
	var all []sample
	words := map[string]int32{}
	for k, want := range src.at {
		c := &b.data.Columns[want]
		out.Bad += c.Bad
		out.BadFirst = append(out.BadFirst, c.BadFirst...)
		index := make([]int32, len(c.Words))
		for i, w := range c.Words {
			id, met := words[w]
			if !met {
				id = int32(len(out.Words))
				words[w] = id
				out.Words = append(out.Words, w)
			}
			index[i] = id
		}
		for i := range c.Len() {
			row := c.Row(i)
			if b.keep != nil && !b.keep[row] {
				continue
			}
			s := sample{at: b.time(row) + b.within(src, c, k, i), state: -1}
			if c.Numbers != nil {
				s.number = c.Numbers[i]
			} else if c.States[i] >= 0 {
				s.state = index[c.States[i]]
			}
			all = append(all, s)
		}
	}
	slices.SortStableFunc(all, func(a, b sample) int { return cmp.Compare(a.at, b.at) })
	src.times = make([]span.Instant, len(all))
	for i, s := range all {
		src.times[i] = s.at
		if src.rule.Kind == flightdata.Discrete {
			out.States = append(out.States, s.state)
		} else {
			out.Numbers = append(out.Numbers, s.number)
		}
	}
	return out
}

// within is how far into the frame of its row sample i of the k-th column
// lies.
func (b *builder) within(src *source, c *table.ColumnData, k, i int) span.Instant {
	n, of := 0, 1
	if src.rule.InRow {
		n, of = src.slot[k], len(src.rule.Columns)
	}
	if c.Slots != nil {
		// A list within one of several columns lies within its part of the row.
		n = n*int(c.Slots[i].Of) + int(c.Slots[i].Index)
		of *= int(c.Slots[i].Of)
	}
	return span.Instant(b.frame() * int64(n) / int64(of))
}

// tidy sorts the samples by time and merges those of one instant: the first
// good one stays. It returns how many went that said something else.
func tidy(s *flightdata.Series, sorted bool) int {
	n, lost := len(s.Times), 0
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	if !sorted {
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.Times[a], s.Times[b]) })
	}
	times, values := make([]span.Instant, 0, n), make([]float64, 0, n)
	var masks []flightdata.Mask
	if s.Masks != nil {
		masks = make([]flightdata.Mask, 0, n)
	}
	for _, i := range order {
		k := len(times) - 1
		if k >= 0 && times[k] == s.Times[i] {
			if s.Values[i] != values[k] {
				lost++
			}
			if masks != nil && masks[k] != flightdata.Good && s.Masks[i] == flightdata.Good {
				values[k], masks[k] = s.Values[i], flightdata.Good
			}
			continue
		}
		times, values = append(times, s.Times[i]), append(values, s.Values[i])
		if masks != nil {
			masks = append(masks, s.Masks[i])
		}
	}
	s.Times, s.Values, s.Masks = times, values, masks
	return lost
}

// thin takes the repetitions of an exporter that filled forward out of a
// series: a change is a sample, and so is what comes a period after one.
func thin(s *flightdata.Series, rate float64) {
	period := time.Duration(math.Round(1e9 / rate))
	// Half a row, so that jitter of the rows costs no sample.
	period -= flightdata.NominalPeriod(s.Times) / 2
	mask := func(i int) flightdata.Mask {
		if s.Masks == nil {
			return flightdata.Good
		}
		return s.Masks[i]
	}
	var times []span.Instant
	var values []float64
	var masks []flightdata.Mask
	for i, t := range s.Times {
		if i > 0 && s.Values[i] == s.Values[i-1] && mask(i) == mask(i-1) && t.Sub(times[len(times)-1]) < period {
			continue
		}
		times, values = append(times, t), append(values, s.Values[i])
		if s.Masks != nil {
			masks = append(masks, s.Masks[i])
		}
	}
	s.Times, s.Values, s.Masks = times, values, masks
}

// disagree notes where two sources of a parameter are further apart than the
// profile allows. The better one is held against the other between its
// samples; where it has none nothing is compared.
func (b *builder) disagree(first, next *flightdata.Series, within float64) {
	n, most := 0, 0.0
	var at span.Instant
	for p := range next.Good(next.Whole()) {
		r := first.At(p.At)
		if !r.OK {
			continue
		}
		// Between two samples the better source may have had any value of theirs.
		d := max(r.Low-p.Value, p.Value-r.High)
		if first.Circular {
			d = math.Abs(math.Remainder(r.Value-p.Value, 360))
		}
		if d <= within {
			continue
		}
		if n == 0 {
			at = p.At
		}
		n++
		most = max(most, d)
	}
	if n > 0 {
		b.odd = true
		b.note(next.Origin.Names[0], "more than %.4g %s from %s on %s, first %v into the recording, at most by %.4g %s",
			within, first.Unit, first.Origin.Names[0], counted(n, "sample"), time.Duration(at), most, first.Unit)
	}
}
