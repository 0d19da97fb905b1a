package table

import (
	"fmt"

	"github.com/apache/arrow/go/v15/arrow/memory"
)

// boundedMemory gives the Arrow library its memory, up to a limit for each
// message. The library looks for a buffer's size behind the list of buffers
// when a batch has fewer of them than its columns need, and then asks for
// whatever number it finds there; that much memory may not exist, and nothing
// can be saved once the system refuses it.
type boundedMemory struct {
	memory.GoAllocator
	most  int64 // for one message
	taken int64 // for the current one
}

// next starts the account of another message.
func (m *boundedMemory) next() { m.taken = 0 }

func (m *boundedMemory) take(size int) {
	// Each addend is held against what is left, so that no sum can overflow.
	if size < 0 || int64(size) > m.most-m.taken {
		panic(fmt.Sprintf("a message needs more than %d bytes of memory", m.most))
	}
	m.taken += int64(size)
}

// Allocate is memory.Allocator's; it panics past the limit.
func (m *boundedMemory) Allocate(size int) []byte {
	m.take(size)
	return m.GoAllocator.Allocate(size)
}

// Reallocate is memory.Allocator's; it panics past the limit.
func (m *boundedMemory) Reallocate(size int, b []byte) []byte {
	if size > len(b) {
		m.take(size)
	}
	return m.GoAllocator.Reallocate(size, b)
}
