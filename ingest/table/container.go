package table

import (
	"bytes"
	"io"
)

// headBytes is how much of a file is enough to tell what it is.
const headBytes = 64

// open looks at the first bytes and sets the format and the body.
func (f *File) open() error {
	head, err := headOf(io.NewSectionReader(f.file, 0, f.size))
	if err != nil {
		return systemError(f.path, err)
	}
	around := compressionOf(head)
	if around != plain {
		if head, err = f.lookInto(around); err != nil {
			return err
		}
	}
	if err := foreign(head, around); err != nil {
		return wrap(f.path, "", err, "")
	}
	if bytes.HasPrefix(head, parquetMagic) {
		if around != plain {
			return &Error{File: f.path, Cause: "a Parquet file inside" + around.suffix() + ", which has to be read from its end", Remedy: "unpack it first"}
		}
		p, err := openParquet(f)
		if err == nil {
			f.format, f.body = "Parquet", p
		}
		return err
	}
	for i, magic := range [][]byte{arrowMagic, arrowMessage} {
		if !bytes.HasPrefix(head, magic) {
			continue
		}
		a, err := openArrow(f, around, i == 0)
		if err == nil {
			f.format, f.body = [...]string{"Arrow IPC file", "Arrow IPC stream"}[i]+around.suffix(), a
		}
		return err
	}
	c, err := openCSV(f, around)
	if err != nil {
		return err
	}
	f.format, f.body = "CSV"+around.suffix(), c
	return nil
}

// lookInto unpacks the first bytes of a compressed file. The pass is kept for
// whoever reads the file.
func (f *File) lookInto(around compression) (head []byte, err error) {
	p, err := f.pass(around)
	if err != nil {
		return nil, err
	}
	if head, err = headOf(p.r); err != nil {
		return nil, p.fail(err)
	}
	if len(head) == 0 {
		return nil, &Error{File: f.path, Cause: "there is nothing inside the compressed file", Remedy: transferAgain}
	}
	p.r = io.MultiReader(bytes.NewReader(head), p.r)
	f.begun = p
	return head, nil
}

// headOf is the first bytes of r, fewer when it is shorter.
func headOf(r io.Reader) ([]byte, error) {
	head := make([]byte, headBytes)
	n, err := io.ReadFull(r, head)
	if err == io.EOF || err == io.ErrUnexpectedEOF && n > 0 {
		err = nil
	}
	return head[:n], err
}

func compressionOf(head []byte) compression {
	switch {
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}):
		return gzipped
	case bytes.HasPrefix(head, []byte{0x28, 0xb5, 0x2f, 0xfd}):
		return zstdded
	}
	return plain
}

// strangers are files that are no recordings, by their first bytes.
var strangers = []struct{ magic, what, remedy string }{
	{"PK\x03\x04", "a ZIP archive or an office document", "unpack it, or export it as CSV"},
	{"PK\x05\x06", "an empty ZIP archive", transferAgain},
	{"\x89PNG", "a PNG picture", "name a recording"},
	{"\xff\xd8\xff", "a JPEG picture", "name a recording"},
	{"GIF8", "a GIF picture", "name a recording"},
	{"%PDF-", "a PDF document", "export the data as CSV"},
	{"{\\rtf", "a text-processor document", "export the data as CSV"},
	{"\xd0\xcf\x11\xe0", "an office document", "export it as CSV"},
	{"BZh9", "a file compressed with bzip2", "unpack it first"},
	{"\xfd7zXZ\x00", "a file compressed with xz", "unpack it first"},
	{"7z\xbc\xaf\x27\x1c", "a 7z archive", "unpack it first"},
	{"\x04\x22\x4d\x18", "a file compressed with LZ4", "unpack it first"},
	{"\x7fELF", "a program", "name a recording"},
	{"MZ", "a program", "name a recording"},
	{"SQLite format 3\x00", "a database", "export the data as CSV"},
	{"\x89HDF", "an HDF5 file", "export the data as CSV or Parquet"},
	{"PARE", "an encrypted Parquet file", "decrypt it first"},
	{"<?xml", "an XML document", "export the data as CSV"},
	{"<!DOC", "a web page", "fetch the file itself, not the page around it"},
	{"<html", "a web page", "fetch the file itself, not the page around it"},
	{"<HTML", "a web page", "fetch the file itself, not the page around it"},
}

// foreign refuses what is known to be something else.
func foreign(head []byte, around compression) error {
	for _, s := range strangers {
		// A program's two letters could also start a column name: a NUL tells.
		if bytes.HasPrefix(head, []byte(s.magic)) && (s.magic != "MZ" || bytes.IndexByte(head, 0) >= 0) {
			return &fault{cause: "this is " + s.what + ", no recording", remedy: s.remedy}
		}
	}
	if around != plain && compressionOf(head) != plain {
		return &fault{cause: "compressed twice", remedy: "unpack it once"}
	}
	return nil
}
