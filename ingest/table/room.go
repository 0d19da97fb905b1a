package table

import "sync"

// The samples of a recording are gathered in room that was used for those of
// another: what is grown from nothing is zeroed, copied and brought in by the
// system, a megabyte at a time, and then thrown away.
var (
	doubleRoom room[float64]
	clockRoom  room[int64]
	indexRoom  room[int32] // of rows and states
)

// Slices of fewer than smallRoom are not worth keeping, and of more than largeRoom,
// a column of two hours at 16 a second, too large to lie there twice: in the room
// and as what the caller got.
const (
	smallRoom = 1 << 10
	largeRoom = 1 << 17
)

// A room is a store of slices that nobody uses.
type room[T any] struct{ spare sync.Pool }

// take gives an empty slice, nil if there is none.
func (r *room[T]) take() []T {
	if s, _ := r.spare.Get().(*[]T); s != nil {
		return *s
	}
	return nil
}

// keep takes a slice that nothing points into any more.
func (r *room[T]) keep(s []T) {
	if cap(s) >= smallRoom && cap(s) <= largeRoom {
		s = s[:0]
		r.spare.Put(&s)
	}
}

// Free gives back the room in which the rows, states and clock readings of all
// columns lie, for the next file. They are gone after that; the Numbers stay.
func (d *Data) Free() {
	for i := range d.Columns {
		c := &d.Columns[i]
		indexRoom.keep(c.Rows)
		indexRoom.keep(c.States)
		clockRoom.keep(c.Clock)
		c.Rows, c.States, c.Clock = nil, nil, nil
	}
}
