package ingest_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/parquet-go/parquet-go"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// A mistake is one file that is wrong in one way. Its name says how.
type mistake struct {
	name    string
	data    string
	profile []string // old and new parts of the profile twin
	file    string   // its name, "r.csv" unless given
}

const (
	// roll are the columns that the profile twin cannot do without.
	roll       = "TIME,GS_1,N1_1,N1_2,FLAP"
	twinTime   = "time: {column: [TIME, CLOCK], form: seconds}"
	twinFlap   = "{column: FLAP, unit: deg}"
	twinBrake  = `{column: PBRK, states: {released: ["0", "REL"], set: ["1", "SET", "ON"]}}`
	twinSpeeds = "{column: [GS_1, GS_2], unit: m/s, rate: 1}"
	longTime   = "time: {column: TIME, form: seconds}\nlong: {parameter: NAME, value: VALUE, unit: UNIT}"
)

func timed(how string) []string { return []string{twinTime, "time: {column: TIME, " + how + "}"} }

func textMistakes() []mistake {
	utf16 := string(asUTF16([]byte(roll+"\n0,1,2,3,4\n"), binary.LittleEndian))
	return []mistake{
		{name: "cells-between-bars", data: "TIME|GS_1|N1_1|N1_2\n0|1|2|3\n"},
		{name: "cells-not-as-the-profile-says", data: strings.ReplaceAll(roll+"\n0,1,2,3,4\n", ",", ";"), profile: []string{twinTime, twinTime + "\ncsv: {delimiter: comma}"}},
		{name: "row-shorter-than-the-header", data: "# made by nobody\n" + roll + "\n0,1,2,3,4\n1,1,2\n2,1,2,3,4\n"},
		{name: "row-longer-than-the-header", data: roll + "\n0,1,2,3,4\n1,1,2,3,4,5\n2,1,2,3,4\n"},
		{name: "quote-never-closed", data: roll + "\n0,1,2,3,\"4\n1,1,2,3,4\n"},
		{name: "quote-inside-a-cell", data: roll + "\n0,1,2,3,4\"\n"},
		{name: "text-behind-a-quote", data: roll + "\n0,1,2,3,\"4\"deg\n"},
		{name: "zero-bytes", data: roll + "\n0,1,2,3,4\n1,1\x00,2,3,4\n"},
		{name: "lines-that-end-in-CR-alone", data: roll + "\r0,1,2,3,4\r"},
		{name: "UTF-16-without-its-mark", data: utf16[2:]},
		{name: "UTF-16-cut-within-a-character", data: utf16[:len(utf16)-1]},
		{name: "time-column-spelt-otherwise", data: "# made by nobody\nTime,GS_1,N1_1,N1_2\n0,1,2,3\n"},
		{name: "lines-and-no-header", data: "Registration: ZZ-A01\nDate: 2031-03-07\n"},
		{name: "unit-of-another-kind", data: roll + "\n(s),(m/s),(%),(%),(kt)\n0,1,2,3,4\n"},
		{name: "note-unit-not-known", data: roll + "\n(s),(m/s),(%),(%),(clicks)\n0,1,2,3,4\n"},
		{name: "note-unit-not-of-the-profile", data: roll + "\n(s),(kt),(%),(%),(deg)\n0,1,2,3,4\n"},
		{name: "note-decimal-commas-among-points", data: strings.ReplaceAll(roll, ",", ";") + "\n0;1.5;2;3;4\n1;1,5;2;3;4\n"},
		{name: "note-points-between-thousands", data: strings.ReplaceAll(roll, ",", ";") + "\n0;1,5;2;3;4\n1;1.001,5;2;3;4\n"},
		{name: "note-Latin-1", data: roll + ",H\xf6he\n0,1,2,3,4,5\n"},
	}
}

