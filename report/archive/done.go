package archive

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

// keyDigits is the length of a key: SHA-256 in hex.
const keyDigits = 64

// maxKeyFile bounds what is read of a lookup file; a folder name is shorter.
const maxKeyFile = 1 << 10

// Done says whether the archive holds the complete result of that key, and in
// which flight folder.
//
// The folder of a flight is named after its identity, which is known only
// once the recording has been read, while the key is known as soon as it has
// been hashed. So keys/<first two digits>/<key> holds the name of the folder,
// written after everything in it. A question costs one small read and one
// stat, whatever the archive holds: at 100,000 recordings each of the 256
// folders has some 400 files. One file a key, rather than one index, lets
// shards on many machines write without a common lock.
//
// A lookup file is only a hint: it is not synced to the disk and counts for
// nothing unless the summary it leads to is there. At worst a recording is
// processed again and gives the same bytes. Any other failure to read is an
// error.
func (a *Archive) Done(key string) (folder string, ok bool, err error) {
	if !isKey(key) {
		return "", false, fmt.Errorf("look up %q: a key is %d hexadecimal digits", key, keyDigits)
	}
	folder, err = a.keyFolder(key)
	if err != nil || folder == "" {
		return "", false, err
	}
	switch _, err := os.Stat(a.Path(path.Join(folder, SummaryFile))); {
	case errors.Is(err, fs.ErrNotExist):
		return "", false, nil
	case err != nil:
		return "", false, fmt.Errorf("look up %s: %w", key, err)
	}
	return folder, true, nil
}

func isKey(key string) bool {
	return len(key) == keyDigits && strings.Trim(key, "0123456789abcdef") == ""
}

func keyPath(key string) string { return path.Join(keysDir, key[:2], key) }

// keyFolder reads a lookup file; "" stands for one that is missing or that a
// crash left without its content or half of it.
func (a *Archive) keyFolder(key string) (string, error) {
	f, err := os.Open(a.Path(keyPath(key)))
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("look up %s: %w", key, err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxKeyFile))
	if err != nil {
		return "", fmt.Errorf("look up %s: %w", key, err)
	}
	folder, whole := strings.CutSuffix(string(text), "\n")
	if !whole || !isFlightFolder(folder) {
		return "", nil
	}
	return folder, nil
}

// writeKey writes the lookup file of a key: a new one in place, since one that was
// not written to its end, of which the last byte is the end of the line, is as
// good as none; one that is there is replaced, so that it never is less.
func (a *Archive) writeKey(key, folder string) error {
	file := a.Path(keyPath(key))
	text := []byte(folder + "\n")
	err := writeNew(file, text)
	if errors.Is(err, fs.ErrNotExist) {
		if err = os.MkdirAll(filepath.Dir(file), folderMode); err == nil {
			err = writeNew(file, text)
		}
	}
	switch {
	case errors.Is(err, fs.ErrExist):
		return WriteFile(file, func(w io.Writer) error {
			_, err := w.Write(text)
			return err
		})
	case err != nil:
		return fmt.Errorf("write %s: %w", file, err)
	}
	return nil
}

// writeNew writes a file that is not there.
func writeNew(file string, text []byte) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Close())
}

// rebuildIfGone rebuilds the lookup of an archive that has flights and no
// lookup, as after a copy that left it out.
func (a *Archive) rebuildIfGone() error {
	if _, err := os.Stat(a.Path(keysDir)); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return a.RebuildKeys()
}

// RebuildKeys writes the lookup of Done anew from the summaries. Summaries
// that cannot be read are passed over here, and so are processed again; all
// failures to write are returned together.
func (a *Archive) RebuildKeys() error {
	var failed []error
	for s, err := range a.Summaries() {
		if err != nil || !isKey(s.Key) {
			continue
		}
		if folder, ok, err := a.Done(s.Key); err == nil && ok && folder == s.Flight.Folder {
			continue
		}
		failed = append(failed, a.writeKey(s.Key, s.Flight.Folder))
	}
	return errors.Join(failed...)
}
