package table

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"
	"sync"
	"sync/atomic"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

// A tally hashes and counts what passes through it. It stands between the
// file and whoever reads it, so that the digest costs no second reading.
type tally struct {
	r     io.Reader
	hash  hash.Hash
	bytes int64
	// beside has each piece hashed while its reader is at work on it: what a Read
	// filled must then stay as it is until the next Read is done. A goroutine for
	// that lives as long as one piece and cannot panic.
	beside  bool
	behind  bool          // a piece is being hashed
	hashing chan struct{} // gets one when it is
}

func newTally(r io.Reader) *tally {
	return &tally{r: r, hash: sha256.New(), hashing: make(chan struct{}, 1)}
}

// smallPiece is hashed sooner than a goroutine for it is started.
const smallPiece = 16 << 10

func (t *tally) Read(p []byte) (int, error) {
	n, err := t.r.Read(p)
	t.bytes += int64(n)
	t.wait() // the pieces are hashed in their order
	if t.beside && n > smallPiece {
		t.behind = true
		go func() {
			t.hash.Write(p[:n])
			t.hashing <- struct{}{}
		}()
	} else {
		t.hash.Write(p[:n])
	}
	return n, err
}

// wait until nothing is being hashed.
func (t *tally) wait() {
	if t.behind {
		<-t.hashing
		t.behind = false
	}
}

func (t *tally) digest() (string, int64) {
	t.wait()
	return hex.EncodeToString(t.hash.Sum(nil)), t.bytes
}

// A cap lets no more than left bytes through.
type cap64 struct {
	r    io.Reader
	left int64
	// spoilt says that the reader below failed, or panicked and never came back.
	spoilt bool
}

func (c *cap64) Read(p []byte) (int, error) {
	if c.left <= 0 {
		// The end of the data may lie exactly at the limit.
		if n, err := c.r.Read(p[:min(1, len(p))]); n == 0 {
			return 0, err
		}
		return 0, errTooMuch
	}
	c.spoilt = true
	n, err := c.r.Read(p[:min(int64(len(p)), c.left)])
	c.spoilt = err != nil && err != io.EOF
	c.left -= int64(n)
	return n, err
}

// A pass over a file: what it holds, unpacked, and on the way there hashed and
// counted.
type pass struct {
	path string
	raw  *tally
	r    io.Reader
	done func() // when nothing more is read
}

// pass begins at the start of the file, or goes on with the pass that open began.
func (f *File) pass(around compression) (*pass, error) {
	if p := f.begun; p != nil {
		f.begun = nil
		return p, nil
	}
	if _, err := f.file.Seek(0, io.SeekStart); err != nil {
		return nil, systemError(f.path, err)
	}
	p := &pass{path: f.path, raw: newTally(f.file)}
	var err error
	var done func()
	p.raw.beside = around != plain // pieces keep what they read last
	if p.r, done, err = decompress(p.raw, around, &f.limits); err != nil {
		return nil, p.fail(err)
	}
	p.done = func() {
		p.raw.wait()
		done()
	}
	return p, nil
}

// fail says how far the file was read, where there is no line to name.
func (p *pass) fail(err error) error {
	return wrap(p.path, fmt.Sprintf("before byte %d", p.raw.bytes), err, transferAgain)
}

// compression is what lies around a container.
type compression uint8

const (
	plain compression = iota
	gzipped
	zstdded
)

// suffix is the compression's part in File.Format.
func (c compression) suffix() string { return [...]string{"", " gzip", " zstd"}[c] }

// decompress undoes c. The close function must be called once when the reader
// is not needed any more, and nothing may be read from it after.
func decompress(r io.Reader, c compression, l *Limits) (io.Reader, func(), error) {
	nothing := func() {}
	switch c {
	case gzipped:
		d, _ := gzips.Get().(*gunzip)
		if d == nil {
			d = &gunzip{in: newPieces()}
		}
		if err := d.z.Reset(d.in.of(r)); err != nil {
			return nil, nothing, fmt.Errorf("gzip: %w", err)
		}
		out := &cap64{r: &d.z, left: l.Decompressed}
		return out, func() { keepUnspoilt(&gzips, out, d, d.in) }, nil
	case zstdded:
		d, err := newUnzstd(l)
		if err == nil {
			err = d.z.Reset(d.in.of(r))
		}
		if err != nil {
			return nil, nothing, fmt.Errorf("zstd: %w", err)
		}
		out := &cap64{r: d.z, left: l.Decompressed}
		return out, func() { keepUnspoilt(&zstds, out, d, d.in) }, nil
	}
	return r, nothing, nil
}

