package archive

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"slices"
)

// How a change is found later. The hash of a clip stands in its summary, that
// of a summary and of the tables in the run record, and a profile is named by
// its own. Pages are made anew whenever somebody reviews an event, and run
// records are the last to be written, so these two carry their own hash, of
// all bytes in front of it. A hash without a signature tells a mistake of the
// disk or of a hand; against somebody who computes it anew, keep the hash of
// the run record elsewhere, or sign a bundle.

// HashOf is the SHA-256 of bytes in hex, as every hash of the archive.
func HashOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// HashFile is the SHA-256 of a file of the archive, given relative to it.
func (a *Archive) HashFile(rel string) (string, error) {
	f, err := os.Open(a.Path(rel))
	if err != nil {
		return "", fmt.Errorf("hash: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("hash %s: %w", f.Name(), err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// The last line of a page and of a run record, around the hash.
var (
	pageSeal = [2]string{"<!-- SHA-256 of all that is above this line: ", " -->\n"}
	runSeal  = [2]string{"  \"sha256\": \"", "\"\n}\n"}
)

// WritePage is WriteFile for a page: a comment behind its last line holds the
// hash of what is above it.
func WritePage(path string, write func(io.Writer) error) error {
	return WriteFile(path, func(w io.Writer) error { return writeSealed(w, write) })
}

func writeSealed(w io.Writer, write func(io.Writer) error) error {
	h := sha256.New()
	if err := write(io.MultiWriter(w, h)); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "%s%x%s", pageSeal[0], h.Sum(nil), pageSeal[1])
	return err
}

// CheckPage says what is wrong with the hash that a page carries, nil when it
// is that of the page.
func CheckPage(text []byte) error { return checkSeal(text, pageSeal) }

// CheckRun says the same of the text of a run record.
func CheckRun(text []byte) error { return checkSeal(text, runSeal) }

// checkSeal compares the hash between the two marks at the end of a text with
// that of the bytes in front of it.
func checkSeal(text []byte, marks [2]string) error {
	length := len(marks[0]) + sha256.Size*2 + len(marks[1])
	if len(text) < length {
		return errors.New("ends without its hash")
	}
	body, end := text[:len(text)-length], text[len(text)-length:]
	want, closed := bytes.CutSuffix(end, []byte(marks[1]))
	want, opened := bytes.CutPrefix(want, []byte(marks[0]))
	if !closed || !opened {
		return errors.New("does not end with its hash")
	}
	if got := HashOf(body); got != string(want) {
		return fmt.Errorf("has the hash %s and says that it is %s", got, want)
	}
	return nil
}

// sealed is the JSON of a run whose last field is its empty hash, with the
// hash filled in.
func sealed(text []byte) ([]byte, error) {
	body, ok := bytes.CutSuffix(text, []byte(runSeal[0]+runSeal[1]))
	if !ok {
		return nil, errors.New("the hash is not the last field of the record")
	}
	return append(body, runSeal[0]+HashOf(body)+runSeal[1]...), nil
}

// Seal gives a line of the run record what tells a later change: the hash of
// the summary, and whether there is a page.
func (a *Archive) Seal(l *RecordingLine) error {
	hash, err := a.HashFile(path.Join(l.Folder, SummaryFile))
	if err != nil {
		return err
	}
	_, err = os.Stat(a.Path(path.Join(l.Folder, PageFile)))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("look for the page of %s: %w", l.Folder, err)
	}
	l.Summary, l.Page = hash, err == nil
	return nil
}

// Seals are the lines of all run records by flight folder, the latest that
// knows the hash of the summary. Run records are those of RunsByStart.
func (a *Archive) Seals() (map[string]RecordingLine, error) {
	runs, err := a.RunsByStart()
	if err != nil {
		return nil, err
	}
	return SealsOf(runs), nil
}

// SealsOf is Seals of run records that were read already.
func SealsOf(runs []Run) map[string]RecordingLine {
	out := map[string]RecordingLine{}
	for _, r := range runs {
		for _, l := range r.Recordings {
			if l.Folder != "" && l.Summary != "" {
				out[l.Folder] = l
			}
		}
	}
	return out
}

// FixedTexts are the files that are the same in every archive, by their path.
func FixedTexts() map[string]string {
	return map[string]string{readmeFile: readmeText, path.Join(schemaDir, schemaFile): schemaText}
}

// FixedHashes are the hashes of those files as they lie in the archive, in the
// order of their paths: a later version of the program has other texts.
func (a *Archive) FixedHashes() ([]FileHash, error) {
	var out []FileHash
	for _, file := range slices.Sorted(maps.Keys(FixedTexts())) {
		hash, err := a.HashFile(file)
		if err != nil {
			return nil, err
		}
		out = append(out, FileHash{File: file, SHA256: hash})
	}
	return out, nil
}
