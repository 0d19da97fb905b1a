package ingest_test

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/apache/arrow/go/v15/arrow/memory"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
	"rollonset/sampledata/synth"
)

// smallRow is one row of the small flight. Nil is a blank cell. Its values
// are binary fractions, so that text and floats hold the same.
type smallRow struct {
	Time  float64  `parquet:"TIME"`
	Speed *float64 `parquet:"GS_1,optional"`
	N1L   *float64 `parquet:"N1_1,optional"`
	N1R   *float64 `parquet:"N1_2,optional"`
	Brake *string  `parquet:"PBRK,optional"`
	Flap  *float64 `parquet:"FLAP,optional"`
}

// smallFlight is a roll of a minute, 2 rows a second, each parameter at its
// own rate and phase, with a spike and a word without a meaning.
func smallFlight() []smallRow {
	rows := make([]smallRow, 120)
	at := func(i, every, phase int, v float64) *float64 {
		if i%every != phase {
			return nil
		}
		return &v
	}
	for i := range rows {
		r := smallRow{Time: 15060.25 + float64(i)/2}
		r.Speed = at(i, 2, 0, max(0, float64(i-30))*0.75)
		r.N1L = at(i, 2, 1, min(22.5+max(0, float64(i-20))*5, 95.5))
		r.N1R = at(i, 2, 0, min(22.5+max(0, float64(i-21))*5, 95.25))
		r.Flap = at(i, 4, 3, 10)
		if i == 43 {
			*r.Flap = 48.5
		}
		if i%2 == 0 {
			word := []string{"SET", "REL", "REL", "BETWEEN"}[min(i/28, 3)]
			r.Brake = &word
		}
		rows[i] = r
	}
	return rows
}

func csvOf(rows []smallRow) []byte {
	var b bytes.Buffer
	b.WriteString("TIME,GS_1,N1_1,N1_2,PBRK,FLAP\n")
	number := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'f', -1, 64)
	}
	for _, r := range rows {
		word := ""
		if r.Brake != nil {
			word = *r.Brake
		}
		fmt.Fprintf(&b, "%s,%s,%s,%s,%s,%s\n", number(&r.Time), number(r.Speed), number(r.N1L), number(r.N1R), word, number(r.Flap))
	}
	return b.Bytes()
}

