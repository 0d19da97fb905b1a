package table

import (
	"bytes"
	"encoding/binary"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// A utf16Reader turns UTF-16 into UTF-8 as it is read. An unpaired surrogate
// becomes U+FFFD, as everywhere in Unicode; half a unit at the end is the mark
// of a file that is cut off.
type utf16Reader struct {
	src   io.Reader
	order binary.ByteOrder
	raw   [64 << 10]byte
	n     int    // bytes in raw that were not decoded
	high  uint16 // a high surrogate whose low one has not come yet
	out   []byte // decoded and not handed on
	err   error
}

// utf16Order is the byte order that a mark at the start of the text tells, or
// nil.
func utf16Order(head []byte) binary.ByteOrder {
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}):
		return binary.LittleEndian
	case bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return binary.BigEndian
	}
	return nil
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	for len(u.out) == 0 {
		if u.err != nil {
			return 0, u.err
		}
		u.decode()
	}
	n := copy(p, u.out)
	u.out = u.out[n:]
	return n, nil
}

// decode reads a piece and decodes its whole units.
func (u *utf16Reader) decode() {
	k, err := u.src.Read(u.raw[u.n:])
	u.n += k
	if err == io.EOF && u.n%2 == 1 {
		err = io.ErrUnexpectedEOF
	}
	u.err = err
	out := make([]byte, 0, u.n+u.n/2+8)
	i := 0
	for ; i+1 < u.n; i += 2 {
		out = u.unit(out, u.order.Uint16(u.raw[i:]))
	}
	if err == io.EOF && u.high != 0 {
		out = utf8.AppendRune(out, utf8.RuneError)
		u.high = 0
	}
	u.n = copy(u.raw[:], u.raw[i:u.n])
	u.out = out
}

// unit adds one unit of 16 bits.
func (u *utf16Reader) unit(out []byte, c uint16) []byte {
	if u.high != 0 {
		r := utf16.DecodeRune(rune(u.high), rune(c))
		u.high = 0
		out = utf8.AppendRune(out, r)
		if r != utf8.RuneError {
			return out
		}
	}
	switch {
	case c >= 0xd800 && c < 0xdc00:
		u.high = c
		return out
	case c < utf8.RuneSelf:
		return append(out, byte(c))
	}
	return utf8.AppendRune(out, rune(c)) // a lone low surrogate becomes U+FFFD
}
