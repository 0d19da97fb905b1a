package table

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
)

// cellKind is what the cells of a binary container are.
type cellKind uint8

const (
	floatCells cellKind = iota
	intCells
	boolCells
	decimalCells // integers that count in 10^-scale
	timeCells    // integers that count ticks since 1970
	dateCells    // the same, of whole days
	clockCells   // integers that count ticks since midnight
	textCells
)

// cells says how the cells of a column of a binary container become samples.
type cells struct {
	kind     cellKind
	unsigned bool  // of intCells
	scale    int   // of decimalCells
	tick     int64 // of timeCells, dateCells and clockCells, in nanoseconds
	zoneless bool  // of timeCells: written without a zone, taken as UTC
	list     bool  // each cell is a list of such
}

// givesTo refuses what cannot come into the column.
func (k *cells) givesTo(c *column) error {
	if k.list && (c.pick != nil || c.want.As != Number && c.want.As != State && c.want.As != Whole) {
		return &fault{cause: fmt.Sprintf("the cells are lists, and a list cannot be read as %s", c.want.As), remedy: "name a column without lists"}
	}
	return k.gives(c.want.As)
}

// gives refuses what such cells can never be.
func (k *cells) gives(as As) error {
	ok, wanted := true, ""
	switch as {
	case Timestamp, DateTime:
		ok, wanted = k.kind == textCells || k.kind == timeCells, "dates with times of day"
	case ClockTime:
		ok, wanted = k.kind == textCells || k.kind == timeCells || k.kind == clockCells, "times of day"
	case Date:
		ok, wanted = k.kind == textCells || k.kind == timeCells || k.kind == dateCells || k.kind == intCells, "dates"
	}
	if ok {
		return nil
	}
	holds := "plain numbers"
	switch k.kind {
	case dateCells:
		holds = "dates alone"
	case clockCells:
		holds = "times of day alone"
	case timeCells:
		holds = "dates with times of day"
	}
	return &fault{cause: fmt.Sprintf("the column holds %s, but %s are wanted", holds, wanted), remedy: "read its times as seconds, or export timestamps"}
}

// float takes one cell of floatCells.
func (k *cells) float(c *column, row int64, v float64) {
	if v != v {
		return // NaN is no sample
	}
	switch c.want.As {
	case Number:
		// Text cannot say infinity either; it is no measurement.
		if math.IsInf(v, 0) {
			c.bad(row, strconv.AppendFloat(nil, v, 'g', -1, 64))
			return
		}
		c.number(row, v)
	case State:
		c.state(row, c.floatState(v))
	case Seconds:
		if ns, ok := nanoseconds(v); ok {
			c.seconds(row, ns)
			return
		}
		c.bad(row, strconv.AppendFloat(nil, v, 'g', -1, 64))
	default:
		// By way of the text, which means the same in every container.
		c.text(row, strconv.AppendFloat(nil, v, 'f', -1, 64), false)
	}
}

// integer takes one cell of intCells, boolCells, decimalCells or of the times. An
// unsigned 64-bit value comes as the same bits.
func (k *cells) integer(c *column, row, v int64) {
	switch k.kind {
	case decimalCells:
		k.decimal(c, row, v)
	case timeCells, dateCells, clockCells:
		k.time(c, row, v)
	default:
		if k.unsigned && v < 0 {
			// Beyond what 63 bits hold only the double nearest to it is left.
			k.float(c, row, float64(uint64(v)))
			return
		}
		switch c.want.As {
		case Number:
			c.number(row, float64(v))
		case State:
			c.state(row, c.intState(v))
		case Seconds:
			if v < -9_000_000_000 || v > 9_000_000_000 {
				c.bad(row, strconv.AppendInt(nil, v, 10))
				return
			}
			c.seconds(row, v*1e9)
		default:
			c.text(row, strconv.AppendInt(nil, v, 10), false)
		}
	}
}

// decimal goes by way of the text, so that a decimal means the same here and
// in CSV. It is no common type for recorder data, so it need not be fast.
func (k *cells) decimal(c *column, row, v int64) {
	c.text(row, appendDecimal(nil, v, k.scale), false)
}

func appendDecimal(b []byte, v int64, scale int) []byte {
	m := uint64(v)
	if v < 0 {
		b = append(b, '-')
		m = -m
	}
	digits := strconv.FormatUint(m, 10)
	if pad := scale + 1 - len(digits); pad > 0 {
		digits = string(bytes.Repeat([]byte{'0'}, pad)) + digits
	}
	b = append(b, digits[:len(digits)-scale]...)
	if scale > 0 {
		b = append(append(b, '.'), digits[len(digits)-scale:]...)
	}
	return b
}

// time takes one count of ticks since 1970 or since midnight.
func (k *cells) time(c *column, row, v int64) {
	limit := math.MaxInt64 / k.tick
	if v > limit || v < -limit {
		c.bad(row, []byte(fmt.Sprintf("%d ticks of %d ns since 1970", v, k.tick)))
		return
	}
	ns := v * k.tick
	c.zoneless = c.zoneless || k.zoneless
	switch c.want.As {
	case Number:
		c.number(row, float64(ns)/1e9)
	case State:
		c.state(row, c.intState(ns))
	case ClockTime:
		c.clock(row, ns-floorDiv(ns, dayNanos)*dayNanos)
	case Date:
		c.clock(row, floorDiv(ns, dayNanos)*dayNanos)
	case Whole:
		c.bad(row, strconv.AppendInt(nil, v, 10))
	default:
		c.clock(row, ns)
	}
}

// dayNanos is a day in nanoseconds.
const dayNanos = 86_400_000_000_000

// boolean is true as 1 and false as 0.
func (k *cells) boolean(c *column, row int64, v bool) {
	if v {
		k.integer(c, row, 1)
		return
	}
	k.integer(c, row, 0)
}

// floatState and intState are the states of numbers. A number that repeats, as
// a discrete does, costs one comparison, and one that comes back no text.
func (c *column) floatState(v float64) int32 {
	return c.bitsState(math.Float64bits(v), func() string { return wordOfFloat(v) })
}

func (c *column) intState(v int64) int32 {
	return c.bitsState(uint64(v), func() string { return strconv.FormatInt(v, 10) })
}

// bitsState is the state of the number with these bits; word writes it.
func (c *column) bitsState(bits uint64, word func() string) int32 {
	if c.byBits == nil {
		c.byBits = map[uint64]int32{}
	}
	if len(c.byBits) == 0 || c.lastBits != bits {
		id, ok := c.byBits[bits]
		if !ok {
			id = c.word(word())
			// As many as a column may have words, and then some.
			if len(c.byBits) < 4*c.limits.Words {
				c.byBits[bits] = id
			}
		}
		c.lastBits, c.lastID = bits, id
	}
	if c.lastID == badState {
		c.out.Bad++
	}
	return c.lastID
}
