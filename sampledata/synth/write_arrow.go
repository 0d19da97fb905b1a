package synth

import (
	"bytes"
	"fmt"
	"strconv"

	"github.com/apache/arrow/go/v15/arrow"
	"github.com/apache/arrow/go/v15/arrow/array"
	"github.com/apache/arrow/go/v15/arrow/ipc"
	"github.com/apache/arrow/go/v15/arrow/memory"

	"rollonset/ingest/profile"
)

// arrowBatch is how many rows go into one record batch.
const arrowBatch = 4096

// encodeArrow writes an Arrow IPC file with the columns in the order of the
// profile, null where a parameter has no sample.
func encodeArrow(t *tape, face clockFace) ([]byte, error) {
	stamps := face.rule.Form == profile.TimeRFC3339
	fields := []arrow.Field{{Name: face.column(), Type: arrow.PrimitiveTypes.Float64}}
	if stamps {
		fields[0].Type = &arrow.TimestampType{Unit: arrow.Microsecond, TimeZone: "UTC"}
	}
	for i := range t.columns {
		fields = append(fields, arrow.Field{Name: t.columns[i].name, Type: arrowType(&t.columns[i]), Nullable: true})
	}
	schema := arrow.NewSchema(fields, nil)
	var b bytes.Buffer
	w, err := ipc.NewFileWriter(&seekable{&b}, ipc.WithSchema(schema), ipc.WithZstd(), ipc.WithCompressConcurrency(1))
	if err != nil {
		return nil, fmt.Errorf("arrow: %w", err)
	}
	for from := 0; from < len(t.micros); from += arrowBatch {
		if err := writeBatch(w, schema, t, face, from, min(from+arrowBatch, len(t.micros)), stamps); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("arrow: %w", err)
	}
	return b.Bytes(), nil
}

// seekable tells the writer where it is: the library asks for a seeker,
// though it only ever appends.
type seekable struct{ b *bytes.Buffer }

func (s *seekable) Write(p []byte) (int, error) { return s.b.Write(p) }
func (s *seekable) Seek(int64, int) (int64, error) {
	return int64(s.b.Len()), nil
}

func arrowType(c *column) arrow.DataType {
	switch {
	case !c.discrete():
		return arrow.PrimitiveTypes.Float64
	case c.numeric():
		return arrow.PrimitiveTypes.Int32
	}
	return arrow.BinaryTypes.String
}

func writeBatch(w *ipc.FileWriter, schema *arrow.Schema, t *tape, face clockFace, from, to int, stamps bool) error {
	b := array.NewRecordBuilder(memory.DefaultAllocator, schema)
	defer b.Release()
	for row := from; row < to; row++ {
		us := t.micros[row]
		if stamps {
			b.Field(0).(*array.TimestampBuilder).Append(arrow.Timestamp(face.start.Add(microseconds(us)).UnixMicro()))
		} else {
			b.Field(0).(*array.Float64Builder).Append(float64(us+face.origin) / 1e6)
		}
	}
	for i := range t.columns {
		if err := appendColumn(b.Field(i+1), &t.columns[i], from, to); err != nil {
			return err
		}
	}
	rec := b.NewRecord()
	defer rec.Release()
	if err := w.Write(rec); err != nil {
		return fmt.Errorf("arrow: %w", err)
	}
	return nil
}

func appendColumn(b array.Builder, c *column, from, to int) error {
	for row := from; row < to; row++ {
		cell := c.cells[row]
		if cell == blankCell {
			b.AppendNull()
			continue
		}
		switch b := b.(type) {
		case *array.Float64Builder:
			b.Append(c.number(cell))
		case *array.Int32Builder:
			n, err := strconv.ParseInt(c.words[cell], 10, 32)
			if err != nil {
				return fmt.Errorf("column %s: %w", c.name, err)
			}
			b.Append(int32(n))
		case *array.StringBuilder:
			b.Append(c.words[cell])
		}
	}
	return nil
}
