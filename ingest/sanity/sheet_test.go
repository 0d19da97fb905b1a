package sanity_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/klauspost/compress/gzip"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// sheet is a CSV recording in memory, to misread on purpose: what is written
// into it is what another export, or another profile, would have made of it.
type sheet struct {
	name string
	head []string
	rows [][]string
}

func readSheet(t testing.TB, path string) *sheet {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if strings.HasSuffix(path, ".gz") {
		r, err := gzip.NewReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(r); err != nil {
			t.Fatal(err)
		}
		data = b.Bytes()
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return &sheet{strings.TrimSuffix(filepath.Base(path), ".gz"), rows[0], rows[1:]}
}

// copy is a sheet whose cells can be changed.
func (s *sheet) copy() *sheet {
	out := &sheet{s.name, append([]string(nil), s.head...), make([][]string, len(s.rows))}
	for i, r := range s.rows {
		out.rows[i] = append([]string(nil), r...)
	}
	return out
}

// write puts the sheet into a folder.
func (s *sheet) write(t testing.TB, dir string) string {
	t.Helper()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.Write(s.head); err != nil {
		t.Fatal(err)
	}
	if err := w.WriteAll(s.rows); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, s.name)
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// columns are the places of the columns that the profile reads a parameter
// from, every engine and side of it when p names neither.
func (s *sheet) columns(prof *profile.Profile, p flightdata.Parameter) []int {
	var out []int
	for _, r := range prof.Parameters {
		if r.Parameter != p && r.Parameter.Base() != p {
			continue
		}
		for _, name := range r.Columns {
			if i := s.column(name); i >= 0 {
				out = append(out, i)
			}
		}
	}
	return out
}

func (s *sheet) column(name string) int {
	for i, h := range s.head {
		if h == name {
			return i
		}
	}
	return -1
}

// numbers changes every number of some columns. It says whether there were any.
func (s *sheet) numbers(columns []int, f func(v float64) float64) bool {
	any := false
	for _, r := range s.rows {
		for _, i := range columns {
			if v, err := strconv.ParseFloat(r[i], 64); err == nil {
				r[i] = strconv.FormatFloat(f(v), 'f', 9, 64)
				any = true
			}
		}
	}
	return any
}

// largest is the largest number of some columns.
func (s *sheet) largest(columns []int) float64 {
	most := 0.0
	for _, r := range s.rows {
		for _, i := range columns {
			if v, err := strconv.ParseFloat(r[i], 64); err == nil {
				most = max(most, v)
			}
		}
	}
	return most
}

// invert exchanges the first and the last state of a discrete.
func (s *sheet) invert(prof *profile.Profile, p flightdata.Parameter) bool {
	any := false
	for _, r := range prof.Parameters {
		if (r.Parameter != p && r.Parameter.Base() != p) || len(r.States) < 2 {
			continue
		}
		a, b := r.States[0].Cells[0], r.States[len(r.States)-1].Cells[0]
		for _, i := range s.columns(prof, r.Parameter) {
			for _, row := range s.rows {
				switch row[i] {
				case a:
					row[i], any = b, true
				case b:
					row[i], any = a, true
				}
			}
		}
	}
	return any
}

// swap exchanges two columns; take fills the second from the first.
func (s *sheet) swap(prof *profile.Profile, a, b flightdata.Parameter) bool {
	i, k := s.columns(prof, a), s.columns(prof, b)
	if len(i) == 0 || len(k) == 0 {
		return false
	}
	s.head[i[0]], s.head[k[0]] = s.head[k[0]], s.head[i[0]]
	return true
}

func (s *sheet) take(prof *profile.Profile, a, b flightdata.Parameter) bool {
	i, k := s.columns(prof, a), s.columns(prof, b)
	if len(i) == 0 || len(k) == 0 {
		return false
	}
	for _, row := range s.rows {
		row[k[0]] = row[i[0]]
	}
	return true
}
