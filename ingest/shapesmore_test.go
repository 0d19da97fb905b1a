package ingest_test

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/parquet-go/parquet-go"
)

type reflectType = reflect.Type

// numbers are the columns of the flight that hold numbers.
var numbers = []string{"GS", "N1_1", "N1_2", "PITCH", "FLAP", "GW"}

// discretes are the others that the profile reads.
var discretes = []string{"WOW", "PBRK", "WARN"}

// fillForward repeats each sample until the next.
func fillForward(s *sheet, _ []time.Time) {
	for _, name := range slices.Concat(numbers, discretes) {
		var last any
		for i, v := range s.column(name).cells {
			if v == nil {
				s.column(name).cells[i] = last
			} else {
				last = v
			}
		}
	}
}

// inFrames keeps one row a second and puts the samples of its eight rows into
// one cell, or with split into numbered columns.
func inFrames(split bool) func(*sheet, []time.Time) {
	return func(s *sheet, _ []time.Time) {
		var columns []sheetColumn
		for _, c := range s.columns {
			slots := shapeRate
			if c.name == "PITCH" {
				slots = 4 // no blank between them
			}
			samples := func(row, slot int) any { return c.cells[row*shapeRate+slot*shapeRate/slots] }
			rows := len(c.cells) / shapeRate
			switch {
			case c.name == "TIME" || c.name == "SPARE":
				slots = 1
				fallthrough
			case split || c.kind == "text":
				for slot := range slots {
					part := sheetColumn{name: c.name, kind: c.kind, unit: c.unit}
					if slots > 1 {
						part.name = fmt.Sprintf("%s_%c", c.name, 'a'+slot)
					}
					for row := range rows {
						part.cells = append(part.cells, samples(row, slot))
					}
					columns = append(columns, part)
				}
			default:
				list := sheetColumn{name: c.name, kind: "list", unit: c.unit}
				for row := range rows {
					var cell []any
					for slot := range slots {
						cell = append(cell, samples(row, slot))
					}
					list.cells = append(list.cells, cell)
				}
				columns = append(columns, list)
			}
		}
		s.columns = columns
	}
}

// inRow is the lines of the profile that read numbered columns.
func inRow(names ...string) []string {
	var out []string
	for _, name := range names {
		slots := "abcdefgh"
		if name == "PITCH" {
			slots = "abcd"
		}
		list := ""
		for _, slot := range slots {
			list += fmt.Sprintf("%s_%c, ", name, slot)
		}
		out = append(out, "{column: "+name+",", "{in_row: ["+list[:len(list)-2]+"],")
	}
	return out
}

// words puts the three discretes into bits of one word: 2, 5 inverted, and 8
// to 9.
func inWord(hex bool) func(*sheet, []time.Time) {
	return func(s *sheet, _ []time.Time) {
		cells := make([]any, s.rows())
		for i := range cells {
			if s.column("WOW").cells[i] == nil {
				continue
			}
			word := int64(0xC0C3)
			if s.column("WOW").cells[i] == "AIR" {
				word |= 1 << 2
			}
			if s.column("PBRK").cells[i] == "REL" {
				word |= 1 << 5
			}
			if s.column("WARN").cells[i] == "YES" {
				word |= 3 << 8
			}
			if cells[i] = word; hex {
				cells[i] = fmt.Sprintf("0x%X", word)
			}
		}
		s.columns = slices.DeleteFunc(s.columns, func(c sheetColumn) bool { return slices.Contains(discretes, c.name) })
		kind := "int"
		if hex {
			kind = "text"
		}
		s.columns = append(s.columns, sheetColumn{name: "WORD", kind: kind, cells: cells})
	}
}

var bitWords = []string{words3, `air_ground:      {column: WORD, bit: 2, rate: 1, states: {ground: ["0"], air: ["1"]}}
  parking_brake:   {column: WORD, bit: 5, rate: 1, states: {released: ["1"], set: ["0"]}}
  takeoff_warning: {column: WORD, bits: [8, 9], rate: 1, states: {off: ["0"], on: ["3"]}}`}

