package archive

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
)

// WriteRun writes runs/<id>.json in the layout of this program, whatever
// Schema says; lists are never null. The ID must be a harmless file name.
func (a *Archive) WriteRun(r Run) error {
	if err := checkElement("run", r.ID); err != nil {
		return err
	}
	r.Schema = RunSchemaVersion
	r.Command, r.Missing = append([]string{}, r.Command...), append([]string{}, r.Missing...)
	r.Profiles = append([]ProfileInfo{}, r.Profiles...)
	r.Recordings = append([]RecordingLine{}, r.Recordings...)
	r.Stages = append([]StageTime{}, r.Stages...)
	r.Tables = append([]FileHash{}, r.Tables...)
	r.Fixed = append([]FileHash{}, r.Fixed...)
	r.SHA256 = ""
	var text bytes.Buffer
	if err := writeJSON(&text, r); err != nil {
		return fmt.Errorf("run record: %w", err)
	}
	whole, err := sealed(text.Bytes())
	if err != nil {
		return fmt.Errorf("run record: %w", err)
	}
	return WriteFile(a.Path(runPath(r.ID)), func(w io.Writer) error {
		_, err := w.Write(whole)
		return err
	})
}

// ReadRun reads runs/<id>.json. The error wraps fs.ErrNotExist when there is
// no such run and names those that there are.
func (a *Archive) ReadRun(id string) (Run, error) {
	if err := checkElement("run", id); err != nil {
		return Run{}, err
	}
	var r Run
	err := readJSON(a.Path(runPath(id)), RunSchemaVersion, &r)
	if errors.Is(err, fs.ErrNotExist) {
		ids, listErr := a.Runs()
		return Run{}, errors.Join(fmt.Errorf("no run %q in %s; %s: %w", id, a.dir, nearest(id, ids), fs.ErrNotExist), listErr)
	}
	return r, err
}

// Runs lists the IDs of all runs in name order.
func (a *Archive) Runs() ([]string, error) {
	entries, err := os.ReadDir(a.Path(runsDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("list runs: %w", err)
	}
	var ids []string
	for _, e := range entries {
		id, isRun := strings.CutSuffix(e.Name(), ".json")
		if isRun && checkElement("run", id) == nil {
			ids = append(ids, id)
		}
	}
	return ids, nil
}

// RunsByStart reads all run records, the earliest first. Those that cannot be
// read, or were changed since they were written, are passed over.
func (a *Archive) RunsByStart() ([]Run, error) {
	ids, err := a.Runs()
	if err != nil {
		return nil, err
	}
	var runs []Run
	for _, id := range ids {
		text, err := os.ReadFile(a.Path(runPath(id)))
		if err != nil || CheckRun(text) != nil {
			continue
		}
		if r, err := a.ReadRun(id); err == nil {
			runs = append(runs, r)
		}
	}
	slices.SortStableFunc(runs, func(x, y Run) int {
		return cmp.Or(cmp.Compare(x.Started, y.Started), cmp.Compare(x.Finished, y.Finished), cmp.Compare(x.ID, y.ID))
	})
	return runs, nil
}

func runPath(id string) string { return path.Join(runsDir, id+".json") }
