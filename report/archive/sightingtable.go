package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
)

// SightingsTable is the table of attempts that more than one recording holds.
// Unlike the others it is one for the whole archive: a recording of tonight
// may decide which sighting of an attempt of last week counts.
const SightingsTable = "sightings"

// SightingsPath is where it lies, relative to the archive.
func SightingsPath() string { return path.Join(tablesDir, SightingsTable, partFile) }

// SightingRow is a row of tables/sightings: one sighting of an attempt that
// lies in more than one recording, or a recording in which such an attempt
// goes on. To count each attempt once, leave out the rows of tables/attempts
// and tables/findings whose attempt_id has counts = false here, and take the
// outcome of the others from end_outcome where it is not null.
type SightingRow struct {
	// Counted is the ID of the attempt that counts, on all rows of one attempt.
	Counted string `parquet:"counted_id,dict"`
	// ID is null for a recording that holds only what followed.
	ID      string `parquet:"attempt_id,optional"`
	Attempt int32  `parquet:"attempt"` // number, 0 without an ID
	Counts  bool   `parquet:"counts"`
	Ends    bool   `parquet:"ends"` // the outcome is taken from this one
	// EndOutcome and EndClass stand on the row that counts when the outcome, and
	// the class of a reject, are taken from another; null otherwise.
	EndOutcome string `parquet:"end_outcome,optional,dict"`
	EndClass   string `parquet:"end_reject_class,optional,dict"`
	Outcome    string `parquet:"outcome,optional,dict"` // as this recording has it
	OnsetUTC   *int64 `parquet:"onset_utc,timestamp(microsecond)"`

	Tail            string `parquet:"tail,optional,dict"`
	Folder          string `parquet:"folder"` // flight folder, relative to the archive
	File            string `parquet:"file"`   // base name of the recording
	RecordingSHA256 string `parquet:"recording_sha256"`
}

// rows are the rows of one attempt, the one that counts first.
func (s *Seen) rows() []SightingRow {
	var out []SightingRow
	for i := range s.Sightings {
		m := &s.Sightings[i]
		row := SightingRow{
			Counted: s.Sightings[0].ID, ID: m.ID, Attempt: int32(m.Number), Counts: i == 0, Ends: i == s.End, Outcome: m.Outcome,
			Tail: m.Tail, Folder: m.Folder, File: m.File, RecordingSHA256: m.Recording,
		}
		if i == 0 && s.Split() {
			row.EndOutcome, row.EndClass = s.Sightings[s.End].Outcome, s.Sightings[s.End].Class
		}
		if at := m.Start + m.at()*1e6; at == at { // NaN has no date
			micro := int64(at)
			row.OnsetUTC = &micro
		}
		out = append(out, row)
	}
	for _, n := range s.GoesOn {
		out = append(out, SightingRow{
			Counted: s.Sightings[0].ID, Tail: s.Sightings[0].Tail, Folder: n.Folder, File: n.File, RecordingSHA256: n.Recording,
		})
	}
	return out
}

// encodeSightings writes the table; the same attempts give the same bytes.
func (v *View) encodeSightings(w io.Writer) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the Parquet library failed: %v", p)
		}
	}()
	out := tableWriter[SightingRow](w)
	for i := range v.seen {
		if _, err := out.Write(v.seen[i].rows()); err != nil {
			return err
		}
	}
	return out.Close()
}

// WriteSightings writes tables/sightings. It is there, without rows, also when
// no attempt lies in several recordings, so that queries need not ask.
func (v *View) WriteSightings() error {
	return WriteFile(v.a.Path(SightingsPath()), v.encodeSightings)
}

// CheckSightings says how tables/sightings differs from what the other tables
// give, nothing when it does not. recorded is the hash that the latest run
// noted of it: with that, the same rows in other bytes are those of another
// version of the program. The error is for a table that is not there, or an
// archive that cannot be read.
func (v *View) CheckSightings(recorded string) ([]string, error) {
	is, err := os.ReadFile(v.a.Path(SightingsPath()))
	if err != nil {
		return nil, fmt.Errorf("read table: %w", err)
	}
	var want bytes.Buffer
	if err := v.encodeSightings(&want); err != nil {
		return nil, err
	}
	if bytes.Equal(is, want.Bytes()) {
		return nil, nil
	}
	what, err := compareTables(is, want.Bytes(), nil)
	switch {
	case err != nil:
		what = append(what, err.Error())
	case len(what) == 0 && HashOf(is) != recorded:
		what = []string{"has other bytes than were written, though the same rows"}
	}
	return what, nil
}

// SeenRow is a row of tables/sightings as it is read for one attempt.
type SeenRow struct {
	Counted, ID, Outcome, EndOutcome string
	Counts, Ends                     bool
	Folder, File                     string
}

// SeenOf reads the rows of tables/sightings that are about the attempts of a
// flight folder, all sightings of each, in the order of the table. There are
// none in an archive without the table.
func (a *Archive) SeenOf(folder string) ([]SeenRow, error) {
	all, err := a.seenRows()
	if err != nil {
		return nil, err
	}
	mine := map[string]bool{}
	for _, r := range all {
		mine[r.Counted] = mine[r.Counted] || r.Folder == folder
	}
	return slices.DeleteFunc(all, func(r SeenRow) bool { return !mine[r.Counted] }), nil
}

// SeenFolders are the flight folders of tables/sightings, each with a text
// that changes when something else holds of the attempts in it.
func (a *Archive) SeenFolders() (map[string]string, error) {
	all, err := a.seenRows()
	if err != nil {
		return nil, err
	}
	byAttempt := map[string]string{}
	for _, r := range all {
		byAttempt[r.Counted] += fmt.Sprintf("%+v\n", r)
	}
	out := map[string]string{}
	for _, r := range all {
		out[r.Folder] += byAttempt[r.Counted]
	}
	return out, nil
}

func (a *Archive) seenRows() ([]SeenRow, error) {
	var all []SeenRow
	err := a.readColumns(SightingsPath(), []string{"counted_id", "attempt_id", "counts", "ends", "outcome", "end_outcome", "folder", "file"}, func(c columnSet) error {
		for k := range c.rows {
			all = append(all, SeenRow{
				Counted: c.text("counted_id", k), ID: c.text("attempt_id", k), Outcome: c.text("outcome", k), EndOutcome: c.text("end_outcome", k),
				Counts: c.number("counts", k) == 1, Ends: c.number("ends", k) == 1, Folder: c.text("folder", k), File: c.text("file", k),
			})
		}
		return nil
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return all, err
}
