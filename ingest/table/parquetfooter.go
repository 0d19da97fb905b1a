package table

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// checkFooter looks at the footer before the library decodes it. The library
// makes room for as many bytes and entries as the footer claims to have, and
// follows structures inside structures as deep as they go.
func checkFooter(f *File) error {
	const ends = 12 // magic at both ends and the length
	if f.size < ends {
		return &Error{File: f.path, Cause: "the Parquet file is shorter than an empty one", Remedy: transferAgain}
	}
	var tail [8]byte
	if _, err := f.file.ReadAt(tail[:], f.size-8); err != nil {
		return systemError(f.path, err)
	}
	if string(tail[4:]) != string(parquetMagic) {
		return &Error{File: f.path, Place: fmt.Sprintf("byte %d", f.size-4), Cause: "the Parquet file does not end as one: it is cut off", Remedy: transferAgain}
	}
	n := int64(binary.LittleEndian.Uint32(tail[:]))
	place := fmt.Sprintf("byte %d", f.size-8)
	switch {
	case n > f.size-ends:
		return &Error{File: f.path, Place: place, Cause: fmt.Sprintf("the footer claims %d bytes, the file has %d", n, f.size), Remedy: transferAgain}
	case n > f.limits.PageBytes:
		return &Error{File: f.path, Place: place, Cause: fmt.Sprintf("the footer has %d bytes, the limit is %d", n, f.limits.PageBytes), Remedy: raiseLimit}
	}
	footer := make([]byte, n)
	if _, err := f.file.ReadAt(footer, f.size-8-n); err != nil {
		return systemError(f.path, err)
	}
	// Each column has an entry in the schema and some in each row group.
	w := compactWalk{b: footer, entries: 64 * f.limits.Columns}
	if err := w.structure(0); err != nil {
		return wrap(f.path, "footer", err, transferAgain)
	}
	return nil
}

// A compactWalk goes over a structure in the compact serialisation that
// Parquet writes its metadata in, without keeping anything. Each method steps
// over one thing.
type compactWalk struct {
	b       []byte // what is left
	entries int    // how many more entries of lists there may be

	// The schema lists its fields depth first, each with how many it holds.
	inSchema bool
	open     []uint64 // for each field that is being walked through, how many are still to come
}

var (
	errFooterEnds = errors.New("the footer claims more than it holds")
	errFooterDeep = errors.New("the footer is nested too deep or has too many entries")
)

// deepestFooter is more than any part of the published metadata needs.
const deepestFooter = 24

// The types of the compact serialisation.
const (
	compactStop = iota
	compactTrue
	compactFalse
	compactByte
	compactInt16
	compactInt32
	compactInt64
	compactDouble
	compactBytes
	compactList
	compactSet
	compactMap
	compactStruct
)

// schemaField is the number of the schema in the footer, childrenField that of
// the count of children in an entry of it, and entryDepth how deep such an
// entry lies (parquet.thrift, FileMetaData and SchemaElement).
const (
	schemaField   = 2
	childrenField = 5
	entryDepth    = 2
)

func (w *compactWalk) structure(depth int) error {
	if depth > deepestFooter {
		return errFooterDeep
	}
	var field, children uint64
	for {
		head, err := w.one()
		if err != nil {
			return err
		}
		kind := head & 15
		if kind == compactStop {
			if w.inSchema && depth == entryDepth {
				return w.entry(children)
			}
			return nil
		}
		if delta := uint64(head >> 4); delta > 0 {
			field += delta
		} else if field, err = w.varint(); err != nil {
			return err
		} else {
			field /= 2 // zigzag, and never negative
		}
		if depth == 0 {
			w.inSchema = field == schemaField
		}
		switch {
		case kind == compactTrue || kind == compactFalse:
			// The type is the value.
		case kind == compactInt32 && field == childrenField && depth == entryDepth:
			children, err = w.varint()
			children /= 2
		default:
			err = w.value(kind, depth)
		}
		if err != nil {
			return err
		}
	}
}

// entry takes note of an entry of the schema that holds so many others. The
// library, and walk, call themselves for each level.
func (w *compactWalk) entry(children uint64) error {
	if n := len(w.open); n > 0 {
		w.open[n-1]--
	}
	if children > 0 {
		w.open = append(w.open, children)
	}
	for n := len(w.open); n > 0 && w.open[n-1] == 0; n-- {
		w.open = w.open[:n-1]
	}
	if len(w.open) > deepestFooter {
		return errFooterDeep
	}
	return nil
}

func (w *compactWalk) value(kind byte, depth int) error {
	switch kind {
	case compactTrue, compactFalse, compactByte:
		return w.skip(1)
	case compactInt16, compactInt32, compactInt64:
		_, err := w.varint()
		return err
	case compactDouble:
		return w.skip(8)
	case compactBytes:
		n, err := w.varint()
		if err != nil {
			return err
		}
		return w.skip(n)
	case compactList, compactSet:
		return w.list(depth)
	case compactMap:
		return w.pairs(depth)
	case compactStruct:
		return w.structure(depth + 1)
	}
	return fmt.Errorf("the footer holds a value of unknown type %d", kind)
}

func (w *compactWalk) list(depth int) error {
	head, err := w.one()
	if err != nil {
		return err
	}
	n := uint64(head >> 4)
	if n == 15 {
		if n, err = w.varint(); err != nil {
			return err
		}
	}
	return w.entriesOf(n, depth, head&15)
}

func (w *compactWalk) pairs(depth int) error {
	n, err := w.varint()
	if err != nil || n == 0 {
		return err
	}
	kinds, err := w.one()
	if err != nil {
		return err
	}
	return w.entriesOf(n, depth, kinds>>4, kinds&15)
}

// entriesOf steps over n entries, each made of values of the kinds.
func (w *compactWalk) entriesOf(n uint64, depth int, kinds ...byte) error {
	switch {
	case n > uint64(len(w.b)):
		return errFooterEnds // an entry has at least a byte
	case n > uint64(w.entries) || depth > deepestFooter:
		return errFooterDeep
	}
	w.entries -= int(n)
	for range n {
		for _, kind := range kinds {
			if err := w.value(kind, depth+1); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *compactWalk) one() (byte, error) {
	if len(w.b) == 0 {
		return 0, errFooterEnds
	}
	c := w.b[0]
	w.b = w.b[1:]
	return c, nil
}

func (w *compactWalk) skip(n uint64) error {
	if n > uint64(len(w.b)) {
		return errFooterEnds
	}
	w.b = w.b[n:]
	return nil
}

func (w *compactWalk) varint() (uint64, error) {
	v, n := binary.Uvarint(w.b)
	if n <= 0 {
		return 0, errFooterEnds
	}
	w.b = w.b[n:]
	return v, nil
}
