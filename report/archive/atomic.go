package archive

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
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
	dir, base := filepath.Split(path)
	dir = filepath.Clean(dir) // "" is the current folder
	_, err := prepare(dir, base)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return writeInto(dir, base, write)
}

// prepare makes a folder for files of these names, and clears away what killed
// writers of them left in one that was there. It says whether the folder is
// new, and so empty. After it the files can be written by writeInto.
func prepare(dir string, files ...string) (isNew bool, err error) {
	err = os.Mkdir(dir, folderMode)
	if errors.Is(err, fs.ErrNotExist) {
		if err := os.MkdirAll(filepath.Dir(dir), folderMode); err != nil {
			return false, err
		}
		err = os.Mkdir(dir, folderMode)
	}
	if err == nil {
		return true, nil
	}
	// What a folder that is there answers differs between systems.
	if info, not := os.Stat(dir); not != nil || !info.IsDir() {
		return false, err
	}
	return false, sweep(dir, files)
}

// writeInto is WriteFile in a folder that is prepared. The folder is synced after
// every rename, not once for all files of a flight: its summary comes last and
// promises the others, and only the folder's sync between them makes the disk
// keep that order.
func writeInto(dir, base string, write func(io.Writer) error) (err error) {
	path := filepath.Join(dir, base)
	defer func() {
		if err != nil {
			err = fmt.Errorf("write %s: %w", path, err)
		}
	}()
	f, err := os.CreateTemp(dir, temporaryName(base)+"*"+temporary)
	if err != nil {
		return err
	}
	renamed := false
	defer func() {
		if !renamed { // leaves the folder as it was, also when write panics
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err := fill(f, write); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	renamed = true
	return syncFolder(dir)
}

// fillRooms are the buffers of fill, used one after the other.
var fillRooms = sync.Pool{New: func() any { return bufio.NewWriterSize(nil, 1<<16) }}

// fill writes the content through a buffer and closes the file. The sync comes
// before the rename: otherwise a power cut may leave the new name with nothing
// in it.
func fill(f *os.File, write func(io.Writer) error) error {
	w := fillRooms.Get().(*bufio.Writer)
	defer fillRooms.Put(w)
	w.Reset(f)
	defer w.Reset(nil) // which also forgets an error
	if err := write(w); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if err := f.Chmod(fileMode); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	return f.Close()
}

func temporaryName(base string) string { return "." + base + "." }

// sweep removes what killed writers of files of a folder left behind.
func sweep(dir string, files []string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		leftBy := func(base string) bool { return isTemporaryOf(e.Name(), base) }
		if slices.ContainsFunc(files, leftBy) {
			if err := os.Remove(filepath.Join(dir, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

func isTemporaryOf(name, base string) bool {
	random, ok := strings.CutPrefix(name, temporaryName(base))
	if !ok {
		return false
	}
	random, ok = strings.CutSuffix(random, temporary)
	// Between the two there must be digits only, or "a" would sweep "a.b".
	return ok && random != "" && strings.Trim(random, "0123456789") == ""
}
