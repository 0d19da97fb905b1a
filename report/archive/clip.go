package archive

import (
	"fmt"
	"io"
	"slices"
	"sync"

	"github.com/parquet-go/parquet-go/compress/zstd"

	"rollonset/detect"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/columnfile"
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
	longest := &flightdata.Series{}
	for _, c := range g.meta.Columns {
		s := clip.Series[c.Parameter]
		for _, name := range columnNames(c) {
			if taken[name] {
				return nil, fmt.Errorf("parameter %s: another column is already named %q; rename the parameter in the profile", c.Parameter, name)
			}
			taken[name] = true
		}
		if len(s.Times) > len(longest.Times) {
			longest = s
		}
		g.series = append(g.series, s)
	}
	return g, g.fillRows(longest)
}

// fillRows merges the times of all series. The longest comes first: the others
// of a usual recording add nothing to it.
func (g *grid) fillRows(longest *flightdata.Series) (err error) {
	if g.rows, err = union(nil, longest.Times); err != nil {
		return fmt.Errorf("parameter %s: %w", longest.Parameter, err)
	}
	for _, s := range g.series {
		if rowOfEach(g.rows, s.Times, func(int) {}) {
			continue
		}
		if g.rows, err = union(g.rows, s.Times); err != nil {
			return fmt.Errorf("parameter %s: %w", s.Parameter, err)
		}
	}
	return nil
}

// rowOfEach tells the row of each of the times, and whether all are among the
// rows; both rise. Samples come mostly after as many rows as the one before, so
// that is looked at first.
func rowOfEach(rows, times []span.Instant, tell func(row int)) bool {
	next, gap := 0, 0
	for _, t := range times {
		row := next + gap
		// Of rows with the same time the first that is free is meant.
		if row >= len(rows) || rows[row] != t || gap > 0 && rows[row-1] == t {
			for row = next; row < len(rows) && rows[row] < t; row++ {
			}
			if row == len(rows) || rows[row] != t {
				return false
			}
			gap = row - next
		}
		tell(row)
		next = row + 1
	}
	return true
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

// union merges two rising lists of times into a third; a time in both is kept
// once.
func union(a, b []span.Instant) ([]span.Instant, error) {
	out := make([]span.Instant, 0, max(len(a), len(b)))
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

// clipRoom is what writing a clip needs besides the clip. Clips are written one
// after the other, and each needs about as much as the last.
type clipRoom struct {
	file    columnfile.Writer
	times   []int64
	present []byte
	indexes []int32
	masks   []int32
	known   map[string]int32 // the words of a column by their index
}

// clipCodec packs clips at the fastest level: it takes half the time of the usual
// one, of which the tables do not fit beside a recording in the cache of a core,
// and clips are 1 to 5 % larger.
var clipCodec = &zstd.Codec{Level: zstd.SpeedFastest}

var clipRooms = sync.Pool{New: func() any { return &clipRoom{known: map[string]int32{}} }}

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
	room := clipRooms.Get().(*clipRoom)
	if err := room.file.Start(w, "clip", len(g.rows), clipCodec); err != nil {
		return err
	}
	if err := room.columns(g); err != nil {
		return err
	}
	if err := room.file.Close(writtenBy, flightdata.ClipKey, string(meta)); err != nil {
		return err
	}
	clear(room.known)   // no word of a recording is kept alive
	clipRooms.Put(room) // one that failed is not used again
	return nil
}

// columns writes time first, the rest in the order of columnNames.
func (r *clipRoom) columns(g *grid) error {
	r.times = r.times[:0]
	for _, t := range g.rows {
		r.times = append(r.times, int64(t))
	}
	if err := r.file.Int64s(flightdata.ClipTime, r.times); err != nil {
		return err
	}
	for i, c := range g.meta.Columns {
		s := g.series[i]
		// Parameters of one sensor mostly have their samples at the same times.
		if i == 0 || !slices.Equal(s.Times, g.series[i-1].Times) {
			if err := r.mark(g.rows, s.Times); err != nil {
				return err
			}
		}
		names := columnNames(c)
		if err := r.values(names[0], c, s); err != nil {
			return err
		}
		if !c.Masked {
			continue
		}
		r.masks = r.masks[:0]
		for _, m := range s.Masks {
			r.masks = append(r.masks, int32(m))
		}
		if err := r.file.Int32s(names[1], r.masks); err != nil {
			return err
		}
	}
	return nil
}

// mark says at which rows the next columns have samples.
func (r *clipRoom) mark(rows, times []span.Instant) error {
	r.present = slices.Grow(r.present[:0], len(rows))[:len(rows)]
	clear(r.present)
	rowOfEach(rows, times, func(row int) { r.present[row] = 1 })
	return r.file.Present(r.present)
}

// values writes the samples of a series. A discrete mostly stays in its state,
// so a word is looked up only when it changes.
func (r *clipRoom) values(name string, c flightdata.ClipColumn, s *flightdata.Series) error {
	if s.Kind == flightdata.Continuous {
		return r.file.Doubles(name, s.Values)
	}
	clear(r.known)
	r.indexes = r.indexes[:0]
	var words []string
	var index int32
	for j, v := range s.Values {
		if j == 0 || v != s.Values[j-1] {
			word := c.Word(v)
			known, ok := r.known[word]
			if !ok {
				known = int32(len(words))
				r.known[word], words = known, append(words, word)
			}
			index = known
		}
		r.indexes = append(r.indexes, index)
	}
	return r.file.Words(name, r.indexes, words)
}
