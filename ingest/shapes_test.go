package ingest_test

import (
	"encoding/binary"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/parquet-go/parquet-go"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// A shape is one way in which the flight is recorded.
type shape struct {
	name    string
	profile []string // old and new lines of shapeProfile
	// change makes the shape out of the plain sheet; write makes the file.
	change func(s *sheet, times []time.Time)
	write  func(t testing.TB, s *sheet) []byte
	dated  bool // the file tells the day
}

const (
	plainTime = "{column: TIME, form: seconds}"
	words3    = `air_ground:      {column: WOW, rate: 1, states: {ground: [GND], air: [AIR]}}
  parking_brake:   {column: PBRK, rate: 1, states: {released: [REL], set: [SET]}}
  takeoff_warning: {column: WARN, rate: 1, states: {off: ["NO"], on: ["YES"]}}`
)

func inCSV(change func(d *dialect)) func(testing.TB, *sheet) []byte {
	d := plainCSV
	if change != nil {
		change(&d)
	}
	return func(_ testing.TB, s *sheet) []byte { return s.csv(d) }
}

func inParquet(opt ...parquet.WriterOption) func(testing.TB, *sheet) []byte {
	return func(t testing.TB, s *sheet) []byte { return s.parquet(t, opt...) }
}

func inArrow(file bool, opt ...ipc.Option) func(testing.TB, *sheet) []byte {
	return func(t testing.TB, s *sheet) []byte { return s.arrow(t, file, opt...) }
}

func then(write func(testing.TB, *sheet) []byte, wrap func(testing.TB, []byte) []byte) func(testing.TB, *sheet) []byte {
	return func(t testing.TB, s *sheet) []byte { return wrap(t, write(t, s)) }
}

// clocked sets the cells of the time column.
func clocked(kind string, write func(t time.Time) any) func(*sheet, []time.Time) {
	return func(s *sheet, times []time.Time) {
		c := s.column("TIME")
		c.cells, c.kind, c.unit = clockCells(times, write), kind, ""
	}
}

func layout(l string) func(time.Time) any { return func(t time.Time) any { return t.Format(l) } }

func form(f string) []string { return []string{plainTime, "{column: TIME, form: " + f + "}"} }

// TestShapes writes one flight in every shape and demands the same findings
// and the same instants, to the nanosecond, from each.
func TestShapes(t *testing.T) {
	plain, _ := assessed(t, shape{name: "plain", write: inCSV(nil)})
	if len(plain.Attempts) != 2 || plain.Attempts[0].Reject == nil || plain.Attempts[0].Findings[0].State != configuration.Outside ||
		plain.Attempts[1].Findings[0].State != configuration.Within {
		t.Fatalf("the plain flight gives %+v", plain.Attempts)
	}
	// Midnight lies where the roll is judged from.
	midnight := span.Instant(time.Date(2032, 2, 29, 0, 0, 0, 0, time.UTC).Sub(shapeStart))
	if onset := plain.Attempts[0].Findings[0].Judged.From; onset != midnight {
		t.Errorf("the first onset is at %v, midnight at %v", time.Duration(onset), time.Duration(midnight))
	}
	all := slices.Concat(dialectShapes(), clockShapes(), rateShapes(), containerShapes(), longShapes())
	if len(all) < 40 {
		t.Errorf("only %d shapes", len(all))
	}
	for _, sh := range all {
		t.Run(sh.name, func(t *testing.T) {
			got, rec := assessed(t, sh)
			if diff := cmp.Diff(plain.Attempts, got.Attempts, sameFindings); diff != "" {
				t.Errorf("findings (-plain +%s):\n%.3000s", sh.name, diff)
			}
			if diff := cmp.Diff(plain.LookAlikes, got.LookAlikes, sameFindings); diff != "" {
				t.Errorf("look-alikes (-plain +%s):\n%.3000s", sh.name, diff)
			}
			for _, p := range plain.Recording.Parameters() {
				sameSamples(t, plain.Recording.Get(p), rec.Get(p))
			}
			if sh.dated && !rec.Start.Equal(shapeStart) || !sh.dated && !rec.Start.IsZero() {
				t.Errorf("starts %v", rec.Start)
			}
		})
	}
	t.Logf("%d shapes", len(all))
}

var sameFindings = cmp.Options{
	cmp.Exporter(func(reflectType) bool { return true }),
	cmpopts.EquateNaNs(), cmpopts.EquateApprox(0, 1e-6),
	cmpopts.IgnoreFields(configuration.Finding{}, "Raw", "ProfileLine"),
}

func sameSamples(t *testing.T, want, got *flightdata.Series) {
	t.Helper()
	if got == nil {
		t.Errorf("%s is missing", want.Parameter)
		return
	}
	if diff := cmp.Diff(want.Times, got.Times); diff != "" {
		t.Errorf("instants of %s:\n%.1000s", want.Parameter, diff)
	}
	if diff := cmp.Diff(want.Values, got.Values, cmpopts.EquateApprox(1e-12, 0)); diff != "" {
		t.Errorf("values of %s:\n%.1000s", want.Parameter, diff)
	}
	if got.Period != want.Period {
		t.Errorf("%s has a sample each %v, want %v", want.Parameter, got.Period, want.Period)
	}
}

func assessed(t *testing.T, sh shape) (*detect.Assessment, *flightdata.Recording) {
	t.Helper()
	s, times := shapeFlight()
	if sh.change != nil {
		sh.change(s, times)
	}
	p := parse(t, shapeProfile, sh.profile...)
	rec, prof, err := ingest.Open(put(t, "ZZ-A01", sh.write(t, s)), []*profile.Profile{p}, ingest.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range rec.Notes {
		t.Log(n)
	}
	return detect.Assess(rec, prof), rec
}

// dialectShapes are ways to write the same CSV.
func dialectShapes() []shape {
	const lines = "# Registration: ZZ-A01\n# exported by nobody, on no day\n\n"
	gz := func(t testing.TB, b []byte) []byte { return gzipOf(t, b) }
	inUTF16 := func(order binary.AppendByteOrder) func(testing.TB, []byte) []byte {
		return func(_ testing.TB, b []byte) []byte { return asUTF16(b, order) }
	}
	kmh := func(s *sheet, _ []time.Time) {
		c := s.column("GS")
		c.unit = "km/h"
		for i, v := range c.cells {
			if v != nil {
				c.cells[i] = v.(float64) * 1.852
			}
		}
	}
	return []shape{
		{name: "CR LF", write: inCSV(func(d *dialect) { d.end = "\r\n" })},
		{name: "byte order mark", write: inCSV(func(d *dialect) { d.before = "\ufeff" })},
		{name: "quotes", write: inCSV(func(d *dialect) { d.quote = true })},
		{name: "no last line end", write: inCSV(func(d *dialect) { d.last, d.quote = true, true })},
		{name: "semicolons", write: inCSV(func(d *dialect) { d.delimiter = ";" })},
		{name: "semicolons and decimal commas", write: inCSV(func(d *dialect) { d.delimiter, d.decimal = ";", "," })},
		{name: "tabs", write: inCSV(func(d *dialect) { d.delimiter = "\t" })},
		{name: "tabs and decimal commas", write: inCSV(func(d *dialect) { d.delimiter, d.decimal, d.end = "\t", ",", "\r\n" })},
		{name: "quoted decimal commas between commas", profile: []string{"parameters:", "csv: {delimiter: comma, decimal: comma}\nparameters:"}, write: inCSV(func(d *dialect) { d.quote, d.decimal = true, "," })},
		{name: "lines before the header", write: inCSV(func(d *dialect) { d.before, d.quote = lines, true })},
		{name: "row of units", write: inCSV(func(d *dialect) { d.units, d.quote = true, true })},
		{name: "another unit", change: kmh, write: inCSV(func(d *dialect) { d.units, d.delimiter = true, ";" })},
		{name: "a unit of the profile", change: func(s *sheet, times []time.Time) { kmh(s, times); s.column("GS").unit = "" }, profile: []string{"{column: GS, unit: kt", "{column: GS, unit: km/h"}, write: inCSV(func(d *dialect) { d.delimiter = ";" })},
		{name: "words for no sample", profile: []string{"parameters:", "no_sample: [\"***\"]\nparameters:"}, write: inCSV(func(d *dialect) { d.blank, d.delimiter = "***", ";" })},
		{name: "a number for no sample", profile: []string{"parameters:", "no_sample: [\"-9999\"]\nparameters:"}, write: inCSV(func(d *dialect) { d.blank, d.delimiter = "-9999", ";" })},
		{name: "NaN for no sample", write: inCSV(func(d *dialect) { d.blank, d.delimiter = "NaN", ";" })},
		{name: "UTF-16, low byte first", write: then(inCSV(func(d *dialect) { d.delimiter = "\t" }), inUTF16(binary.LittleEndian))},
		{name: "UTF-16, high byte first", write: then(inCSV(func(d *dialect) { d.delimiter, d.end = ";", "\r\n" }), inUTF16(binary.BigEndian))},
		{name: "Latin-1", change: func(s *sheet, _ []time.Time) { s.column("FLAP").unit, s.column("SPARE").name = "°", "Zähler" }, write: then(inCSV(func(d *dialect) { d.units, d.delimiter = true, ";" }), func(_ testing.TB, b []byte) []byte { return asLatin1(b) })},
		{name: "CSV gzip", write: then(inCSV(func(d *dialect) { d.delimiter = ";" }), gz)},
		{name: "CSV zstd", write: then(inCSV(func(d *dialect) { d.quote = true }), asZstd)},
		{
			name: "everything at once", profile: []string{"parameters:", "identity: {tail: Registration}\nno_sample: [\"-\"]\nparameters:"}, change: kmh,
			write: then(then(inCSV(func(d *dialect) {
				*d = dialect{delimiter: ";", decimal: ",", end: "\r\n", quote: true, blank: "-", before: strings.ReplaceAll(lines, "\n", "\r\n"), units: true}
			}), inUTF16(binary.LittleEndian)), gz),
		},
	}
}

// clockShapes are ways to write the same times.
func clockShapes() []shape {
	semicolons := inCSV(func(d *dialect) { d.delimiter = ";" })
	withDate := func(lateRows int) func(*sheet, []time.Time) {
		return func(s *sheet, times []time.Time) {
			clocked("text", layout("15:04:05.000"))(s, times)
			cells := clockCells(times, func(t time.Time) any { return t.Add(-time.Duration(lateRows) * shapeStep).Format("20060102") })
			s.columns = append(s.columns, sheetColumn{name: "DATE", kind: "text", cells: cells})
		}
	}
	dateForm := form("HH:MM:SS, date_column: DATE")
	return []shape{
		{name: "milliseconds", profile: form("milliseconds"), change: clocked("int", func(t time.Time) any { return t.Sub(shapeStart).Milliseconds() + 77 }), write: semicolons},
		{name: "RFC 3339", profile: form("RFC 3339"), change: clocked("text", layout(time.RFC3339Nano)), write: semicolons, dated: true},
		{name: "RFC 3339 with an offset", profile: form("RFC 3339"), change: clocked("text", func(t time.Time) any { return t.In(time.FixedZone("", -8*3600)).Format(time.RFC3339Nano) }), write: inCSV(func(d *dialect) { d.quote = true }), dated: true},
		{name: "ISO 8601 without offset", profile: form("ISO 8601"), change: clocked("text", layout("2006-01-02T15:04:05.000")), write: semicolons, dated: true},
		{name: "ISO 8601 with a space and a comma", profile: form("ISO 8601"), change: clocked("text", layout("2006-01-02 15:04:05,000")), write: semicolons, dated: true},
		{name: "ISO 8601 basic", profile: form("ISO 8601"), change: clocked("text", layout("20060102T150405.000Z")), write: semicolons, dated: true},
		{name: "time of day", profile: form("HH:MM:SS"), change: clocked("text", layout("15:04:05.000")), write: semicolons},
		{name: "time of day and date", profile: dateForm, change: withDate(0), write: semicolons, dated: true},
		{name: "date one row late", profile: dateForm, change: withDate(1), write: semicolons, dated: true},
		{name: "date four seconds late", profile: dateForm, change: withDate(32), write: semicolons, dated: true},
		{name: "whole seconds", profile: form("HH:MM:SS, step: 1 s, rows: 8"), change: clocked("text", layout("15:04:05")), write: semicolons},
		{name: "seconds of day", profile: form("seconds of day"), change: clocked("number", func(t time.Time) any {
			return float64(t.Hour()*3600+t.Minute()*60+t.Second()) + float64(t.Nanosecond())/1e9
		}), write: semicolons},
		{name: "frames that wrap at midnight", profile: form("frame counter, step: 1 s, rows: 8, wraps_at: 4096"), change: clocked("int", func(t time.Time) any {
			return (4096 + t.Unix() - 1961625600) % 4096
		}), write: semicolons},
		{name: "frames of one row", profile: form("frame counter, step: 125 ms, wraps_at: 512"), change: clocked("int", func(t time.Time) any { return int64(t.Sub(shapeStart)/shapeStep) % 512 }), write: semicolons},
		{name: "rows out of order", change: func(s *sheet, _ []time.Time) { swapRows(s, 40, 43); swapRows(s, 480, 481); swapRows(s, 900, 930) }, write: semicolons},
		{name: "rows sent twice", change: func(s *sheet, _ []time.Time) { repeatRow(s, 100, 1); repeatRow(s, 700, 20) }, write: semicolons},
		{name: "times that fit nowhere", change: func(s *sheet, _ []time.Time) {
			repeatRow(s, 300, 1)
			s.column("TIME").cells[301] = 9e6
			repeatRow(s, 800, 1)
			s.column("TIME").cells[801] = -4.0
		}, write: semicolons},
		{name: "clock set back while taxiing", change: func(s *sheet, _ []time.Time) {
			for i := range 240 {
				c := s.column("TIME")
				c.cells[i] = c.cells[i].(float64) + 20
			}
		}, write: semicolons},
	}
}

// swapRows exchanges two rows; repeatRow sends a row again some rows later.
func swapRows(s *sheet, a, b int) {
	for i := range s.columns {
		c := s.columns[i].cells
		c[a], c[b] = c[b], c[a]
	}
}

func repeatRow(s *sheet, row, later int) {
	for i := range s.columns {
		c := &s.columns[i]
		c.cells = slices.Insert(c.cells, row+later, c.cells[row])
	}
}
