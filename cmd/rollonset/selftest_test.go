package main

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"path"
	"strings"
	"testing"
	"testing/fstest"

	"rollonset/sampledata"
)

// reference copies the embedded recordings, so that a test can change them.
func reference(t *testing.T) fstest.MapFS {
	t.Helper()
	out := fstest.MapFS{}
	err := fs.WalkDir(sampledata.Reference, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(sampledata.Reference, p)
		out[p] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestSelftestHolds: with the parts as they are, every claim holds and says on
// how much it rests.
func TestSelftestHolds(t *testing.T) {
	var out bytes.Buffer
	if err := selftest(context.Background(), &out, sampledata.Reference, t.TempDir()); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	if n := strings.Count(out.String(), "\n  holds "); n != 6 || strings.Contains(out.String(), " 0 ") {
		t.Errorf("%d claims hold, want 6 that rest on something:\n%s", n, out.String())
	}
}

// TestSelftestCanFail changes one answer, limit or recording at a time. Each
// must be found and named.
func TestSelftestCanFail(t *testing.T) {
	edit := func(file, from, to string) func(*testing.T, fstest.MapFS) {
		return func(t *testing.T, f fstest.MapFS) {
			text := string(f[file].Data)
			if !strings.Contains(text, from) {
				t.Fatalf("%s has no %q", file, from)
			}
			f[file].Data = []byte(strings.Replace(text, from, to, 1))
		}
	}
	for _, c := range []struct {
		name   string
		change func(*testing.T, fstest.MapFS)
		want   string
	}{
		{"another answer", edit(sampledata.TruthFile, "MRW112.arrow,1,,rejected,", "MRW112.arrow,1,,airborne,"), `outcome is "rejected", the truth is "airborne"`},
		{"another instant", edit(sampledata.TruthFile, "MRW101.csv.gz,1,,airborne,,472.296875,473.296875,476.375", "MRW101.csv.gz,1,,airborne,,472.296875,473.296875,478.375"), "roll start is off by 2."},
		{"another limit", edit(sampledata.FleetDir+"/tj22.yaml", "engines: 2\n", "engines: 2\nattempt: {rolled_from: 55 kt}\n"), "DIFFERS"},
		{"a cut recording", func(_ *testing.T, f fstest.MapFS) {
			for p := range f {
				if path.Ext(p) == ".parquet" {
					f[p].Data = f[p].Data[:len(f[p].Data)/2]
				}
			}
		}, "unreadable: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			changed := reference(t)
			c.change(t, changed)
			var out bytes.Buffer
			err := selftest(context.Background(), &out, changed, t.TempDir())
			if !errors.Is(err, errDifferent) || !strings.Contains(out.String(), c.want) {
				t.Errorf("error %v, want a difference that says %q:\n%s", err, c.want, out.String())
			}
		})
	}
}

// TestReferenceIsSmall: the program carries it about.
func TestReferenceIsSmall(t *testing.T) {
	n := 0
	for _, f := range reference(t) {
		n += len(f.Data)
	}
	if n > 600_000 {
		t.Errorf("the reference recordings are %d bytes, at most 600000 are carried", n)
	}
}