var filled = []string{"rate: 1,", "rate: 1, filled: true,", "rate: 1}", "rate: 1, filled: true}", "rate: 4}", "rate: 4, filled: true}", "rate: 0.5}", "rate: 0.5, filled: true}", "rate: 0.25}", "rate: 0.25, filled: true}"}

// rateShapes are ways to lay the same samples out.
func rateShapes() []shape {
	semicolons := inCSV(func(d *dialect) { d.delimiter = ";" })
	return []shape{
		{name: "filled forward", profile: filled, change: fillForward, write: semicolons},
		{name: "filled forward, Parquet", profile: filled, change: fillForward, write: inParquet()},
		{name: "numbered columns", profile: inRow(append(numbers, discretes...)...), change: inFrames(true), write: inCSV(func(d *dialect) { d.quote = true })},
		{name: "numbered columns, Parquet", profile: inRow(append(numbers, discretes...)...), change: inFrames(true), write: inParquet()},
		{name: "lists, Parquet", profile: inRow(discretes...), change: inFrames(false), write: inParquet(parquet.PageBufferSize(1000))},
		{name: "lists, Arrow", profile: inRow(discretes...), change: inFrames(false), write: inArrow(false)},
		{name: "each half of the columns in rows of its own", change: func(s *sheet, _ []time.Time) {
			n := s.rows()
			for i := range s.columns {
				var cells []any
				for row := range n {
					v := s.columns[i].cells[row]
					switch {
					case i == 0:
						cells = append(cells, v, v)
					case i%2 == 0:
						cells = append(cells, v, nil)
					default:
						cells = append(cells, nil, v)
					}
				}
				s.columns[i].cells = cells
			}
		}, write: semicolons},
		{name: "bits of a word in hexadecimal", profile: bitWords, change: inWord(true), write: semicolons},
		{name: "bits of a word, Parquet", profile: bitWords, change: inWord(false), write: inParquet()},
		{name: "discretes as inverted numbers", profile: []string{words3, `air_ground:      {column: WOW, rate: 1, states: {ground: ["1"], air: ["0"]}}
  parking_brake:   {column: PBRK, rate: 1, states: {released: ["1"], set: ["0"]}}
  takeoff_warning: {column: WARN, rate: 1, states: {off: ["1"], on: ["0"]}}`}, change: func(s *sheet, _ []time.Time) {
			for _, name := range discretes {
				c := s.column(name)
				c.kind = "number"
				for i, v := range c.cells {
					if v != nil {
						c.cells[i] = map[any]float64{"GND": 1, "AIR": 0, "REL": 1, "SET": 0, "NO": 1, "YES": 0}[v]
					}
				}
			}
		}, write: inArrow(true)},
		{name: "a second source for a dead first", profile: []string{"{column: GS,", "{column: [GS, GS_2],"}, change: func(s *sheet, _ []time.Time) {
			c := s.column("GS")
			s.columns = append(s.columns, sheetColumn{name: "GS_2", kind: c.kind, unit: c.unit, cells: slices.Clone(c.cells)})
			for i := range 400 {
				c.cells[600+i] = nil
			}
		}, write: semicolons},
	}
}

