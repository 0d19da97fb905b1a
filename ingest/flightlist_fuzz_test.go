package ingest_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/ingest"
)

// FuzzReadFlightList: whatever bytes lie at the path, they are read or refused
// with a message that begins with the file; what was read has its lines in
// order and a hash for each, and one more reading gives the same list.
func FuzzReadFlightList(f *testing.F) {
	for _, text := range []string{
		"tail,date,start,flight,v1_kt\nZZ-A01,2031-03-12,10:15,MRW001,121\n",
		"\ufefffile,weight_t,cg_%\nr.csv,301.5,24\n",
		"tail,weight_kg,weight_lb\nZZ-A01,1,2\n",
		"file,v1_kt\nr.csv,\"12\n1\"\n",
		"file,captain\nr.csv,NAME\n",
		"",
	} {
		f.Add([]byte(text))
	}
	path := filepath.Join(f.TempDir(), "list.csv")
	f.Fuzz(func(t *testing.T, text []byte) {
		if err := os.WriteFile(path, text, 0o644); err != nil {
			t.Fatal(err)
		}
		l, err := ingest.ReadFlightList(path)
		if (l == nil) == (err == nil) {
			t.Fatalf("list %v and error %v", l, err)
		}
		if err != nil {
			if !strings.HasPrefix(err.Error(), path) {
				t.Fatalf("the error does not begin with the file: %v", err)
			}
			return
		}
		if !slices.IsSortedFunc(l.Entries, func(a, b ingest.FlightEntry) int { return a.Line - b.Line }) {
			t.Fatal("lines out of order")
		}
		again, err := ingest.ReadFlightList(path)
		if err != nil || len(again.Entries) != len(l.Entries) {
			t.Fatalf("read again: %d entries, %v", len(again.Entries), err)
		}
		for i := range l.Entries {
			if l.Entries[i].Hash() != again.Entries[i].Hash() {
				t.Fatalf("line %d has two hashes", l.Entries[i].Line)
			}
		}
	})
}