func clockMistakes() []mistake {
	rows := func(times ...string) string {
		return roll + "\n" + strings.Join(times, ",90,20,20,5\n") + ",90,20,20,5\n"
	}
	ground := func(times ...string) string { return strings.ReplaceAll(rows(times...), ",90,", ",3,") }
	return []mistake{
		{name: "time-of-day-instead-of-seconds", data: rows("12:00:00", "12:00:01")},
		{name: "seconds-instead-of-time-of-day", data: rows("0", "1"), profile: timed("form: HH:MM:SS")},
		{name: "time-of-day-without-seconds", data: rows("12:00", "12:01"), profile: timed("form: HH:MM:SS")},
		{name: "date-with-strokes", data: rows("05/14/2031 12:00:00"), profile: timed("form: ISO 8601")},
		{name: "date-that-no-calendar-has", data: rows("2031-02-29T12:00:00"), profile: timed("form: ISO 8601")},
		{name: "words-instead-of-milliseconds", data: rows("noon"), profile: timed("form: milliseconds")},
		{name: "frames-with-fractions", data: rows("0.25", "0.5"), profile: timed("form: frame counter, step: 4 s")},
		{name: "clock-set-back-while-fast", data: rows("10", "11", "12", "5", "6", "7")},
		{name: "clock-set-back-and-nothing-tells-where", data: strings.ReplaceAll(rows("10", "11", "12", "5", "6", "7"), ",90,", ",,")},
		{name: "stretch-that-is-there-twice", data: ground("100", "101", "102", "7", "8", "9")},
		{name: "more-times-that-fit-nowhere-than-an-accident", data: rows("0", "1", "9000", "9001", "9002", "9003", "2", "3")},
		{name: "two-flights-one-after-the-other", data: rows("4000", "4001", "0", "1")},
		{name: "note-time-that-fits-nowhere", data: rows("0", "1", "9000", "2", "3")},
		{name: "note-rows-out-of-order", data: rows("0", "1", "3", "2", "4")},
		{name: "note-clock-set-back-on-the-ground", data: ground("10", "11", "12", "5", "6", "7")},
		{name: "note-gap", data: rows("0", "1", "2", "100", "101")},
		{name: "note-eight-rows-a-second-in-whole-seconds", data: rows("0", "0", "0", "0", "1", "1", "1", "1")},
		{name: "note-fewer-rows-than-the-profile-says", data: rows("0", "0", "1", "2", "2"), profile: timed("form: seconds, step: 1 s, rows: 2")},
		{name: "note-more-rows-than-the-profile-says", data: rows("0", "0", "0", "1", "1"), profile: timed("form: seconds, step: 1 s, rows: 2")},
		{name: "note-date-column-not-there", data: rows("12:00:00", "12:00:01"), profile: timed("form: HH:MM:SS, date_column: DATE")},
		{name: "note-date-column-without-a-date", data: strings.ReplaceAll(rows("12:00:00"), ",5\n", ",05/14/31\n"), profile: append(timed("form: HH:MM:SS, date_column: FLAP"), twinFlap, "{column: FLAP_2, unit: deg}")},
		{name: "note-times-without-a-zone", data: rows("2031-05-14 12:00:00"), profile: timed("form: ISO 8601")},
	}
}

