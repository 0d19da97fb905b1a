package archive

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"github.com/parquet-go/parquet-go"
)

// columnSet are the wanted columns of one row group, value by value. A column
// that the file lacks, as those of an older program may, has nulls only.
type columnSet struct {
	rows    int
	columns map[string]*columnValues
}

// columnValues is one column: Texts of byte arrays, numbers of the rest, NaN
// for null. All of our whole numbers are below 2^53, days and microseconds
// of this age among them, so a float64 holds each exactly.
type columnValues struct {
	texts   []string
	numbers []float64
}

// text is a value of a column of texts, "" for null.
func (c columnSet) text(name string, row int) string {
	if v := c.columns[name]; v != nil && row < len(v.texts) {
		return v.texts[row]
	}
	return ""
}

// number is a value of a column of numbers or flags (1 and 0), NaN for null.
func (c columnSet) number(name string, row int) float64 {
	if v := c.columns[name]; v != nil && row < len(v.numbers) {
		return v.numbers[row]
	}
	return math.NaN()
}

// readColumns reads some columns of a table, given relative to the archive.
func (a *Archive) readColumns(rel string, names []string, each func(columnSet) error) error {
	return scanTable(a.Path(rel), names, each)
}

// scanTable reads some columns of a file, row group by row group; the set
// given to each is valid during the call. A panic of the library becomes an
// error, and every error of reading names the file.
func scanTable(file string, names []string, each func(columnSet) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%s: the Parquet library failed: %v; make the tables anew with \"collect\" or \"process\"", file, p)
		}
	}()
	f, err := os.Open(file)
	if err != nil {
		return fmt.Errorf("read table: %w; process the same recordings again, which writes the tables anew", err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fmt.Errorf("read table: %w", err)
	}
	if err := checkFooter(f, info.Size()); err != nil {
		return fmt.Errorf("%s: not readable as Parquet (%w); delete it and process the same recordings again", file, err)
	}
	table, err := parquet.OpenFile(f, info.Size(), parquet.SkipBloomFilters(true), parquet.SkipPageIndex(true))
	if err != nil {
		return fmt.Errorf("%s: not readable as Parquet (%w); delete it and process the same recordings again", file, err)
	}
	words := map[string]string{}
	for _, group := range table.RowGroups() {
		set := columnSet{rows: int(group.NumRows()), columns: map[string]*columnValues{}}
		for _, name := range names {
			leaf, ok := table.Schema().Lookup(name)
			if !ok {
				continue
			}
			values, err := readChunk(group.ColumnChunks()[leaf.ColumnIndex], words)
			if err != nil {
				return fmt.Errorf("%s, column %s: %w", file, name, err)
			}
			set.columns[name] = values
		}
		if err := each(set); err != nil {
			return err
		}
	}
	return nil
}

// checkFooter holds the length that the footer claims against the file: the
// library asks the system for as much memory as is claimed, up to 4 GB.
func checkFooter(f io.ReaderAt, size int64) error {
	var end [8]byte
	if size < 12 {
		return fmt.Errorf("it has %d bytes", size)
	}
	if _, err := f.ReadAt(end[:], size-8); err != nil {
		return err
	}
	if claimed := int64(binary.LittleEndian.Uint32(end[:])); claimed > size-12 || string(end[4:]) != "PAR1" {
		return errors.New("its end is damaged")
	}
	return nil
}

// mostWords bounds the memory of words that occur again and again.
const mostWords = 1 << 16

// readChunk reads one column of one row group. Texts that were seen before
// are not kept twice.
func readChunk(chunk parquet.ColumnChunk, words map[string]string) (*columnValues, error) {
	pages := chunk.Pages()
	defer pages.Close()
	out := &columnValues{}
	isText := chunk.Type().Kind() == parquet.ByteArray
	buffer := make([]parquet.Value, 1024)
	for {
		page, err := pages.ReadPage()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		values := page.Values()
		for {
			n, err := values.ReadValues(buffer)
			for _, v := range buffer[:n] {
				if isText {
					out.texts = append(out.texts, out.word(v, words))
				} else {
					out.numbers = append(out.numbers, asNumber(v))
				}
			}
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return nil, err
			}
		}
		parquet.Release(page)
	}
}

// word is the text of a value. Most are that of the row before: a row for
// each check of one attempt, one attempt after another of one flight.
func (c *columnValues) word(v parquet.Value, words map[string]string) string {
	if v.IsNull() {
		return ""
	}
	b := v.ByteArray()
	if n := len(c.texts); n > 0 && c.texts[n-1] == string(b) {
		return c.texts[n-1]
	}
	if w, ok := words[string(b)]; ok {
		return w
	}
	w := string(b)
	if len(words) < mostWords {
		words[w] = w
	}
	return w
}

func asNumber(v parquet.Value) float64 {
	if v.IsNull() {
		return math.NaN()
	}
	switch v.Kind() {
	case parquet.Boolean:
		if v.Boolean() {
			return 1
		}
		return 0
	case parquet.Int32:
		return float64(v.Int32())
	case parquet.Int64:
		return float64(v.Int64())
	case parquet.Float:
		return float64(v.Float())
	default:
		return v.Double()
	}
}
