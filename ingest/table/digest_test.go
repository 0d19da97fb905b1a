package table_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"rollonset/ingest/table"
)

// The digest is that of the bytes on disk, however the text lies in the blocks
// in which it is read: hashing runs beside the reading, and a block that was
// overwritten too early would show here or to the race detector.
func TestDigestBesideReading(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	rows := func(bytes int, cell func() string) string {
		b := strings.Builder{}
		for b.WriteString("a,b\n"); b.Len() < bytes; {
			fmt.Fprintf(&b, "%d,%s\n", r.IntN(1e6), cell())
		}
		return b.String()
	}
	number := func() string { return fmt.Sprint(r.IntN(1e9)) }
	wide := func() string { return `"` + strings.Repeat("x\n", 300_000+r.IntN(9)) + `"` }
	large := rows(4<<20, number)
	tests := map[string][]byte{
		"one block":        []byte(rows(400_000, number)),
		"just two":         []byte(rows(524_300, number)),
		"several":          []byte(large),
		"no end of line":   []byte(large[:len(large)-1]),
		"quoted":           []byte(rows(2<<20, func() string { return `"1"` })),
		"cells of a block": []byte(rows(4<<20, wide)),
		"UTF-16":           []byte(asUTF16(large, binary.LittleEndian)),
		"gzip":             asGzip(t, []byte(large)),
		"zstd":             asZstd(t, []byte(large)),
		"Parquet":          asParquet(t, sampleRows(20_000)),
	}
	for name, content := range tests {
		t.Run(name, func(t *testing.T) {
			digestAgrees(t, put(t, content), content)
		})
	}
}

// digestAgrees reads a file twice and holds its digest after either reading
// against that of its bytes.
func digestAgrees(t *testing.T, path string, content []byte) {
	t.Helper()
	sum := sha256.Sum256(content)
	f, err := table.Open(path, table.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for range 2 {
		if _, err := f.Read([]table.Want{{Column: 0, As: table.Number}}); err != nil {
			t.Fatal(err)
		}
		if got, n, err := f.Digest(); err != nil || n != int64(len(content)) || got != hex.EncodeToString(sum[:]) {
			t.Fatalf("digest %s of %d bytes (%v), want %x of %d", got, n, err, sum, len(content))
		}
	}
}

// A file that is left half-way, or that turns out to be damaged, can be closed
// while it is being hashed.
func TestDigestGivenUp(t *testing.T) {
	good := bytes.Repeat([]byte("1,2\n"), 200_000)
	path := put(t, append([]byte("a,b\n"), append(good, "1,2,3\n"...)...))
	f, err := table.Open(path, table.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Read([]table.Want{{Column: 0, As: table.Number}}); err == nil {
		t.Error("the damaged row was read")
	}
	if err := f.Close(); err != nil {
		t.Error(err)
	}
}

// The same of a file that is hashed in a pass of its own, by the time it was read
// or after.
func TestDigestOfItsOwn(t *testing.T) {
	path := put(t, asParquet(t, sampleRows(50_000)))
	for range 20 {
		f, err := table.Open(path, table.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Read([]table.Want{{Column: 0, As: table.Number}}); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}
