package table

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"slices"

	"github.com/klauspost/compress/zstd"
)

// messages stands between an Arrow stream and the library that decodes it. It
// hands on one message at a time, and only after it has held the sizes that
// the message states against what is there: the library asks the system for
// as much memory as a message says. Buffers in zstd are expanded here, because
// the library would start goroutines for it.
//
// The layout of the messages is that of the published columnar format ("IPC
// streaming format" and its Message, Schema and RecordBatch tables). Every
// look behind the end of a message panics, and guard makes an error of that.
type messages struct {
	src    io.Reader
	limits *Limits
	isFile bool // a footer, and not always an end mark, follows the messages
	memory *boundedMemory

	pending  []byte // of the message that is being handed on
	meta     []byte
	body     bytes.Buffer
	pos      int64 // in the stream
	expanded int64 // body bytes handed on
	ended    bool  // the end mark or the footer was met
	unpack   *zstd.Decoder
}

// Read is what the library calls.
func (m *messages) Read(p []byte) (int, error) {
	if len(m.pending) == 0 {
		if m.ended {
			return 0, io.EOF
		}
		if err := m.next(); err != nil {
			return 0, err
		}
	}
	n := copy(p, m.pending)
	m.pending = m.pending[n:]
	return n, nil
}

const continuation = 0xffffffff

// endMark ends the messages.
var endMark = []byte{0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0}

// next takes the next message from the stream, checks it and makes it
// pending. io.EOF means that the stream ended without an end mark.
func (m *messages) next() error {
	m.memory.next()
	var prefix [8]byte
	if _, err := io.ReadFull(m.src, prefix[:4]); err != nil {
		return err
	}
	if binary.LittleEndian.Uint32(prefix[:]) != continuation {
		if m.isFile || binary.LittleEndian.Uint32(prefix[:]) == 0 {
			m.ended, m.pending = true, endMark
			return nil
		}
		return &fault{cause: fmt.Sprintf("no message starts at byte %d of the stream", m.pos), remedy: transferAgain}
	}
	if err := m.full(prefix[4:]); err != nil {
		return err
	}
	size := int64(int32(binary.LittleEndian.Uint32(prefix[4:])))
	if size == 0 {
		m.ended, m.pending = true, endMark
		return nil
	}
	// The description of a message grows with the columns only.
	if most := min(m.limits.PageBytes, int64(m.limits.Columns)*2048); size < 0 || size > most {
		return &fault{cause: fmt.Sprintf("the message at byte %d claims %d bytes of description, the limit is %d", m.pos, size, most), remedy: transferAgain}
	}
	m.meta = append(append(m.meta[:0], prefix[:]...), make([]byte, size)...)
	if err := m.full(m.meta[8:]); err != nil {
		return err
	}
	if err := m.takeBody(); err != nil {
		return err
	}
	m.pos += 8 + size
	m.pending = append(m.meta, m.body.Bytes()...)
	m.meta = m.pending // keep the larger buffer for the next message
	return nil
}