// containerShapes are ways to pack the same sheet.
func containerShapes() []shape {
	at := func(kind string, unit int64) func(*sheet, []time.Time) {
		return clocked(kind, func(t time.Time) any { return t.UnixNano() / unit })
	}
	gz := func(t testing.TB, b []byte) []byte { return gzipOf(t, b) }
	return []shape{
		{name: "Parquet", write: inParquet()},
		{name: "Parquet snappy", write: inParquet(parquet.Compression(&parquet.Snappy))},
		{name: "Parquet zstd, row groups", write: inParquet(parquet.Compression(&parquet.Zstd), parquet.MaxRowsPerRowGroup(250))},
		{name: "Parquet gzip, small pages", write: inParquet(parquet.Compression(&parquet.Gzip), parquet.PageBufferSize(512))},
		{name: "Parquet, old pages", write: inParquet(parquet.DataPageVersion(1))},
		{name: "Parquet timestamps in milliseconds", profile: form("ISO 8601"), change: at("ms", 1e6), write: inParquet(), dated: true},
		{name: "Parquet timestamps in microseconds", profile: form("RFC 3339"), change: at("us", 1e3), write: inParquet(), dated: true},
		{name: "Parquet timestamps in nanoseconds", profile: form("HH:MM:SS"), change: at("ns", 1), write: inParquet()},
		{name: "Parquet milliseconds", profile: form("milliseconds"), change: at("int", 1e6), write: inParquet()},
		{name: "Arrow file", write: inArrow(true)},
		{name: "Arrow stream", write: inArrow(false)},
		{name: "Arrow file zstd", write: inArrow(true, ipc.WithZstd())},
		{name: "Arrow stream LZ4", write: inArrow(false, ipc.WithLZ4())},
		{name: "Arrow stream inside gzip", write: then(inArrow(false), gz)},
		{name: "Arrow file inside zstd", write: then(inArrow(true), asZstd)},
		{name: "Arrow timestamps of a zone", profile: form("ISO 8601"), change: at("ns", 1), write: inArrow(false), dated: true},
		{name: "Arrow timestamps without a zone", profile: form("RFC 3339"), change: at("us", 1e3), write: inArrow(true), dated: true},
		{name: "Arrow times and dates", profile: form("HH:MM:SS, date_column: DATE"), change: func(s *sheet, times []time.Time) {
			at("clock", 1e3)(s, times)
			for i, c := range s.column("TIME").cells {
				s.column("TIME").cells[i] = c.(int64) % 86_400_000_000
			}
			s.columns = append(s.columns, sheetColumn{name: "DATE", kind: "date", cells: clockCells(times, func(t time.Time) any { return t.Unix() / 86_400 })})
		}, write: inArrow(false), dated: true},
	}
}

// inLong makes a row of each sample, in the order of time or of the names.
func inLong(kind string, byName bool, when func(t time.Time) any) func(*sheet, []time.Time) {
	return func(s *sheet, times []time.Time) {
		type row struct {
			at          int
			name, value string
			unit        any
		}
		var rows []row
		for _, c := range s.columns[1:] {
			for i, v := range c.cells {
				if v != nil {
					r := row{at: i, name: c.name, value: fmt.Sprint(v)}
					if c.unit != "" {
						r.unit = c.unit
					}
					rows = append(rows, r)
				}
			}
		}
		slices.SortStableFunc(rows, func(a, b row) int {
			if byName {
				return cmp.Compare(a.name, b.name)
			}
			return cmp.Compare(a.at, b.at)
		})
		out := []sheetColumn{{name: "VALUE", kind: "text"}, {name: "TIME", kind: kind}, {name: "UNIT", kind: "text"}, {name: "NAME", kind: "text"}}
		for _, r := range rows {
			out[0].cells = append(out[0].cells, r.value)
			out[1].cells = append(out[1].cells, when(times[r.at]))
			out[2].cells = append(out[2].cells, r.unit)
			out[3].cells = append(out[3].cells, r.name)
		}
		s.columns = out
	}
}

// longShapes have a row for each sample.
func longShapes() []shape {
	long := func(f, extra string) []string {
		return []string{plainTime, "{column: TIME, form: " + f + "}\nlong: {parameter: NAME, value: VALUE" + extra + "}"}
	}
	seconds := func(t time.Time) any { return t.Sub(shapeStart).Seconds() }
	ns := func(t time.Time) any { return t.UnixNano() }
	return []shape{
		{name: "long", profile: long("seconds", ""), change: inLong("number", false, seconds), write: inCSV(func(d *dialect) { d.quote = true })},
		{name: "long, by name, with units", profile: long("ISO 8601", ", unit: UNIT"), change: inLong("text", true, layout("2006-01-02 15:04:05.000")), write: inCSV(func(d *dialect) { d.delimiter = ";" }), dated: true},
		{name: "long, Parquet", profile: long("RFC 3339", ", unit: UNIT"), change: inLong("ns", false, ns), write: inParquet(parquet.MaxRowsPerRowGroup(1000)), dated: true},
		{name: "long, Arrow", profile: long("RFC 3339", ", unit: UNIT"), change: inLong("ns", true, ns), write: inArrow(false), dated: true},
	}
}
