package archive

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// The folders and files of an archive.
const (
	flightsDir  = "flights"
	undatedDir  = "undated"
	keysDir     = "keys"
	profilesDir = "profiles"
	runsDir     = "runs"
	tablesDir   = "tables"
	schemaDir   = "schema"

	// SummaryFile and PageFile lie in a flight folder beside ClipFile.
	SummaryFile = "summary.json"
	PageFile    = "summary.html"
	readmeFile  = "README.txt"
	schemaFile  = "summary.schema.json"
)

// Schema is the published JSON Schema (draft 2020-12) of summary.json.
//
//go:embed summary.schema.json
var schemaText string

//go:embed readme.txt
var readmeText string

// Archive is an archive on disk. It holds no state but its place, so any
// number may be open on one folder; that one program writes at a time is for
// the caller's lock to see to.
type Archive struct{ dir string }

// Create opens an archive for writing and makes what is missing of it: the
// folder, README.txt and the schema. The lookup of Done is rebuilt when its
// folder is gone. An existing folder must be an archive or empty, so that a
// mistyped path does not fill somebody's home.
func Create(dir string) (*Archive, error) {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("open archive: %w", err)
	}
	// Dot files, the lock of the caller among them, are nobody's results.
	entries = slices.DeleteFunc(entries, func(e fs.DirEntry) bool { return strings.HasPrefix(e.Name(), ".") })
	if len(entries) > 0 && !isArchive(dir) {
		return nil, fmt.Errorf("%s is not empty and not an archive (it has no %s/%s); name an empty or a new folder", dir, schemaDir, schemaFile)
	}
	a := &Archive{dir}
	// The schema comes last: it is by this file that an archive is known.
	for _, f := range []struct{ path, text string }{
		{readmeFile, readmeText},
		{filepath.Join(schemaDir, schemaFile), schemaText},
	} {
		if err := a.keepText(f.path, f.text); err != nil {
			return nil, err
		}
	}
	return a, a.rebuildIfGone()
}

// Open opens an archive for reading; nothing is written. A folder that is no
// archive is an error that says so.
func Open(dir string) (*Archive, error) {
	switch _, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, notThere{dir, err}
	case err != nil:
		return nil, fmt.Errorf("open the archive: %w", err)
	case !isArchive(dir):
		return nil, fmt.Errorf("%s is not an archive: it has no %s/%s; name the folder that `process --archive` wrote", dir, schemaDir, schemaFile)
	}
	return &Archive{dir}, nil
}

// notThere is an archive that does not exist, in our own words; it unwraps to
// the error of the file system.
type notThere struct {
	dir string
	err error
}

func (e notThere) Error() string {
	return fmt.Sprintf("there is no folder %s; name the archive that `process --archive` wrote", e.dir)
}

func (e notThere) Unwrap() error { return e.err }

// Dir is the folder of the archive as it was given.
func (a *Archive) Dir() string { return a.dir }

// Path is a file of the archive, given relative to it with slashes, as a path
// of this system.
func (a *Archive) Path(rel string) string { return filepath.Join(a.dir, filepath.FromSlash(rel)) }

// Has says whether the archive holds a file, given relative to it.
func (a *Archive) Has(rel string) bool {
	info, err := os.Stat(a.Path(rel))
	return err == nil && info.Mode().IsRegular()
}

func isArchive(dir string) bool {
	info, err := os.Stat(filepath.Join(dir, schemaDir, schemaFile))
	return err == nil && info.Mode().IsRegular()
}

// keepText writes a file unless it already holds the text.
func (a *Archive) keepText(rel, text string) error {
	path := a.Path(rel)
	if old, err := os.ReadFile(path); err == nil && string(old) == text {
		return nil
	}
	return WriteFile(path, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}
