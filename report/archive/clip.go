package archive

import (
	"fmt"
	"io"
	"slices"
	"sync"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/deprecated"
	"github.com/parquet-go/parquet-go/format"

	"rollonset/detect"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
)

// ClipFile is the name of the clip in a flight folder.
const ClipFile = "clip.parquet"

// WriteClip writes the samples of the recording that lie in the windows as a
// clip, which is itself a Parquet recording in canonical names. Its layout is
// told at flightdata.ClipKey: a row for every instant at which some parameter
// has a sample, times rising; time first, then the parameters in name order,
// each followed by its masks where it has any. Masked values are kept. The
// same recording and windows give the same bytes. Reading the file and
// ClipMeta.Restore give back Recording.Clip(windows).
//
// An error names the parameter that cannot be written: one whose times fall
// back, or whose name collides with another column.
func WriteClip(w io.Writer, r *flightdata.Recording, windows span.Set) error {
	return writeClip(w, r, windows, flightdata.ClipProfile{}, "")
}

// WriteAssessedClip is WriteClip for the windows of an assessment; the
// metadata then names the profile and the detection version that judged the
// recording, so that the clip alone tells what to replay it with.
func WriteAssessedClip(w io.Writer, a *detect.Assessment, v Versions) error {
	p := flightdata.ClipProfile{Name: a.Profile.Name, Version: a.Profile.Version, SHA256: a.Profile.SHA256}
	return writeClip(w, a.Recording, a.Windows, p, v.Detection)
}

func writeClip(w io.Writer, r *flightdata.Recording, windows span.Set, p flightdata.ClipProfile, detection string) error {
	g, err := gridOf(r, windows)
	if err != nil {
		return fmt.Errorf("clip of %s: %w", fileBase(r.Source.Path), err)
	}
	g.meta.Profile, g.meta.Detection = p, detection
	if err := g.write(w); err != nil {
		return fmt.Errorf("clip of %s: %w", fileBase(r.Source.Path), err)
	}
	return nil
}

// grid is a clip laid out in rows: the times of all rows, and the series of
// the columns of the metadata in their order. A time occurs as often as the
// series that has it most often.
type grid struct {
	rows   []span.Instant
	meta   flightdata.ClipMeta
	series []*flightdata.Series
}

func gridOf(r *flightdata.Recording, windows span.Set) (*grid, error) {
	if r.IsClip { // a clip of a clip covers nothing that the first did not
		windows = windows.And(r.Windows)
	}
	clip := r.Clip(windows)
	g := &grid{meta: clip.ClipMeta()}
	taken := map[string]bool{flightdata.ClipTime: true}
	var spare []span.Instant
	for _, c := range g.meta.Columns {
		s := clip.Series[c.Parameter]
		for _, name := range columnNames(c) {
			if taken[name] {
				return nil, fmt.Errorf("parameter %s: another column is already named %q; rename the parameter in the profile", c.Parameter, name)
			}
			taken[name] = true
		}
		// The list before last is not needed any more: its room takes the next.
		rows, err := union(spare[:0], g.rows, s.Times)
		if err != nil {
			return nil, fmt.Errorf("parameter %s: %w", c.Parameter, err)
		}
		g.rows, spare = rows, g.rows
		g.series = append(g.series, s)
	}
	return g, nil
}

// columnNames are the columns of a parameter: its values and, when it has
// masked samples, its masks.
func columnNames(c flightdata.ClipColumn) []string {
	names := []string{string(c.Parameter)}
	if c.Masked {
		names = append(names, string(c.Parameter)+flightdata.ClipMaskSuffix)
	}
	return names
}

// union merges two rising lists of times into the room of a third; a time in
// both is kept once.
func union(room, a, b []span.Instant) ([]span.Instant, error) {
	out := slices.Grow(room, max(len(a), len(b)))
	i, j := 0, 0
	for i < len(a) || j < len(b) {
		if j > 0 && j < len(b) && b[j] < b[j-1] {
			return nil, fmt.Errorf("sample times fall back from %.9f s to %.9f s", b[j-1].Seconds(), b[j].Seconds())
		}
		switch {
		case j == len(b) || i < len(a) && a[i] < b[j]:
			out = append(out, a[i])
			i++
		case i == len(a) || b[j] < a[i]:
			out = append(out, b[j])
			j++
		default:
			out = append(out, a[i])
			i, j = i+1, j+1
		}
	}
	return out, nil
}

// pageBytes bounds the page of a column, and with it the memory of a clip.
const pageBytes = 1 << 20

