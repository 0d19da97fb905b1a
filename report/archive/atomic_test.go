package archive

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := []string{}
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func content(t *testing.T, file string) string {
	t.Helper()
	got, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(got)
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "new", "a.txt")
	for _, want := range []string{"one", "two"} {
		if err := WriteFile(file, text(want)); err != nil {
			t.Fatal(err)
		}
		if got := content(t, file); got != want {
			t.Errorf("content %q, want %q", got, want)
		}
	}
	if got := names(t, filepath.Dir(file)); !slices.Equal(got, []string{"a.txt"}) {
		t.Errorf("files %v", got)
	}
	if runtime.GOOS == "windows" {
		return // has no such modes
	}
	for path, want := range map[string]os.FileMode{file: 0o640, filepath.Dir(file): 0o750} {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		// The user's umask may take more away, and never gives.
		if got := info.Mode().Perm(); got&^want != 0 {
			t.Errorf("%s has mode %o, want at most %o", path, got, want)
		}
	}
}

// A writer that fails or panics midway leaves the old file and nothing else.
func TestWriteFileFails(t *testing.T) {
	broken := errors.New("disk full")
	for name, write := range map[string]func(io.Writer) error{
		"at once": func(io.Writer) error { return broken },
		"midway": func(w io.Writer) error {
			if _, err := w.Write(make([]byte, 1<<20)); err != nil {
				return err
			}
			return broken
		},
		"with a panic": func(io.Writer) error { panic(broken) },
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			old, fresh := filepath.Join(dir, "old"), filepath.Join(dir, "fresh")
			if err := WriteFile(old, text("kept")); err != nil {
				t.Fatal(err)
			}
			for _, file := range []string{old, fresh} {
				func() {
					defer func() {
						if p := recover(); p != nil && p != error(broken) {
							panic(p)
						}
					}()
					if err := WriteFile(file, write); !errors.Is(err, broken) || !strings.Contains(err.Error(), file) {
						t.Errorf("error %v", err)
					}
				}()
			}
			if got := names(t, dir); !slices.Equal(got, []string{"old"}) || content(t, old) != "kept" {
				t.Errorf("files %v, old file %q", got, content(t, old))
			}
		})
	}
}

func TestWriteFileOverFolder(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "a", "b"), 0o750); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(filepath.Join(dir, "a"), text("x")); err == nil {
		t.Error("wrote over a folder")
	}
	if got := names(t, dir); !slices.Equal(got, []string{"a"}) {
		t.Errorf("files %v", got)
	}
}

// What a killed writer left is cleared by the next writer of the same file,
// and files of others stay.
func TestWriteFileSweeps(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".a.123.tmp", ".a.b.123.tmp", ".a.tmp", "a.123.tmp", ".a.x1.tmp"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o640); err != nil {
			t.Fatal(err)
		}
	}
	if err := WriteFile(filepath.Join(dir, "a"), text("x")); err != nil {
		t.Fatal(err)
	}
	if got, want := names(t, dir), []string{".a.b.123.tmp", ".a.tmp", ".a.x1.tmp", "a", "a.123.tmp"}; !slices.Equal(got, want) {
		t.Errorf("files %v, want %v", got, want)
	}
}
