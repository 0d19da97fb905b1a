package table

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// Options are a caller's choices.
type Options struct {
	// NoSample are cell texts that stand for "no sample", beside blank and NaN.
	// One that is a number, like -9999, also counts in other spellings
	// (-9999.0) and in the numeric columns of binary containers.
	NoSample []string
	// Limits bounds the reader; zero fields stand for DefaultLimits.
	Limits Limits

	// The rest is about CSV text and may be left zero.

	// Names are column names of which the header holds one at least. They tell
	// it from the lines before it.
	Names []string
	// Delimiter separates cells: ',', ';' or a tab; 0 finds it out.
	Delimiter byte
	// Decimal is the decimal mark: '.' or ','; 0 finds it out.
	Decimal byte
	// IsUnit says whether a text is a unit of measure, so that a row of units
	// below the header is told from data. Nil: only texts in brackets are.
	IsUnit func(string) bool
}

// Column is one column of a file.
type Column struct {
	// Name as the file has it, without spaces around it. Names can repeat (a
	// note of Data says so) and can be empty. A nested Parquet column has its
	// path, joined by points.
	Name string
	// Unit is the field's metadata entry "unit" of Arrow or the cell of a row of
	// units below a CSV header, without brackets; "" elsewhere.
	Unit string
	// Meta is all metadata of the field; nil when there is none.
	Meta map[string]string
	// Type is the container's own word for what the cells are, "text" in CSV.
	Type string
}

// File is an open file whose header has been read. It is not safe for
// concurrent use.
type File struct {
	path    string
	file    *os.File
	size    int64
	opt     Options
	limits  Limits
	none    *noSample
	format  string
	columns []Column
	meta    map[string]string
	body    body
	route   *router // while a long file is read
	sift    *sifter // while rows may be passed over
	begun   *pass   // to find out what the file is; nil when it is under way

	hashing     *hashing // of a file that no pass reads as a whole; nil before
	digested    bool
	digest      string
	digestBytes int64
}

// body is what the containers differ in.
type body interface {
	// read gives every column its samples and fills d.Rows and d.Notes.
	read(cols []*column, d *Data) error
	stop() // frees what a pass that did not end still holds
}

// Open finds out what the file is and reads its header. Every error is an
// *Error.
func Open(path string, opt Options) (f *File, err error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, systemError(path, err)
	}
	defer func() {
		if err != nil {
			file.Close()
			f = nil
		}
	}()
	defer guard(path, new(*Data), &err)
	info, err := file.Stat()
	switch {
	case err != nil:
		return nil, systemError(path, err)
	case info.IsDir():
		return nil, &Error{File: path, Cause: "this is a folder", Remedy: "name a file in it"}
	case !info.Mode().IsRegular():
		return nil, &Error{File: path, Cause: "this is no regular file", Remedy: "copy its data into a file first"}
	case info.Size() == 0:
		return nil, &Error{File: path, Cause: "the file is empty", Remedy: transferAgain}
	}
	f = &File{path: path, file: file, size: info.Size(), opt: opt, limits: opt.Limits.orDefault(), none: newNoSample(opt.NoSample)}
	if err := f.open(); err != nil {
		return nil, err
	}
	return f, nil
}

// systemError says what the operating system refused.
func systemError(path string, err error) error {
	e := &Error{File: path, Cause: err.Error(), Err: err}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		e.Cause, e.Remedy = "there is no such file", "check the path"
	case errors.Is(err, fs.ErrPermission):
		e.Cause, e.Remedy = "reading it is not permitted", "ask for the right to read it"
	}
	return e
}

// Format is "CSV", "Parquet", "Arrow IPC file" or "Arrow IPC stream", followed
// by " gzip" or " zstd" when that lies around it.
func (f *File) Format() string { return f.format }

// Columns are the columns in the order of the file. Want.Column counts them
// from 0. The slice belongs to the File.
func (f *File) Columns() []Column { return f.columns }

// Metadata are the key-value pairs of a Parquet or Arrow file as a whole, or
// the lines before the header of a CSV file; nil when there are none. A line
// that is no pair of key and value has the key "line 3".
func (f *File) Metadata() map[string]string { return f.meta }

// Read decodes the wanted columns in one pass over the file. It may be called
// again. On an error nothing of the file may be used: damage can show late.
func (f *File) Read(wants []Want) (d *Data, err error) { return f.ReadSifted(wants, nil) }

// ReadSifted is Read, passing over the rows for which the sift's gate is shut:
// of those only the columns that the sift names are decoded. The shape of
// every row is checked all the same. A nil sift passes over nothing.
func (f *File) ReadSifted(wants []Want, sift *Sift) (d *Data, err error) {
	defer func() {
		if err != nil {
			d = nil
		}
	}()
	defer guard(f.path, &d, &err)
	cols := make([]*column, len(wants))
	for i, w := range wants {
		if w.Column < 0 || w.Column >= len(f.columns) {
			return nil, fmt.Errorf("%s: column %d is wanted, the file has %d", f.path, w.Column, len(f.columns))
		}
		if w.As >= ways {
			return nil, fmt.Errorf("%s: column %d is wanted in an unknown way (%d)", f.path, w.Column, w.As)
		}
		cols[i] = newColumn(w, f.columns[w.Column].Name, f.none, &f.limits)
	}
	if f.sift, err = newSifter(sift, cols); err != nil {
		return nil, fmt.Errorf("%s: %w", f.path, err)
	}
	defer func() { f.sift = nil }()
	d = &Data{Columns: make([]ColumnData, 0, len(wants))}
	if err := f.body.read(cols, d); err != nil {
		f.body.stop()
		return nil, err
	}
	for _, c := range cols {
		c.finish(d)
	}
	if f.sift != nil {
		d.Skipped = f.sift.skipped
	}
	return d, nil
}

// bounded checks what was read so far against the limits.
func (f *File) bounded(cols []*column, rows int64) error {
	var samples int64
	for _, c := range cols {
		samples += int64(c.out.Len())
	}
	if f.route != nil {
		for _, c := range f.route.outs {
			samples += int64(c.out.Len())
		}
		if err := f.route.flush(rows); err != nil {
			return wrap(f.path, "", err, "")
		}
	}
	switch {
	case rows > f.limits.Rows:
		return &Error{File: f.path, Cause: fmt.Sprintf("more than %d rows", f.limits.Rows), Remedy: raiseLimit}
	case samples > f.limits.Samples:
		return &Error{File: f.path, Cause: fmt.Sprintf("the wanted columns have more than %d samples", f.limits.Samples), Remedy: raiseLimit}
	}
	return nil
}

// Digest is the SHA-256 of the bytes on disk in hexadecimal, and how many they
// are. After a Read of a CSV or Parquet file it costs nothing more; otherwise it
// reads the file.
func (f *File) Digest() (sha256hex string, bytes int64, err error) {
	if f.digested {
		return f.digest, f.digestBytes, nil
	}
	if f.hashing == nil {
		f.hashing = &hashing{done: make(chan struct{})}
		f.hashing.run(f.section())
	}
	h := f.hashing
	if <-h.done; h.err != nil {
		return "", 0, systemError(f.path, h.err)
	}
	f.digest, f.digestBytes, f.digested = h.hex, h.bytes, true
	return f.digest, f.digestBytes, nil
}

// Close frees the file. Data that was read stays valid.
func (f *File) Close() error {
	f.body.stop()
	if f.hashing != nil {
		f.hashing.stop.Store(true)
		<-f.hashing.done
	}
	if err := f.file.Close(); err != nil {
		return systemError(f.path, err)
	}
	return nil
}