func gzipOf(t testing.TB, data []byte) []byte {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	if _, err := w.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func zstdOf(t testing.TB, data []byte) []byte {
	w, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	return w.EncodeAll(data, nil)
}

func parquetOf(t testing.TB, rows []smallRow) []byte {
	var b bytes.Buffer
	if err := parquet.Write(&b, rows); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// arrowOf writes an Arrow IPC file of two batches.
func arrowOf(t testing.TB, rows []smallRow) []byte {
	numbers := []string{"TIME", "GS_1", "N1_1", "N1_2", "FLAP"}
	var fields []arrow.Field
	for _, name := range numbers {
		fields = append(fields, arrow.Field{Name: name, Type: arrow.PrimitiveTypes.Float64, Nullable: name != "TIME"})
	}
	fields = append(fields, arrow.Field{Name: "PBRK", Type: arrow.BinaryTypes.String, Nullable: true})
	schema := arrow.NewSchema(fields, nil)
	file := &seekable{}
	w, err := ipc.NewFileWriter(file, ipc.WithSchema(schema))
	if err != nil {
		t.Fatal(err)
	}
	for _, batch := range [][]smallRow{rows[:50], rows[50:]} {
		b := array.NewRecordBuilder(memory.NewGoAllocator(), schema)
		for _, r := range batch {
			for i, v := range []*float64{&r.Time, r.Speed, r.N1L, r.N1R, r.Flap} {
				column := b.Field(i).(*array.Float64Builder)
				if v == nil {
					column.AppendNull()
				} else {
					column.Append(*v)
				}
			}
			if words := b.Field(5).(*array.StringBuilder); r.Brake == nil {
				words.AppendNull()
			} else {
				words.Append(*r.Brake)
			}
		}
		if err := w.Write(b.NewRecord()); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return file.data
}

// seekable is a file in memory, which the Arrow writer wants to seek in.
type seekable struct {
	data []byte
	at   int64
}

func (s *seekable) Write(p []byte) (int, error) {
	s.data = append(s.data[:s.at], p...)
	s.at += int64(len(p))
	return len(p), nil
}

func (s *seekable) Seek(offset int64, whence int) (int64, error) {
	if whence != 1 || offset != 0 {
		return 0, fmt.Errorf("the writer seeks to %d from %d", offset, whence)
	}
	return s.at, nil
}

// sameRecording ignores what must differ: the file itself.
var sameRecording = cmp.Options{cmpopts.EquateComparable(unit.Unit{}), cmpopts.IgnoreFields(flightdata.Recording{}, "Source")}

// TestFormatsAgree: one flight, five containers, the same recording.
func TestFormatsAgree(t *testing.T) {
	rows := smallFlight()
	text := csvOf(rows)
	p := parse(t, twin)
	var first *flightdata.Recording
	for _, c := range []struct {
		name, format string
		data         []byte
	}{
		{"r.csv", "CSV", text},
		{"r.csv.gz", "CSV gzip", gzipOf(t, text)},
		{"r.csv.zst", "CSV zstd", zstdOf(t, text)},
		{"r.parquet", "Parquet", parquetOf(t, rows)},
		{"r.arrow", "Arrow IPC file", arrowOf(t, rows)},
		{"windows.csv", "CSV", []byte("\ufeff" + strings.ReplaceAll(string(text), "\n", "\r\n"))},
		{"a lying extension.parquet", "CSV", text},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, put(t, c.name, c.data), ingest.Options{}, p)
			if r.Source.Format != c.format || r.Source.Rows != int64(len(rows)) || r.Source.Columns != 6 || r.Source.Used != 6 {
				t.Errorf("source %+v", r.Source)
			}
			if first == nil {
				first = r
				return
			}
			if diff := cmp.Diff(first, r, sameRecording); diff != "" {
				t.Errorf("differs from the CSV (-CSV +%s):\n%s", c.format, diff)
			}
		})
	}
	// That they agree is worth nothing if they agree on nothing.
	if n := first.Get(flightdata.FlapLever).MaskCounts(); n[flightdata.Spike] != 1 || n[flightdata.Good] != 29 {
		t.Errorf("flap lever: %v", n)
	}
	if n := first.Get(flightdata.ParkingBrake).MaskCounts(); n[flightdata.NotANumber] != 18 {
		t.Errorf("parking brake: %v", n)
	}
	if n1 := first.Get("n1.1"); n1.Len() != 60 || n1.Times[0] != 500_000_000 || first.ClockOrigin != 15060_250_000_000 {
		t.Errorf("n1.1 starts at %v of %d", n1.Times[0], first.ClockOrigin)
	}
	if gs := first.Get(flightdata.GroundSpeed); gs.Values[gs.Len()-1] != 66*1.9438444924406046 {
		t.Errorf("the last ground speed is %.17g kt, 66 m/s were recorded", gs.Values[gs.Len()-1])
	}
}

// TestMadeFlightsAgree: the same with whole flights of the fleet.
func TestMadeFlightsAgree(t *testing.T) {
	profiles, err := profile.LoadDir("../sampledata/fleet")
	if err != nil {
		t.Fatal(err)
	}
	const flights = 3
	made := map[synth.Format][]*flightdata.Recording{}
	for _, format := range synth.Formats() {
		dir := t.TempDir()
		if err := synth.Flights(synth.Options{N: flights, Seed: 3, Formats: []synth.Format{format}}, profiles, dir); err != nil {
			t.Fatal(err)
		}
		for _, path := range recordings(t, dir) {
			made[format] = append(made[format], open(t, path, ingest.Options{}, profiles...))
		}
	}
	for format, rs := range made {
		if len(rs) != flights {
			t.Fatalf("%s: %d flights", format, len(rs))
		}
		for i, r := range rs {
			if diff := cmp.Diff(made[synth.CSV][i], r, sameRecording); diff != "" {
				t.Errorf("flight %d in %s (-CSV):\n%s", i, format, diff)
			}
		}
	}
}
