package archive

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Modes of what the archive writes: recordings name flights, so nobody
// outside the group reads them. Windows keeps the rights of the folder.
const (
	fileMode   = 0o640
	folderMode = 0o750
)

// temporary marks a file that is being written; a reader passes it over.
const temporary = ".tmp"

// WriteFile writes a file whole or not at all: under a temporary name in the
// same folder, to the disk, then renamed over path. A reader sees the old
// file or the new one. When write or the disk fails, or write panics, nothing
// is left behind and an existing file stays as it was. Folders above path are
// made. What a killed writer of the same path left is cleared away, so two
// must not write one path at once; the archive's lock sees to that. Errors
// name the path.
func WriteFile(path string, write func(io.Writer) error) error {
	if err := writeFile(path, true, write); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

func writeFile(path string, sync bool, write func(io.Writer) error) (err error) {
	dir, base := filepath.Split(path)
	dir = filepath.Clean(dir) // "" is the current folder
	if err := os.MkdirAll(dir, folderMode); err != nil {
		return err
	}
	if err := sweep(dir, base); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, temporaryName(base)+"*"+temporary)
	if err != nil {
		return err
	}
	defer func() {
		// After a rename there is nothing to close or remove and both fail
		// without harm; before it, this leaves the folder as it was.
		f.Close()
		os.Remove(f.Name())
	}()
	if err := fill(f, sync, write); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	if sync {
		return syncFolder(dir)
	}
	return nil
}

// fill writes the content through a buffer and closes the file. The sync comes
// before the rename: otherwise a power cut may leave the new name with nothing
// in it. The folder is synced after every rename, not once for all files of a
// flight: its summary comes last and promises the others, and only the folder's
// sync between them makes the disk keep that order. A lookup (done.go) promises
// nothing that its reader does not look up, so it is written without.
func fill(f *os.File, sync bool, write func(io.Writer) error) error {
	w := bufio.NewWriterSize(f, 1<<16)
	if err := write(w); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if err := f.Chmod(fileMode); err != nil {
		return err
	}
	if sync {
		if err := f.Sync(); err != nil {
			return err
		}
	}
	return f.Close()
}

func temporaryName(base string) string { return "." + base + "." }

// sweep removes what killed writers of dir/base left behind.
func sweep(dir, base string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		name := e.Name()
		if !strings.HasPrefix(name, temporaryName(base)) || !strings.HasSuffix(name, temporary) {
			continue
		}
		// Between the two there must be digits only, or "a" would sweep "a.b".
		random := strings.TrimSuffix(strings.TrimPrefix(name, temporaryName(base)), temporary)
		if strings.Trim(random, "0123456789") == "" && random != "" {
			if err := os.Remove(filepath.Join(dir, name)); err != nil {
				return err
			}
		}
	}
	return nil
}