// full reads all of p, or says that the stream is cut off.
func (m *messages) full(p []byte) error {
	_, err := io.ReadFull(m.src, p)
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// The kinds of message.
const (
	schemaMessage     = 1
	dictionaryMessage = 2
	recordMessage     = 3
)

// takeBody reads the body of the message described in meta and checks what
// the description says about it.
func (m *messages) takeBody() error {
	root := rootOf(m.meta[8:])
	lengthAt := root.field(3)
	length := root.int64(lengthAt)
	m.expanded += length
	switch {
	case length < 0 || length > m.limits.PageBytes:
		return &fault{cause: fmt.Sprintf("the message at byte %d claims %d bytes, the limit is %d", m.pos, length, m.limits.PageBytes), remedy: raiseLimit}
	case m.expanded > m.limits.Decompressed:
		return errTooMuch
	}
	m.body.Reset()
	// The buffer grows with what is there, not with what is claimed.
	n, err := io.Copy(&m.body, io.LimitReader(m.src, length))
	m.pos += n
	if err != nil {
		return err
	}
	if n < length {
		return io.ErrUnexpectedEOF
	}
	header := root.table(root.field(2))
	switch root.byte(root.field(1)) {
	case schemaMessage:
		header.vector(header.field(2), 4) // metadata
		header.vector(header.field(3), 8) // features
		return m.checkFields(header.vector(header.field(1), 4), 0, new(int))
	case dictionaryMessage:
		header = header.table(header.field(1))
	case recordMessage:
	default:
		return &fault{cause: fmt.Sprintf("the message before byte %d is of an unknown kind", m.pos), remedy: transferAgain}
	}
	return m.checkBuffers(root, lengthAt, header)
}

// unionType is the one type whose description holds a list.
const unionType = 14

// checkFields walks over the fields of a schema. The library does so without
// bounds: a field that holds itself would exhaust its stack, and it makes room
// for as many entries as a list claims to have, which vector refuses.
func (m *messages) checkFields(fields flatVector, depth int, count *int) error {
	const deepest = 32
	if *count += fields.n; *count > 4*m.limits.Columns || depth > deepest {
		return &fault{cause: fmt.Sprintf("the schema has more than %d fields or is nested deeper than %d", 4*m.limits.Columns, deepest), remedy: raiseLimit}
	}
	for i := range fields.n {
		field := fields.t.table(fields.at + 4*i)
		field.vector(field.field(6), 4) // metadata
		if typ := field.field(3); typ > 0 && field.byte(field.field(2)) == unionType {
			union := field.table(typ)
			union.vector(union.field(1), 4) // which child is which type
		}
		if err := m.checkFields(field.vector(field.field(5), 4), depth+1, count); err != nil {
			return err
		}
	}
	return nil
}

// checkBuffers holds the rows and the buffers of a batch against the limits
// and the body, and expands the body if it is compressed.
func (m *messages) checkBuffers(root flatTable, lengthAt int, batch flatTable) error {
	if rows := batch.int64(batch.field(0)); rows < 0 || rows > m.limits.Rows {
		return &fault{cause: fmt.Sprintf("the message before byte %d claims %d rows, the limit is %d", m.pos, rows, m.limits.Rows), remedy: raiseLimit}
	}
	nodes := batch.vector(batch.field(1), 16)
	for i := range nodes.n {
		if n := batch.int64(nodes.at + 16*i); n < 0 || n > m.limits.Rows {
			return &fault{cause: fmt.Sprintf("the message before byte %d claims a column of %d rows", m.pos, n), remedy: transferAgain}
		}
	}
	buffers := batch.vector(batch.field(2), 16)
	body := m.body.Bytes()
	var sum int64
	for i := range buffers.n {
		at := buffers.at + 16*i
		offset, n := batch.int64(at), batch.int64(at+8)
		if offset < 0 || n < 0 || offset > int64(len(body)) || n > int64(len(body))-offset {
			return &fault{cause: fmt.Sprintf("the message before byte %d has a buffer outside its body", m.pos), remedy: transferAgain}
		}
		sum += n
	}
	if sum > int64(len(body)) {
		return &fault{cause: fmt.Sprintf("the buffers of the message before byte %d overlap", m.pos), remedy: transferAgain}
	}
	if c := batch.field(3); c > 0 {
		codec := batch.table(c)
		return m.expand(root, lengthAt, batch, buffers, codec.byte(codec.field(0)) == 1)
	}
	return nil
}

// expand writes a new body, in which the buffers in zstd are plain. Each
// buffer starts with its expanded size; -1 says that the rest is plain. The
// other compression, LZ4 frames, is left to the library once the sizes are
// checked.
func (m *messages) expand(root flatTable, lengthAt int, batch flatTable, buffers flatVector, isZstd bool) error {
	old := m.body.Bytes()
	body := make([]byte, 0, 2*len(old))
	var total int64
	for i := range buffers.n {
		at := buffers.at + 16*i
		offset, n := batch.int64(at), batch.int64(at+8)
		if n == 0 {
			batch.put(at, 0)
			continue
		}
		piece := old[offset : offset+n]
		size := int64(binary.LittleEndian.Uint64(piece))
		if size < -1 || size > m.limits.PageBytes {
			return &fault{cause: fmt.Sprintf("a buffer before byte %d claims %d bytes, the limit is %d", m.pos, size, m.limits.PageBytes), remedy: raiseLimit}
		}
		if total += max(size, 0); total > m.limits.PageBytes {
			return &fault{cause: fmt.Sprintf("a message expands to more than %d bytes", m.limits.PageBytes), remedy: raiseLimit}
		}
		if !isZstd {
			continue
		}
		start := len(body)
		var err error
		if body, err = m.unzstd(body, piece, size); err != nil {
			return err
		}
		batch.put(at, int64(start))
		batch.put(at+8, int64(len(body)-start))
		for len(body)%8 != 0 {
			body = append(body, 0)
		}
	}
	m.expanded += total
	if isZstd && lengthAt > 0 {
		m.body.Reset()
		m.body.Write(body)
		root.put(lengthAt, int64(len(body)))
	}
	return nil
}

// usualRatio is how much recorded samples shrink at most, as a rule.
const usualRatio = 100

// unzstd appends the buffer in its plain form.
func (m *messages) unzstd(body, piece []byte, size int64) ([]byte, error) {
	if size < 0 {
		return append(body, piece...), nil
	}
	if m.unpack == nil {
		z, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(uint64(m.limits.PageBytes)))
		if err != nil {
			return nil, err
		}
		m.unpack = z
	}
	body = binary.LittleEndian.AppendUint64(body, ^uint64(0))
	start := len(body)
	// The decoder makes room for one buffer only, and so would copy all those
	// before it for each. A claim that the bytes do not bear out is left to it.
	body = slices.Grow(body, int(min(size, usualRatio*int64(len(piece))))+64)
	body, err := m.unpack.DecodeAll(piece[8:], body)
	if err != nil {
		return nil, fmt.Errorf("zstd: %w", err)
	}
	if int64(len(body)-start) != size {
		return nil, &fault{cause: fmt.Sprintf("a buffer before byte %d expands to another size than it says", m.pos), remedy: transferAgain}
	}
	return body, nil
}

