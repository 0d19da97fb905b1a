package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"maps"
	"os"
	"slices"

	"github.com/parquet-go/parquet-go"
)

// TableDifference is a table of a run that is not what its summaries give:
// the file, relative to the archive, and the first things that differ.
type TableDifference struct {
	File string
	What []string
}

// mostRows is how many differing rows of a table are told one by one.
const mostRows = 5

// CheckTables makes the tables of a run anew from summaries, in memory, and
// compares them with those on the disk row by row. Rows whose key is in but
// are left out of both. The summaries come as for WriteTables.
func (a *Archive) CheckTables(run string, summaries iter.Seq2[Summary, error], but map[string]bool) ([]TableDifference, error) {
	var attempts, findings, recordings bytes.Buffer
	t := tables{
		recordings: tableWriter[RecordingRow](&recordings), findings: tableWriter[FindingRow](&findings), attempts: tableWriter[AttemptRow](&attempts),
	}
	if err := t.write(summaries); err != nil {
		return nil, fmt.Errorf("tables of run %s: %w", run, err)
	}
	var out []TableDifference
	for _, table := range Tables() {
		want := map[string]*bytes.Buffer{AttemptsTable: &attempts, FindingsTable: &findings, RecordingsTable: &recordings}[table].Bytes()
		file := TablePath(table, run)
		is, err := os.ReadFile(a.Path(file))
		switch {
		case err != nil:
			out = append(out, TableDifference{file, []string{"cannot be read: " + err.Error()}})
			continue
		case bytes.Equal(is, want):
			continue
		}
		what, err := compareTables(is, want, but)
		if err != nil {
			what = append(what, err.Error())
		}
		if len(what) > 0 {
			out = append(out, TableDifference{file, what})
		}
	}
	return out, nil
}

// compareTables says what differs between the rows of two tables.
func compareTables(is, want []byte, but map[string]bool) ([]string, error) {
	got, err := tableRows(is, but)
	if err != nil {
		return nil, fmt.Errorf("cannot be read: %w", err)
	}
	due, err := tableRows(want, but)
	if err != nil {
		return nil, fmt.Errorf("cannot be made anew: %w", err)
	}
	var out []string
	if len(got) != len(due) {
		out = append(out, fmt.Sprintf("has %d rows, the summaries give %d", len(got), len(due)))
	}
	for i := range min(len(got), len(due)) {
		if len(out) == mostRows {
			return append(out, "and more"), nil
		}
		for _, column := range slices.Sorted(maps.Keys(due[i])) {
			if got[i][column] != due[i][column] {
				out = append(out, fmt.Sprintf("row %d (%s): %s is %s, the summaries give %s", i+1, due[i]["folder"], column, got[i][column], due[i][column]))
				break
			}
		}
	}
	return out, nil
}

// tableRows reads a table as text by column, without the rows of some keys. A
// panic of the library becomes an error.
func tableRows(data []byte, but map[string]bool) (out []map[string]string, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the Parquet library failed: %v", p)
		}
	}()
	f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	columns := f.Schema().Columns()
	for _, group := range f.RowGroups() {
		rows := group.Rows()
		buffer := make([]parquet.Row, 64)
		for {
			n, err := rows.ReadRows(buffer)
			for _, r := range buffer[:n] {
				row := map[string]string{}
				for _, v := range r {
					row[columns[v.Column()][0]] = v.String()
				}
				if !but[row["key"]] {
					out = append(out, row)
				}
			}
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return nil, errors.Join(err, rows.Close())
			}
		}
		if err := rows.Close(); err != nil {
			return nil, err
		}
	}
	return out, nil
}
