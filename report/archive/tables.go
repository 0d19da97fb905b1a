package archive

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"path"
	"slices"

	"github.com/parquet-go/parquet-go"
)

// The tables, each a folder of tables/ with a folder run=<id> for every run.
const (
	AttemptsTable   = "attempts"
	FindingsTable   = "findings"
	RecordingsTable = "recordings"

	partFile = "part-0.parquet"
)

// Tables lists the tables.
func Tables() []string { return []string{AttemptsTable, FindingsTable, RecordingsTable} }

// Row groups and pages of tables bound the memory of writing one: about 100
// columns, each with a page, and the compressed pages of one group.
const (
	tableGroupRows = 1 << 15
	tablePageBytes = 1 << 14
)

// TableCounts is how many rows went into each table.
type TableCounts struct {
	Recordings, Attempts, Findings int64
}

// SummariesOf reads the summaries of the given flight folders in order, each
// once: the recordings of one run.
func (a *Archive) SummariesOf(folders []string) iter.Seq2[Summary, error] {
	folders = slices.Compact(slices.Sorted(slices.Values(folders)))
	return func(yield func(Summary, error) bool) {
		for _, folder := range folders {
			if !yield(a.Read(folder)) {
				return
			}
		}
	}
}

// TablePath is where the rows of a run lie in a table, relative to the
// archive with slashes. The form is that of Hive partitions, from which query
// engines read the column "run".
func TablePath(table, run string) string { return path.Join(tablesDir, table, "run="+run, partFile) }

// WriteTables writes the rows of a run into the three tables. They are a
// function of the summaries and nothing else: the same summaries give the
// same bytes, and tables can be thrown away and made anew. The summaries must
// come in the order of their folders, as Summaries and SummariesOf give them;
// rows are in the order of folder, attempt and check. One summary is held at
// a time. The first error ends it; until the last row is written no table is
// changed.
func (a *Archive) WriteTables(run string, summaries iter.Seq2[Summary, error]) (TableCounts, error) {
	if err := checkElement("run", run); err != nil {
		return TableCounts{}, err
	}
	var t tables
	// Each table is written inside the writing of the one before it, so that
	// all rows are there before the first of the three is renamed.
	err := WriteFile(a.Path(TablePath(RecordingsTable, run)), func(recordings io.Writer) error {
		return WriteFile(a.Path(TablePath(FindingsTable, run)), func(findings io.Writer) error {
			return WriteFile(a.Path(TablePath(AttemptsTable, run)), func(attempts io.Writer) error {
				t = tables{
					recordings: tableWriter[RecordingRow](recordings),
					findings:   tableWriter[FindingRow](findings),
					attempts:   tableWriter[AttemptRow](attempts),
				}
				return t.write(summaries)
			})
		})
	})
	if err != nil {
		return TableCounts{}, err
	}
	return t.counts, nil
}

// writtenBy is what Parquet files say of their writer. It is fixed, so that the
// bytes of a file depend on its content and not on the library that this
// program was built with.
const writtenBy = "rollonset version 1(build archive)"

func tableWriter[T any](w io.Writer) *parquet.GenericWriter[T] {
	return parquet.NewGenericWriter[T](
		w, parquet.CreatedBy("rollonset", "1", "archive"), parquet.Compression(&parquet.Zstd),
		parquet.MaxRowsPerRowGroup(tableGroupRows), parquet.PageBufferSize(tablePageBytes),
	)
}

type tables struct {
	recordings *parquet.GenericWriter[RecordingRow]
	findings   *parquet.GenericWriter[FindingRow]
	attempts   *parquet.GenericWriter[AttemptRow]
	counts     TableCounts
}

// write writes all rows and closes the three writers. A panic of the library
// becomes an error.
func (t *tables) write(summaries iter.Seq2[Summary, error]) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the Parquet library failed: %v", p)
		}
	}()
	last := ""
	for s, err := range summaries {
		if err != nil {
			return err
		}
		if s.Flight.Folder <= last {
			return fmt.Errorf("summary of %s after that of %s; the summaries of a table must come in the order of their folders, each once", s.Flight.Folder, last)
		}
		last = s.Flight.Folder
		if err := t.add(&s); err != nil {
			return fmt.Errorf("%s: %w", s.Flight.Folder, err)
		}
	}
	return errors.Join(t.attempts.Close(), t.findings.Close(), t.recordings.Close())
}

// add writes the rows of one summary.
func (t *tables) add(s *Summary) error {
	flight := flightColumns(s)
	row, err := recordingRow(flight, s)
	if err != nil {
		return err
	}
	var attempts []AttemptRow
	var findings []FindingRow
	for i := range s.Attempts {
		attempt := &s.Attempts[i]
		attempts = append(attempts, attemptRow(flight, attempt))
		for j := range attempt.Findings {
			findings = append(findings, findingRow(flight, attempt, &attempt.Findings[j]))
		}
	}
	if _, err := t.recordings.Write([]RecordingRow{row}); err != nil {
		return err
	}
	if _, err := t.attempts.Write(attempts); err != nil {
		return err
	}
	if _, err := t.findings.Write(findings); err != nil {
		return err
	}
	t.counts.Recordings++
	t.counts.Attempts += int64(len(attempts))
	t.counts.Findings += int64(len(findings))
	return nil
}
