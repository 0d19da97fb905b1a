package batch

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Found is what the given paths lead to.
type Found struct {
	Recordings []string // in path order, without repetition
	// Problems are paths that lead nowhere, with the reason.
	Problems []Problem
	// LeftAlone are files in the given folders that do not look like
	// recordings.
	LeftAlone []string
}

// Problem is a path and why nothing came of it.
type Problem struct {
	Path   string
	Reason string
	Remedy string
}

// Discover finds the recordings that the paths lead to. A file that is named
// itself is always taken; inside folders, files are taken by their extension
// or their first bytes, dot files are passed over. except names files that
// are not recordings, such as the flight list.
func Discover(paths []string, except ...string) Found {
	var out Found
	skip := map[string]bool{}
	for _, e := range except {
		skip[filepath.Clean(e)] = true
	}
	for _, p := range paths {
		p = filepath.Clean(p)
		info, err := os.Stat(p)
		switch {
		case err != nil:
			out.Problems = append(out.Problems, Problem{p, reason(err), "check the path"})
		case !info.IsDir():
			out.Recordings = append(out.Recordings, p)
		default:
			out.folder(p, skip)
		}
	}
	slices.Sort(out.Recordings)
	out.Recordings = slices.Compact(out.Recordings)
	return out
}

func (f *Found) folder(root string, skip map[string]bool) {
	before := len(f.Recordings)
	problems := len(f.Problems)
	_ = filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			f.Problems = append(f.Problems, Problem{p, reason(err), "check its permissions"})
			return nil
		case p != root && strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return filepath.SkipDir
			}
		case d.IsDir() || skip[p]:
		case recording(p):
			f.Recordings = append(f.Recordings, p)
		default:
			f.LeftAlone = append(f.LeftAlone, p)
		}
		return nil
	})
	if len(f.Recordings) == before && len(f.Problems) == problems {
		f.Problems = append(f.Problems, Problem{root, "there is no recording in this folder", "name the folder that holds the CSV, Parquet or Arrow files"})
	}
}

// extensions that recordings come with.
var extensions = []string{".csv", ".tsv", ".txt.gz", ".gz", ".zst", ".parquet", ".arrow", ".arrows", ".feather", ".ipc"}

// magics are the first bytes of the containers that have any.
var magics = [][]byte{[]byte("PAR1"), []byte("ARROW1"), {0x1f, 0x8b}, {0x28, 0xb5, 0x2f, 0xfd}}

// recording says whether a file inside a folder looks like a recording.
func recording(path string) bool {
	name := strings.ToLower(filepath.Base(path))
	for _, e := range extensions {
		if strings.HasSuffix(name, e) {
			return true
		}
	}
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 8)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return false
	}
	return slices.ContainsFunc(magics, func(m []byte) bool { return bytes.HasPrefix(head[:n], m) })
}

// reason is the innermost message of an error of the file system.
func reason(err error) string {
	for e := errors.Unwrap(err); e != nil; e = errors.Unwrap(e) {
		err = e
	}
	return err.Error()
}