// write writes the grid column by column, one row group. A panic of the
// library becomes an error of this clip.
func (g *grid) write(w io.Writer) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the Parquet library failed: %v", p)
		}
	}()
	meta, err := g.meta.MarshalJSON()
	if err != nil {
		return fmt.Errorf("metadata: %w", err)
	}
	out := parquet.NewGenericWriter[any](
		w, parquet.NewSchema("clip", g.layout()), createdBy(), parquet.Compression(&parquet.Zstd),
		// One page holds a column of a usual clip; the library sets aside
		// this much for every column, so no more than is needed.
		parquet.PageBufferSize(min(max(8*len(g.rows), 1<<10), pageBytes)),
		parquet.KeyValueMetadata(flightdata.ClipKey, string(meta)),
	)
	if err := g.writeColumns(out.ColumnWriters()); err != nil {
		return err
	}
	return out.Close()
}

// createdBy is fixed, so that the bytes of a file depend on its content and
// not on the library that this program was built with.
func createdBy() parquet.WriterOption { return parquet.CreatedBy("rollonset", "1", "archive") }

// ordered is a group of columns that keep the order given; the library's own
// sorts them by name.
type ordered struct {
	parquet.Group
	fields []parquet.Field
}

// Fields gives the columns in order.
func (o ordered) Fields() []parquet.Field { return o.fields }

// bare is a type without a logical type, where the library would add one.
type bare struct{ parquet.Type }

// LogicalType is none.
func (bare) LogicalType() *format.LogicalType { return nil }

// ConvertedType, the older form of the same, is none.
func (bare) ConvertedType() *deprecated.ConvertedType { return nil }

// layout is the schema: time first, the rest in the order of columnNames.
func (g *grid) layout() parquet.Node {
	group := parquet.Group{flightdata.ClipTime: parquet.Encoded(parquet.Leaf(bare{parquet.Int64Type}), &parquet.DeltaBinaryPacked)}
	names := []string{flightdata.ClipTime}
	for _, c := range g.meta.Columns {
		own := columnNames(c)
		group[own[0]] = parquet.Optional(parquet.Leaf(parquet.DoubleType))
		if c.Kind == flightdata.Discrete {
			group[own[0]] = parquet.Optional(parquet.Encoded(parquet.String(), &parquet.RLEDictionary))
		}
		if c.Masked {
			group[own[1]] = parquet.Optional(parquet.Leaf(bare{parquet.Int32Type}))
		}
		names = append(names, own...)
	}
	byName := map[string]parquet.Field{}
	for _, f := range group.Fields() {
		byName[f.Name()] = f
	}
	o := ordered{Group: group}
	for _, name := range names {
		o.fields = append(o.fields, byName[name])
	}
	return o
}

// cellRoom is room for the values of one column. Clips are written one after
// the other, and each needs about as much as the last.
var cellRoom = sync.Pool{New: func() any { return new([]parquet.Value) }}

func (g *grid) writeColumns(columns []*parquet.ColumnWriter) error {
	room := cellRoom.Get().(*[]parquet.Value)
	defer func() {
		clear(*room) // no word of a recording is kept alive
		cellRoom.Put(room)
	}()
	*room = slices.Grow((*room)[:0], len(g.rows))[:len(g.rows)]
	values := *room // one column at a time, used again
	for i, t := range g.rows {
		values[i] = parquet.Int64Value(int64(t)).Level(0, 0, 0)
	}
	if _, err := columns[0].WriteRowValues(values); err != nil {
		return fmt.Errorf("column %s: %w", flightdata.ClipTime, err)
	}
	next := 1
	for i, c := range g.meta.Columns {
		spreads := []func([]parquet.Value, int, int){g.spreadValues, g.spreadMasks}
		for k, name := range columnNames(c) {
			spreads[k](values, i, next)
			if _, err := columns[next].WriteRowValues(values); err != nil {
				return fmt.Errorf("column %s: %w", name, err)
			}
			next++
		}
	}
	return nil
}

// spreadValues puts the samples of series i into the rows of their times and
// null into the others. A discrete mostly stays in its state, so a word is made
// only when it changes.
func (g *grid) spreadValues(values []parquet.Value, i, column int) {
	s, c := g.series[i], g.meta.Columns[i]
	null := parquet.NullValue().Level(0, 0, column)
	var word parquet.Value
	j := 0
	for row, t := range g.rows {
		switch {
		case j == len(s.Times) || s.Times[j] != t:
			values[row] = null
			continue
		case s.Kind == flightdata.Continuous:
			values[row] = parquet.DoubleValue(s.Values[j]).Level(0, 1, column)
		default:
			if j == 0 || s.Values[j] != s.Values[j-1] {
				word = parquet.ByteArrayValue([]byte(c.Word(s.Values[j]))).Level(0, 1, column)
			}
			values[row] = word
		}
		j++
	}
}

// spreadMasks does the same with the masks of series i, Good written as 0.
func (g *grid) spreadMasks(values []parquet.Value, i, column int) {
	s := g.series[i]
	null := parquet.NullValue().Level(0, 0, column)
	j := 0
	for row, t := range g.rows {
		if j == len(s.Times) || s.Times[j] != t {
			values[row] = null
			continue
		}
		values[row] = parquet.Int32Value(int32(s.Masks[j])).Level(0, 1, column)
		j++
	}
}