// A flatTable is a table of the serialisation that Arrow describes its
// messages in: a position from which a table of field offsets is reached.
type flatTable struct {
	b  []byte
	at int
}

// A flatVector is n elements that start at a position of a table's bytes.
type flatVector struct {
	t     flatTable
	at, n int
}

func rootOf(b []byte) flatTable { return flatTable{b, int(binary.LittleEndian.Uint32(b))} }

// field is the position of a field's value, 0 when it is not set.
func (t flatTable) field(i int) int {
	offsets := t.at - int(int32(binary.LittleEndian.Uint32(t.b[t.at:])))
	if 4+2*i >= int(binary.LittleEndian.Uint16(t.b[offsets:])) {
		return 0
	}
	if o := int(binary.LittleEndian.Uint16(t.b[offsets+4+2*i:])); o > 0 {
		return t.at + o
	}
	return 0
}

func (t flatTable) int64(at int) int64 {
	if at == 0 {
		return 0
	}
	return int64(binary.LittleEndian.Uint64(t.b[at:]))
}

func (t flatTable) byte(at int) byte {
	if at == 0 {
		return 0
	}
	return t.b[at]
}

func (t flatTable) put(at int, v int64) { binary.LittleEndian.PutUint64(t.b[at:], uint64(v)) }

// table and vector follow the offset at a position.
func (t flatTable) table(at int) flatTable {
	return flatTable{t.b, at + int(binary.LittleEndian.Uint32(t.b[at:]))}
}

// The elements of a vector are width bytes each; a vector that claims more of
// them than there are bytes panics like any look behind the end.
func (t flatTable) vector(at, width int) flatVector {
	if at == 0 {
		return flatVector{t: t}
	}
	at += int(binary.LittleEndian.Uint32(t.b[at:]))
	v := flatVector{t: t, at: at + 4, n: int(binary.LittleEndian.Uint32(t.b[at:]))}
	_ = t.b[v.at : v.at+v.n*width]
	return v
}
