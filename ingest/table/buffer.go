package table

import (
	"bytes"
	"fmt"
	"io"
	"sync"
)

// slack is how far the eight-byte loads of the scanner may look past the end
// of the text. Zeros stand there: in what an earlier block or another file left,
// the scanner would find delimiters, and go on beyond it.
const slack = 16

// blockBytes is how much text the scanner has before it at a time: so much that
// handing it to be hashed, which wakes another processor, is rare beside the work
// on it, and so little that two of them stay in the second-level cache.
const blockBytes = 512 << 10

// A window is a stretch of a stream that slides over it. What was not
// consumed is carried to the front when more is read.
type window struct {
	src io.Reader
	buf []byte // slack bytes longer than what it is filled to
	// spare takes turns with buf, so that what was read last stays as it is while
	// more is read: it may still be hashed then.
	spare []byte
	pos   int  // first byte not consumed
	end   int  // end of what was read
	eof   bool // nothing comes after end
	max   int  // how large the buffer may grow
}

func newWindow(src io.Reader, most int) *window {
	return &window{src: src, buf: newBuffer(blockBytes + slack), max: max(most, blockBytes)}
}

// blocks are buffers of files that were read, for the next one.
var blocks = sync.Pool{New: func() any { return new([blockBytes + slack]byte) }}

func newBuffer(size int) []byte {
	if size == blockBytes+slack {
		return blocks.Get().(*[blockBytes + slack]byte)[:]
	}
	return make([]byte, size)
}

func freeBuffer(b []byte) {
	if len(b) == blockBytes+slack {
		blocks.Put((*[blockBytes + slack]byte)(b))
	}
}

// free gives the buffers back; nothing may point into them any more.
func (w *window) free() {
	freeBuffer(w.buf)
	freeBuffer(w.spare)
	w.buf, w.spare, w.pos, w.end = nil, nil, 0, 0
}

// rest is what was read and not consumed.
func (w *window) rest() []byte { return w.buf[w.pos:w.end] }

// lines is how many bytes of rest are whole lines.
func (w *window) lines() int { return bytes.LastIndexByte(w.rest(), '\n') + 1 }

// fill reads until the buffer is full or the stream ends. A buffer that is
// full already grows, because what it holds is not even one record.
func (w *window) fill() error {
	if w.eof {
		return nil
	}
	n := w.end - w.pos
	room := len(w.buf) - slack
	if n == room {
		if room >= w.max {
			return &fault{
				cause:  fmt.Sprintf("a line or quoted cell is longer than %d bytes", w.max),
				remedy: "the file is damaged or no CSV; transfer or export it again",
			}
		}
		grown := make([]byte, min(2*room, w.max)+slack)
		copy(grown, w.rest())
		w.buf, w.spare = grown, nil
	} else if w.end > 0 {
		if w.spare == nil {
			w.spare = newBuffer(len(w.buf))
		}
		copy(w.spare, w.rest())
		w.buf, w.spare = w.spare, w.buf
	}
	w.pos, w.end = 0, n
	for room = len(w.buf) - slack; w.end < room && !w.eof; {
		k, err := w.src.Read(w.buf[w.end:room])
		w.end += k
		if err == io.EOF {
			w.eof = true
		} else if err != nil {
			return err
		}
	}
	clear(w.buf[w.end : w.end+slack])
	return nil
}
