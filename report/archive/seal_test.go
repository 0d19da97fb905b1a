package archive

import (
	"io"
	"os"
	"path"
	"strings"
	"testing"
)

// A page and a run record carry the hash of what is above their last line.
func TestSeals(t *testing.T) {
	a := create(t)
	file := a.Path("index.html")
	if err := WritePage(file, func(w io.Writer) error { _, err := io.WriteString(w, "<p>x</p>\n"); return err }); err != nil {
		t.Fatal(err)
	}
	if err := a.WriteRun(Run{ID: "r", Command: []string{"process", "<x>"}}); err != nil {
		t.Fatal(err)
	}
	for name, check := range map[string]func([]byte) error{"index.html": CheckPage, "runs/r.json": CheckRun} {
		text := content(t, a.Path(name))
		if err := check([]byte(text)); err != nil {
			t.Errorf("%s %v", name, err)
		}
		for at := range len(text) {
			changed := []byte(text)
			changed[at] ^= 1
			if check(changed) == nil {
				t.Errorf("%s: byte %d of %d changed and not found", name, at, len(text))
			}
		}
		for _, cut := range []int{0, 1, len(text) - 1} {
			if check([]byte(text[:cut])) == nil {
				t.Errorf("%s cut off at %d is not found", name, cut)
			}
		}
	}
}

// The seal of a line tells the summary and the page; the latest run that knows
// one counts, and a record that was changed does not.
func TestSealOfALine(t *testing.T) {
	a := create(t)
	s := publish(t, a, testAssessment())
	l := RecordingLine{Folder: s.Flight.Folder, Key: s.Key}
	if err := a.Seal(&l); err != nil {
		t.Fatal(err)
	}
	if want := HashOf([]byte(content(t, a.Path(path.Join(l.Folder, SummaryFile))))); l.Summary != want {
		t.Errorf("hash %s, want %s", l.Summary, want)
	}
	newer := l
	newer.Summary = strings.Repeat("0", 64)
	for id, r := range map[string]Run{"b-first": {Started: "2031-01-01T00:00:00Z", Recordings: []RecordingLine{l}}, "a-second": {Started: "2031-01-02T00:00:00Z", Recordings: []RecordingLine{newer}}} {
		r.ID = id
		if err := a.WriteRun(r); err != nil {
			t.Fatal(err)
		}
	}
	seals, err := a.Seals()
	if err != nil || seals[l.Folder].Summary != newer.Summary {
		t.Errorf("seal %+v, %v", seals[l.Folder], err)
	}
	file := a.Path("runs/a-second.json")
	if err := os.WriteFile(file, []byte(strings.Replace(content(t, file), "0000", "1111", 1)), 0o640); err != nil {
		t.Fatal(err)
	}
	if seals, err = a.Seals(); err != nil || seals[l.Folder].Summary != l.Summary {
		t.Errorf("seal of a changed record %+v, %v", seals[l.Folder], err)
	}
	gone := RecordingLine{Folder: "flights/undated/x"}
	if err := a.Seal(&gone); err == nil {
		t.Error("a flight that is not there was sealed")
	}
}

// Tables are held to the rows that the summaries give, and what differs is
// named by row and column.
func TestCheckTables(t *testing.T) {
	a, all := three(t)
	if _, err := a.WriteTables("r", a.Summaries()); err != nil {
		t.Fatal(err)
	}
	if found, err := a.CheckTables("r", a.Summaries(), nil); err != nil || len(found) > 0 {
		t.Fatalf("%v, %v", found, err)
	}
	// The summaries say something else now.
	changed := func(yield func(Summary, error) bool) {
		for s, err := range a.Summaries() {
			if s.Key == all[1].Key {
				s.Flight.Tail = "ZZ-OTHER"
			}
			if !yield(s, err) {
				return
			}
		}
	}
	found, err := a.CheckTables("r", changed, nil)
	if err != nil || len(found) != 3 || found[0].File != TablePath(AttemptsTable, "r") || !strings.Contains(found[0].What[0], "the summaries give ZZ-OTHER") {
		t.Errorf("%+v, %v", found, err)
	}
	if found, err := a.CheckTables("r", changed, map[string]bool{all[1].Key: true}); err != nil || len(found) > 0 {
		t.Errorf("rows of a key that is left out: %v, %v", found, err)
	}
	if err := os.WriteFile(a.Path(TablePath(FindingsTable, "r")), []byte("PAR1 and no more"), 0o640); err != nil {
		t.Fatal(err)
	}
	if found, err = a.CheckTables("r", a.Summaries(), nil); err != nil || len(found) != 1 || !strings.Contains(found[0].What[0], "cannot be read") {
		t.Errorf("%+v, %v", found, err)
	}
}

// The tables tell the place of an attempt as its summary does, so that a review
// is found from either.
func TestPlaceFromTheTables(t *testing.T) {
	a, all := three(t)
	for i, tail := range []string{"ZZ-Q17", "ZZ-Q18", "ZZ-Q19"} {
		all[i].Flight.Tail = tail // or the undated one would be told for one of the others
	}
	if _, err := a.WriteTables("r", each(all...)); err != nil {
		t.Fatal(err)
	}
	want := map[string]EventPlace{}
	for i := range all {
		for k := range all[i].Attempts {
			want[all[i].Attempts[k].ID] = PlaceOf(&all[i], &all[i].Attempts[k])
		}
	}
	v, err := a.View()
	if err != nil {
		t.Fatal(err)
	}
	for row, err := range v.Attempts() {
		if err != nil {
			t.Fatal(err)
		}
		place := want[row.ID]
		dated := place.UTC != ""
		if row.Where.Tail != place.Tail || row.Where.Recording != place.Recording || row.Where.At != place.At || dated && !sameUTC(row.Where.UTC, place.UTC) || !dated && row.Where.UTC != "" {
			t.Errorf("%s: %+v, the summary says %+v", row.ID, row.Where, place)
		}
		delete(want, row.ID)
	}
	if len(want) > 0 {
		t.Errorf("not in the tables: %v", want)
	}
}