func valueMistakes() []mistake {
	named := func(rows ...string) string { return roll + ",TAIL,FLT\n" + strings.Join(rows, "\n") + "\n" }
	identity := []string{twinTime, twinTime + "\nidentity: {tail: TAIL, flight: FLT}"}
	return []mistake{
		{name: "tail-of-no-profile-in-a-column", data: named("0,1,2,3,4,ZZ-X1,MA1"), profile: identity},
		{name: "note-tail-against-the-file-name", file: departure, data: named("0,1,2,3,4,ZZ-A2,MA12"), profile: identity},
		{name: "note-two-flights-in-a-column", data: named("0,1,2,3,4,ZZ-A1,MA1", "1,1,2,3,4,ZZ-A1,MA2"), profile: identity},
		{name: "note-word-of-bits-that-is-none", data: roll + ",WORD\n0,1,2,3,4,0x1F\n1,1,2,3,4,1F\n2,1,2,3,4,3.5\n3,1,2,3,4,-1\n", profile: []string{twinBrake, `{column: WORD, bit: 3, states: {released: ["0"], set: ["1"]}}`}},
		{name: "note-bits-without-a-meaning", data: roll + ",WORD\n0,1,2,3,4,3\n", profile: []string{twinBrake, `{column: WORD, bits: [0, 1], states: {released: ["0"], set: ["1"]}}`}},
		{name: "note-sources-that-disagree", data: roll + ",GS_2\n0,1,2,3,4,9\n1,1,2,3,4,9\n", profile: []string{twinSpeeds, "{column: [GS_1, GS_2], unit: m/s, rate: 1, agree_within: 5 m/s}"}},
		{name: "note-column-of-a-row-not-there", data: roll + ",A_1,A_3\n0,1,2,3,4,5,6\n1,1,2,3,4,5,6\n", profile: []string{twinFlap, "{in_row: [A_1, A_2, A_3], unit: deg}"}},
		{name: "note-second-sample-of-an-instant", data: roll + "\n0,1,2,3,4\n0,9,2,3,4\n1,1,2,3,4\n"},
	}
}

func longMistakes() []mistake {
	change := []string{twinTime, longTime}
	long := func(rows ...string) string { return "TIME,NAME,VALUE,UNIT\n" + strings.Join(rows, "\n") + "\n" }
	full := []string{"0,GS_1,1,m/s", "0,N1_1,20,%", "0,N1_2,20,%"}
	with := func(rows ...string) string { return long(append(full, rows...)...) }
	return []mistake{
		{name: "long-without-its-column-of-names", data: "TIME,PARAM,VALUE,UNIT\n0,GS_1,1,m/s\n", profile: change},
		{name: "long-without-its-column-of-values", data: "TIME,NAME,VAL,UNIT\n0,GS_1,1,m/s\n", profile: change},
		{name: "long-without-a-row", data: long()[:21], profile: change},
		{name: "long-without-a-known-name", data: long("0,gs_1,1,m/s", "0,n1_1,20,%"), profile: change},
		{name: "long-without-a-speed", data: long("0,N1_1,20,%", "0,N1_2,20,%"), profile: change},
		{name: "long-without-an-engine", data: long("0,GS_1,1,m/s"), profile: change},
		{name: "long-without-a-time", data: long("noon,GS_1,1,m/s", "noon,N1_1,20,%"), profile: change},
		{name: "long-row-too-short", data: with("0,FLAP,5"), profile: change},
		{name: "long-unit-that-changes", data: with("0,FLAP,5,deg", "1,FLAP,0.1,rad"), profile: change},
		{name: "long-unit-of-another-kind", data: with("0,FLAP,5,kg"), profile: change},
		{name: "wide-file-for-a-long-profile", data: roll + "\n0,1,2,3,4\n", profile: change},
		{name: "note-long-rows-without-a-time", data: with("noon,FLAP,5,deg", ",FLAP,6,deg", "2,FLAP,7,deg"), profile: change},
		{name: "note-long-without-its-column-of-units", data: strings.ReplaceAll(with("0,FLAP,5,deg"), "UNIT", "SPARE"), profile: change},
	}
}

