package table

import (
	"errors"
	"fmt"
	"io"
	"strings"
)

// Error is why a file could not be read, in the four parts that a person
// needs. Any part but File and Cause may be empty.
type Error struct {
	File   string // as it was given
	Place  string // "line 4312", "column N1_2, row 17", "byte 1048576"
	Cause  string // what is wrong
	Remedy string // what to do about it
	Err    error  // what the system or a library said; nil when nobody else did
}

// Error prints "file: place: cause; remedy", without the parts that are
// empty.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Place != "" {
		b.WriteString(": " + e.Place)
	}
	b.WriteString(": " + e.Cause)
	if e.Remedy != "" {
		b.WriteString("; " + e.Remedy)
	}
	return b.String()
}

// Unwrap is the underlying error, or nil.
func (e *Error) Unwrap() error { return e.Err }

// errTooMuch marks a limit that a stream ran into. It travels through the
// decompressors and comes out of the scanner again.
var errTooMuch = errors.New("expands to more than the limit")

// fault is what is wrong with a file and what to do about it; whoever knows
// the file's name, and the place if it is empty here, makes an Error of it.
type fault struct{ place, cause, remedy string }

func (f *fault) Error() string { return f.cause }

// wrap makes an Error of what a library said, unless it is one already.
func wrap(file, place string, err error, remedy string) error {
	var own *Error
	if errors.As(err, &own) {
		return own
	}
	var f *fault
	if errors.As(err, &f) {
		if f.place != "" {
			place = f.place
		}
		return &Error{File: file, Place: place, Cause: f.cause, Remedy: f.remedy}
	}
	cause := err.Error()
	switch {
	case errors.Is(err, errTooMuch):
		remedy = raiseLimit
	case errors.Is(err, io.ErrUnexpectedEOF):
		cause = "the data end too early: the file is cut off"
	}
	return &Error{File: file, Place: place, Cause: cause, Remedy: remedy, Err: err}
}

// guard turns a panic of a library into an error of this file. The libraries
// panic on some damaged files; nothing of the file may be trusted afterwards.
// The rows of d, of which there may be none yet, say how far it was good.
func guard(file string, d **Data, err *error) {
	p := recover()
	if p == nil {
		return
	}
	place := "before the first row"
	if *d != nil && (*d).Rows > 0 {
		place = fmt.Sprintf("after row %d", (*d).Rows)
	}
	*err = &Error{
		File: file, Place: place, Cause: fmt.Sprintf("the file is damaged (the decoder stopped with: %v)", p),
		Remedy: transferAgain,
	}
}

// The remedies that fit several causes.
const (
	transferAgain = "transfer or export the file again"
	saveAsUTF8    = "save the file as UTF-8 text"
)
