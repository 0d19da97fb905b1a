package archive

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
)

// readTable reads a table row by row as any engine sees it: the text of every
// column by name, "null" for null.
func readTable(t *testing.T, a *Archive, table, run string) []map[string]string {
	t.Helper()
	data := content(t, a.Path(TablePath(table, run)))
	f, err := parquet.OpenFile(strings.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, group := range f.RowGroups() {
		rows := group.Rows()
		buffer := make([]parquet.Row, 1)
		for {
			n, err := rows.ReadRows(buffer)
			if n == 1 {
				row := map[string]string{}
				for _, v := range buffer[0] {
					row[f.Schema().Columns()[v.Column()][0]] = strings.NewReplacer("<null>", "null").Replace(v.String())
				}
				out = append(out, row)
			}
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// The rows of the golden assessment, read back, as a person can read them.
func TestTables(t *testing.T) {
	a := create(t)
	s := publish(t, a, testAssessment())
	counts, err := a.WriteTables("night-1", a.Summaries())
	if err != nil {
		t.Fatal(err)
	}
	if want := (TableCounts{Recordings: 1, Attempts: 2, Findings: 6}); counts != want {
		t.Errorf("counts %+v, want %+v", counts, want)
	}
	var b strings.Builder
	for _, table := range []struct {
		name  string
		model any
		keep  []int
	}{
		{AttemptsTable, AttemptRow{}, []int{0, 1}},
		{FindingsTable, FindingRow{}, []int{0, 4}},
		{RecordingsTable, RecordingRow{}, []int{0}},
	} {
		rows := readTable(t, a, table.name, "night-1")
		for _, i := range table.keep {
			fmt.Fprintf(&b, "%s, row %d\n", table.name, i)
			for _, column := range parquet.SchemaOf(table.model).Columns() {
				fmt.Fprintf(&b, "  %s: %s\n", column[0], rows[i][column[0]])
			}
		}
	}
	golden(t, "tables.golden.txt", strings.ReplaceAll(b.String(), s.Clip.SHA256, "(hash of the clip)"))
}

// Names and types of the columns are what queries are written against.
func TestTableColumns(t *testing.T) {
	var b strings.Builder
	for _, schema := range []*parquet.Schema{parquet.SchemaOf(AttemptRow{}), parquet.SchemaOf(FindingRow{}), parquet.SchemaOf(RecordingRow{})} {
		b.WriteString(schema.String() + "\n")
	}
	golden(t, "columns.golden.txt", b.String())
}

func TestTablesAreInOrder(t *testing.T) {
	a, all := three(t)
	if _, err := a.WriteTables("r", a.Summaries()); err != nil {
		t.Fatal(err)
	}
	var got, want []string
	for _, row := range readTable(t, a, FindingsTable, "r") {
		got = append(got, row["folder"]+" "+row["attempt_id"]+" "+row["check"]+" "+row["state"])
	}
	for _, s := range all {
		for _, attempt := range s.Attempts {
			for _, f := range attempt.Findings {
				want = append(want, s.Flight.Folder+" "+attempt.ID+" "+f.Check+" "+f.State)
			}
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if row := readTable(t, a, RecordingsTable, "r")[2]; row["date"] != "null" || row["start_utc"] != "null" {
		t.Errorf("undated flight has date %s, start %s", row["date"], row["start_utc"])
	}
}

// One run's tables hold its recordings only, in folder order, each once.
func TestTablesOfOneRun(t *testing.T) {
	a, all := three(t)
	two := []string{all[2].Flight.Folder, all[0].Flight.Folder, all[2].Flight.Folder}
	if _, err := a.WriteTables("r", a.SummariesOf(two)); err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, row := range readTable(t, a, RecordingsTable, "r") {
		got = append(got, row["key"])
	}
	if want := []string{all[0].Key, all[2].Key}; !slices.Equal(got, want) {
		t.Errorf("keys %v, want %v", got, want)
	}
}

func TestTablesAreFixed(t *testing.T) {
	a, _ := three(t)
	var first map[string]string
	for range 3 {
		if _, err := a.WriteTables("r", a.Summaries()); err != nil {
			t.Fatal(err)
		}
		now := tree(t, a)
		if first == nil {
			first = now
		}
		if diff := cmp.Diff(first, now); diff != "" {
			t.Fatal(diff)
		}
	}
}

func TestTablesEmpty(t *testing.T) {
	a := create(t)
	if _, err := a.WriteTables("r", a.Summaries()); err != nil {
		t.Fatal(err)
	}
	if rows := readTable(t, a, AttemptsTable, "r"); len(rows) != 0 {
		t.Errorf("%d rows", len(rows))
	}
}

// A summary that fails, or comes out of order, leaves no table behind and the
// old ones as they were.
func TestTablesFail(t *testing.T) {
	a, all := three(t)
	broken := errors.New("damaged")
	sequence := func(second Summary, err error) iter.Seq2[Summary, error] {
		return func(yield func(Summary, error) bool) {
			_ = yield(all[1], nil) && yield(second, err)
		}
	}
	for _, before := range []bool{false, true} {
		if before {
			if _, err := a.WriteTables("r", a.Summaries()); err != nil {
				t.Fatal(err)
			}
		}
		old := tree(t, a)
		if _, err := a.WriteTables("r", sequence(Summary{}, broken)); !errors.Is(err, broken) {
			t.Errorf("error %v", err)
		}
		if _, err := a.WriteTables("r", sequence(all[0], nil)); err == nil || !strings.Contains(err.Error(), "in the order of their folders") {
			t.Errorf("error %v", err)
		}
		if diff := cmp.Diff(old, tree(t, a)); diff != "" {
			t.Errorf("a failure changed the archive:\n%s", diff)
		}
	}
	if _, err := a.WriteTables("../x", a.Summaries()); err == nil {
		t.Error("a hostile run passed")
	}
}

func TestJSONColumns(t *testing.T) {
	row, err := recordingRow(FlightColumns{}, ptr(Summarise(testAssessment(), versions)))
	if err != nil {
		t.Fatal(err)
	}
	var coverage []CheckCoverage
	var masks []maskCount
	for text, into := range map[string]any{row.Coverage: &coverage, row.Masks: &masks} {
		if err := json.Unmarshal([]byte(text), into); err != nil {
			t.Fatal(err)
		}
	}
	if len(coverage) != 3 || row.Told != 4 || row.Due != 6 {
		t.Errorf("coverage %v, %d of %d", coverage, row.Told, row.Due)
	}
	if want := []maskCount{{"flap_lever", "out of range", 1}}; !slices.Equal(masks, want) || row.Masked != 1 {
		t.Errorf("masks %v, want %v", masks, want)
	}
}