func containerMistakes(t *testing.T) []mistake {
	s, times := shapeFlight()
	change := []string{"column: [GS_1, GS_2]", "column: GS", "column: PBRK, states", "column: WOW, states"}
	clocked("list", func(time.Time) any { return []any{1.0, 2.0} })(s, times)
	lists := string(s.parquet(t))
	s, _ = shapeFlight()
	lz4 := string(s.parquet(t, parquet.Compression(&parquet.Lz4Raw)))
	brotli := string(s.parquet(t, parquet.Compression(&parquet.Brotli)))
	numbers := string(s.arrow(t, false))
	cut := s.arrow(t, true)
	type inner struct {
		Raw float64 `parquet:"raw"`
	}
	type records struct {
		Time float64 `parquet:"TIME"`
		GS   inner   `parquet:"GS"`
		N1   float64 `parquet:"N1_1"`
	}
	var nested bytes.Buffer
	if err := parquet.Write(&nested, []records{{}}); err != nil {
		t.Fatal(err)
	}
	schema := arrow.NewSchema([]arrow.Field{
		{Name: "TIME", Type: arrow.PrimitiveTypes.Float64},
		{Name: "GS", Type: arrow.ListOf(arrow.ListOf(arrow.PrimitiveTypes.Float64))},
		{Name: "N1_1", Type: arrow.PrimitiveTypes.Float64},
	}, nil)
	b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
	var nests bytes.Buffer
	w := ipc.NewWriter(&nests, ipc.WithSchema(schema))
	if err := errors.Join(w.Write(b.NewRecord()), w.Close()); err != nil {
		t.Fatal(err)
	}
	return []mistake{
		{name: "times-that-are-lists", file: "r.parquet", data: lists, profile: change},
		{name: "compressed-with-LZ4", file: "r.parquet", data: lz4, profile: change},
		{name: "compressed-with-brotli", file: "r.parquet", data: brotli, profile: change},
		{name: "numbers-instead-of-timestamps", file: "r.arrow", data: numbers, profile: append(timed("form: ISO 8601"), change...)},
		{name: "numbers-instead-of-times-of-day", file: "r.arrow", data: numbers, profile: append(timed("form: HH:MM:SS"), change...)},
		{name: "Arrow-file-cut-off", file: "r.arrow", data: string(cut[:len(cut)-100]), profile: change},
		{name: "cells-that-are-records", file: "r.parquet", data: nested.String(), profile: []string{"column: [GS_1, GS_2]", "column: GS.raw"}},
		{name: "lists-of-lists", file: "r.arrow", data: nests.String(), profile: change},
	}
}

// TestMistakes opens one file for each mistake and keeps what is said about it
// in testdata/mistakes, to be read aloud: file, place, cause, remedy. What
// starts with "note:" travels with a recording that could be read.
func TestMistakes(t *testing.T) {
	all := append(append(append(append(textMistakes(), clockMistakes()...), valueMistakes()...), longMistakes()...), containerMistakes(t)...)
	if len(all) < 40 {
		t.Errorf("only %d mistakes", len(all))
	}
	known := map[string]bool{}
	for _, m := range all {
		known[m.name+".golden"] = true
		t.Run(m.name, func(t *testing.T) {
			if m.file == "" {
				m.file = "r.csv"
			}
			path := put(t, m.file, []byte(m.data))
			r, _, err := ingest.Open(path, []*profile.Profile{parse(t, twin, m.profile...)}, ingest.Options{})
			if wantNote := strings.HasPrefix(m.name, "note-"); wantNote != (err == nil) {
				t.Fatalf("Open gives %v", err)
			}
			said := ""
			if err != nil {
				said = err.Error()
				for _, part := range []string{": ", "; "} { // a place or cause, and a remedy
					if !strings.Contains(said, part) {
						t.Errorf("%q lacks %q", said, part)
					}
				}
			} else if said = noted(r); said == "" {
				t.Fatal("no note")
			}
			golden(t, "mistakes/"+m.name+".golden", strings.ReplaceAll(said, path, m.file)+"\n")
		})
	}
	files, err := os.ReadDir(filepath.Join("testdata", "mistakes"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !known[f.Name()] {
			t.Errorf("testdata/mistakes/%s belongs to no mistake", f.Name())
		}
	}
}

// noted are the notes, a line each, without those on what the small files
// leave out.
func noted(r *flightdata.Recording) string {
	var lines []string
	for _, n := range r.Notes {
		if !strings.Contains(n.Text, " is not in the file (") && !strings.Contains(n.Text, "the tail is not known") {
			lines = append(lines, "note: "+n.String())
		}
	}
	return strings.Join(lines, "\n")
}
