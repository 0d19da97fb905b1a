package archive

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path"
	"regexp"
)

// maxJSON bounds a file that is read whole; the summary of a long day with
// many attempts is a hundredth of it.
const maxJSON = 64 << 20

// flightFolder is the form of every flight folder; the depth is fixed, so
// walking in name order is the order of the folders as text.
var flightFolder = regexp.MustCompile(`^flights/(\d{4}/\d\d/\d\d|undated)/[A-Za-z0-9_][A-Za-z0-9._-]*$`)

func isFlightFolder(folder string) bool { return flightFolder.MatchString(folder) }

// Read reads the summary of a flight folder, given relative to the archive.
// The error wraps fs.ErrNotExist when the folder has no summary: it is not
// there, or not complete.
func (a *Archive) Read(folder string) (Summary, error) {
	var s Summary
	if !isFlightFolder(folder) {
		return s, fmt.Errorf("%q is no flight folder of an archive", folder)
	}
	file := a.Path(path.Join(folder, SummaryFile))
	if err := readJSON(file, SchemaVersion, &s); err != nil {
		return Summary{}, err
	}
	if s.Flight.Folder != folder {
		return Summary{}, fmt.Errorf("%s says that it lies in %s; a flight folder must not be renamed, move it back", file, s.Flight.Folder)
	}
	return s, nil
}

// readJSON reads a file of a layout that carries its number in "schema".
// With a known number an unknown field is damage, not a newer program.
func readJSON(file string, schema int, into any) error {
	text, err := readBounded(file)
	if err != nil {
		return err
	}
	if startsWith(text, schema) {
		return notReadable(file, decodeStrict(text, into))
	}
	var probe struct {
		Schema int `json:"schema"`
	}
	if err := json.Unmarshal(text, &probe); err != nil {
		return notReadable(file, err)
	}
	if probe.Schema != schema {
		return fmt.Errorf("%s: layout %d is not known to this program, which knows %d; read it with the version of the program that wrote it", file, probe.Schema, schema)
	}
	return notReadable(file, decodeStrict(text, into))
}

// readBounded reads a file whole, into as much room as it needs.
func readBounded(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var text bytes.Buffer
	if info, err := f.Stat(); err == nil && info.Size() <= maxJSON {
		text.Grow(int(info.Size()) + bytes.MinRead) // without this much to spare it would grow once more
	}
	if _, err := text.ReadFrom(io.LimitReader(f, maxJSON+1)); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if text.Len() > maxJSON {
		return nil, fmt.Errorf("%s: larger than %d MiB, which no such file is; restore it from a copy", file, maxJSON>>20)
	}
	return text.Bytes(), nil
}

// startsWith says whether a text begins with the number of its layout, as all do
// that this program wrote, and has no other: looking for it is then not worth a
// second reading of the whole.
func startsWith(text []byte, schema int) bool {
	return bytes.HasPrefix(text, fmt.Appendf(nil, "{\n  \"schema\": %d,\n", schema)) && bytes.Count(text, []byte(`"schema"`)) == 1
}

// decodeStrict decodes a text that is one JSON value and has no unknown field.
func decodeStrict(text []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return err
	}
	if rest := bytes.TrimSpace(text[dec.InputOffset():]); len(rest) > 0 {
		return fmt.Errorf("invalid character %q after top-level value", rest[0])
	}
	return nil
}

func notReadable(file string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: not readable (%w); process the recording again or restore the file", file, err)
}

// Folders lists the complete flight folders in order, dated ones first. A
// folder without a summary is one that is being written, or was when the
// program was killed; it is passed over.
func (a *Archive) Folders() iter.Seq2[string, error] {
	return func(yield func(string, error) bool) { a.walk(flightsDir, yield) }
}

// EncodeSummary is a summary as it lies in the archive, byte for byte.
func EncodeSummary(w io.Writer, s Summary) error { return writeJSON(w, s) }

// walk goes down in name order until it meets flight folders; false when the
// reader has had enough.
func (a *Archive) walk(folder string, yield func(string, error) bool) bool {
	entries, err := os.ReadDir(a.Path(folder))
	if errors.Is(err, fs.ErrNotExist) {
		return true
	}
	if err != nil {
		return yield("", fmt.Errorf("list flights: %w", err))
	}
	for _, e := range entries {
		sub := path.Join(folder, e.Name())
		switch {
		case !e.IsDir():
		case isFlightFolder(sub):
			if _, err := os.Stat(a.Path(path.Join(sub, SummaryFile))); errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if !yield(sub, nil) {
				return false
			}
		case aboveFlights.MatchString(sub):
			if !a.walk(sub, yield) {
				return false
			}
		}
	}
	return true
}

// aboveFlights is the form of the folders that hold flight folders.
var aboveFlights = regexp.MustCompile(`^flights/(undated|\d{4}(/\d\d(/\d\d)?)?)$`)

// Summaries reads the summaries of all flights in the order of Folders. An
// error belongs to one folder and does not end the reading.
func (a *Archive) Summaries() iter.Seq2[Summary, error] {
	return func(yield func(Summary, error) bool) {
		for folder, err := range a.Folders() {
			var s Summary
			if err == nil {
				s, err = a.Read(folder)
			}
			if !yield(s, err) {
				return
			}
		}
	}
}
