package archive

import (
	"bytes"
	"encoding/json"
	"io"
	"sync"
)

// jsonRoom is room for a value as JSON: compact, and indented.
type jsonRoom struct {
	compact  bytes.Buffer
	indented []byte
}

// jsonRooms are used one after the other. One that has become large, by the
// record of a run of very many recordings, is not kept.
var jsonRooms = sync.Pool{New: func() any { return new(jsonRoom) }}

const maxJSONRoom = 1 << 20

// writeJSON writes a value as JSON that a person can read: indented, keys in
// the order of the fields, map keys sorted, "<" as it is.
func writeJSON(w io.Writer, v any) error {
	room := jsonRooms.Get().(*jsonRoom)
	room.compact.Reset()
	enc := json.NewEncoder(&room.compact)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	room.indented = indent(room.indented[:0], room.compact.Bytes())
	_, err := w.Write(room.indented)
	if cap(room.indented) <= maxJSONRoom {
		jsonRooms.Put(room)
	}
	return err
}

// indent appends compact JSON as json.Indent writes it, two spaces a level. That
// one checks again what the encoder has just written, which costs three times
// as much as writing it.
func indent(dst, src []byte) []byte {
	level := 0
	newLine := func() {
		dst = append(dst, '\n')
		for range level {
			dst = append(dst, ' ', ' ')
		}
	}
	for i := 0; i < len(src); i++ {
		switch c := src[i]; c {
		case '"':
			end := i + 1
			for ; src[end] != '"'; end++ {
				if src[end] == '\\' {
					end++
				}
			}
			dst = append(dst, src[i:end+1]...)
			i = end
		case '{', '[':
			dst = append(dst, c)
			if end := c + 2; src[i+1] == end { // of either, the second character after it closes
				dst = append(dst, end)
				i++
				continue
			}
			level++
			newLine()
		case '}', ']':
			level--
			newLine()
			dst = append(dst, c)
		case ',':
			dst = append(dst, c)
			newLine()
		case ':':
			dst = append(dst, c, ' ')
		default:
			dst = append(dst, c)
		}
	}
	return dst
}

// dedent takes the spaces away that stand at the beginning of lines, in place:
// they are half of an indented text, and would be read one by one. The ends of
// the lines stay: no string of JSON may hold one, and a damaged text whose
// string does is still refused.
func dedent(text []byte) []byte {
	out := text[:0]
	for {
		end := bytes.IndexByte(text, '\n')
		if end < 0 {
			return append(out, text...)
		}
		out = append(out, text[:end+1]...)
		text = bytes.TrimLeft(text[end+1:], " ")
	}
}
