package synth

import (
	"bytes"
	"fmt"
	"strconv"
	"time"

	"github.com/parquet-go/parquet-go"

	"rollonset/ingest/profile"
)

func microseconds(us int64) time.Duration { return time.Duration(us) * time.Microsecond }

// numeric says whether every word of a discrete is a whole number, so that a
// columnar file holds it as a number.
func (c *column) numeric() bool {
	for _, w := range c.words {
		if _, err := strconv.ParseInt(w, 10, 32); err != nil {
			return false
		}
	}
	return true
}

// encodeParquet writes the wide shape: a column per parameter, null where it
// has no sample. Times are seconds as doubles, or UTC timestamps.
func encodeParquet(t *tape, face clockFace) ([]byte, error) {
	group := parquet.Group{}
	for i := range t.columns {
		c := &t.columns[i]
		switch {
		case !c.discrete():
			group[c.name] = parquet.Optional(parquet.Leaf(parquet.DoubleType))
		case c.numeric():
			group[c.name] = parquet.Optional(parquet.Leaf(parquet.Int32Type))
		default:
			group[c.name] = parquet.Optional(parquet.Encoded(parquet.String(), &parquet.RLEDictionary))
		}
	}
	stamps := face.rule.Form == profile.TimeRFC3339
	group[face.column()] = parquet.Leaf(parquet.DoubleType)
	if stamps {
		group[face.column()] = parquet.Timestamp(parquet.Microsecond)
	}
	schema := parquet.NewSchema("recording", group)
	var b bytes.Buffer
	w := parquet.NewWriter(&b, schema, parquet.Compression(&parquet.Zstd), parquet.CreatedBy("rollonset synth", "1", "0"))
	rows, err := parquetRows(t, face, schema, stamps)
	if err != nil {
		return nil, err
	}
	if _, err := w.WriteRows(rows); err != nil {
		return nil, fmt.Errorf("parquet: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("parquet: %w", err)
	}
	return b.Bytes(), nil
}

// parquetRows lays the cells out in the order of the schema, which sorts the
// columns by name.
func parquetRows(t *tape, face clockFace, schema *parquet.Schema, stamps bool) ([]parquet.Row, error) {
	place := map[string]int{}
	for i, path := range schema.Columns() {
		place[path[0]] = i
	}
	rows := make([]parquet.Row, len(t.micros))
	for r, us := range t.micros {
		row := make(parquet.Row, len(place))
		at := place[face.column()]
		if stamps {
			row[at] = parquet.Int64Value(face.start.Add(microseconds(us)).UnixMicro()).Level(0, 0, at)
		} else {
			row[at] = parquet.DoubleValue(float64(us+face.origin)/1e6).Level(0, 0, at)
		}
		for i := range t.columns {
			c := &t.columns[i]
			at := place[c.name]
			v, defined, err := parquetValue(c, c.cells[r])
			if err != nil {
				return nil, err
			}
			row[at] = v.Level(0, defined, at)
		}
		rows[r] = row
	}
	return rows, nil
}

// parquetValue is a cell as a value with its definition level: 0 for null.
func parquetValue(c *column, cell int64) (parquet.Value, int, error) {
	switch {
	case cell == blankCell:
		return parquet.NullValue(), 0, nil
	case !c.discrete():
		return parquet.DoubleValue(c.number(cell)), 1, nil
	case c.numeric():
		n, err := strconv.ParseInt(c.words[cell], 10, 32)
		if err != nil {
			return parquet.Value{}, 0, fmt.Errorf("column %s: %w", c.name, err)
		}
		return parquet.Int32Value(int32(n)), 1, nil
	}
	return parquet.ByteArrayValue([]byte(c.words[cell])), 1, nil
}
