package table

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"

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
}

func (c *cap64) Read(p []byte) (int, error) {
	if c.left <= 0 {
		// The end of the data may lie exactly at the limit.
		if n, err := c.r.Read(p[:min(1, len(p))]); n == 0 {
			return 0, err
		}
		return 0, errTooMuch
	}
	n, err := c.r.Read(p[:min(int64(len(p)), c.left)])
	c.left -= int64(n)
	return n, err
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

// decompress undoes c. The close function must be called when the reader is
// not needed any more.
func decompress(r io.Reader, c compression, l *Limits) (io.Reader, func(), error) {
	nothing := func() {}
	// Reads of 128 KiB, so that the hash is fed in large pieces.
	const piece = 128 << 10
	switch c {
	case gzipped:
		z, err := gzip.NewReader(bufio.NewReaderSize(r, piece))
		if err != nil {
			return nil, nothing, fmt.Errorf("gzip: %w", err)
		}
		return &cap64{z, l.Decompressed}, nothing, nil
	case zstdded:
		// One at a time means in this goroutine: the decoder starts none.
		z, err := zstd.NewReader(bufio.NewReaderSize(r, piece), zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true),
			zstd.WithDecoderMaxWindow(uint64(max(l.PageBytes, zstd.MinWindowSize))), zstd.WithDecoderMaxMemory(uint64(l.PageBytes)))
		if err != nil {
			return nil, nothing, fmt.Errorf("zstd: %w", err)
		}
		return &cap64{z, l.Decompressed}, z.Close, nil
	}
	return r, nothing, nil
}

// Digest is the SHA-256 of a file's bytes in hexadecimal, and how many bytes
// they are. It serves files that Open refuses.
func Digest(path string) (sha256hex string, bytes int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, systemError(path, err)
	}
	defer f.Close()
	t := newTally(f)
	if _, err := io.CopyBuffer(struct{ io.Writer }{io.Discard}, t, make([]byte, 256<<10)); err != nil {
		return "", 0, systemError(path, err)
	}
	sha256hex, bytes = t.digest()
	return sha256hex, bytes, nil
}