// keepUnspoilt keeps a decompressor for the next file, unless it failed in this
// one: nobody knows then what state it is in.
func keepUnspoilt(p *sync.Pool, out *cap64, decompressor any, in *pieces) {
	if !out.spoilt {
		in.of(nil)
		p.Put(decompressor)
	}
}

// pieces read a compressed file in large pieces, for the hash. Two take turns, so
// that the one before stays as it is: it may still be hashed.
type pieces struct {
	src  io.Reader
	buf  [2][]byte
	turn int
	rest []byte        // of the latest one
	in   *bufio.Reader // over them, for decompressors that take single bytes
}

func newPieces() *pieces {
	const size = 256 << 10
	return &pieces{buf: [2][]byte{make([]byte, size), make([]byte, size)}, in: bufio.NewReader(nil)}
}

// of begins with another file.
func (p *pieces) of(src io.Reader) *bufio.Reader {
	p.src, p.rest = src, nil
	p.in.Reset(p)
	return p.in
}

func (p *pieces) Read(b []byte) (int, error) {
	if len(p.rest) == 0 {
		p.turn = 1 - p.turn
		n, err := p.src.Read(p.buf[p.turn])
		if n == 0 {
			return 0, err
		}
		p.rest = p.buf[p.turn][:n] // a file says once more what ended it
	}
	n := copy(b, p.rest)
	p.rest = p.rest[n:]
	return n, nil
}

// Decompressors whose file was read, for the next one: what they hold is as
// large as the text of an hour and takes a third of their time to set up.
var gzips, zstds sync.Pool

type gunzip struct {
	in *pieces
	z  gzip.Reader
}

type unzstd struct {
	in   *pieces
	z    *zstd.Decoder
	most int64 // its limit
}

func newUnzstd(l *Limits) (*unzstd, error) {
	if d, _ := zstds.Get().(*unzstd); d != nil && d.most == l.PageBytes {
		return d, nil
	}
	// One at a time means in this goroutine: the decoder starts none.
	z, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true),
		zstd.WithDecoderMaxWindow(uint64(max(l.PageBytes, zstd.MinWindowSize))), zstd.WithDecoderMaxMemory(uint64(l.PageBytes)))
	return &unzstd{in: newPieces(), z: z, most: l.PageBytes}, err
}

// A hashing is that of a whole file in a pass of its own. It stops early when
// nobody needs it any more.
type hashing struct {
	stop  atomic.Bool
	done  chan struct{} // closed when the rest is there
	hex   string
	bytes int64
	err   error
}

func (h *hashing) run(r io.Reader) {
	defer close(h.done)
	h.hex, h.bytes, h.err = digestOf(r, &h.stop)
}

// section is the whole file with a place of its own in it, so that no pass is
// disturbed.
func (f *File) section() io.Reader { return io.NewSectionReader(f.file, 0, 1<<62) }

// hashBeside has the file hashed while it is read, once.
func (f *File) hashBeside() {
	if f.hashing == nil && f.size > smallPiece {
		f.hashing = &hashing{done: make(chan struct{})}
		go f.hashing.run(f.section())
	}
}

func digestOf(r io.Reader, stop *atomic.Bool) (sha256hex string, bytes int64, err error) {
	t := newTally(r)
	block := newBuffer(blockBytes + slack)
	defer freeBuffer(block)
	for !stop.Load() {
		switch _, err := t.Read(block); {
		case err == io.EOF:
			sha256hex, bytes = t.digest()
			return sha256hex, bytes, nil
		case err != nil:
			return "", 0, err
		}
	}
	return "", 0, os.ErrClosed
}

// Digest is the SHA-256 of a file's bytes in hexadecimal, and how many bytes
// they are. It serves files that Open refuses.
func Digest(path string) (sha256hex string, bytes int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, systemError(path, err)
	}
	defer f.Close()
	if sha256hex, bytes, err = digestOf(f, new(atomic.Bool)); err != nil {
		return "", 0, systemError(path, err)
	}
	return sha256hex, bytes, nil
}
