package ingest

import (
	"fmt"
	"math"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/table"
)

// openClip reads a clip of ours: canonical names and units, masks as they were
// decided on the whole recording, and everything else from its metadata.
func openClip(path string, f *table.File, text string, profiles []*profile.Profile) (*flightdata.Recording, *profile.Profile, error) {
	prof, meta, err := clipHead(path, text, profiles)
	if err != nil {
		return nil, nil, err
	}
	series, err := clipSeries(path, f, meta)
	if err != nil {
		return nil, nil, err
	}
	return meta.Restore(series), prof, nil
}

// clipHead reads the metadata of a clip and finds its profile.
func clipHead(path, text string, profiles []*profile.Profile) (*profile.Profile, flightdata.ClipMeta, error) {
	meta, err := flightdata.ParseClipMeta([]byte(text))
	if err != nil {
		return nil, meta, &Error{File: path, Place: "metadata " + flightdata.ClipKey, Cause: err.Error(), Remedy: "take the clip from the archive again", Err: err}
	}
	prof := clipProfile(meta, profiles)
	if prof == nil {
		return nil, meta, &Error{
			File: path, Cause: fmt.Sprintf("the clip was judged with profile %s, which is not among the profiles given", meta.Profile.Name),
			Remedy: "give the folder that holds it with --profiles; the archive keeps a copy under profiles/",
		}
	}
	return prof, meta, nil
}

// clipProfile prefers the very profile by its hash, then one of that name: a
// clip judged under new limits is the point of keeping clips.
func clipProfile(meta flightdata.ClipMeta, profiles []*profile.Profile) *profile.Profile {
	var named *profile.Profile
	for _, p := range profiles {
		if p.SHA256 == meta.Profile.SHA256 {
			return p
		}
		if p.Name == meta.Profile.Name {
			named = p
		}
	}
	return named
}

// damaged is the error for a clip that does not hold what its metadata say.
func damaged(path, column, cause string) error {
	return &Error{File: path, Place: "column " + column, Cause: cause, Remedy: "take the clip from the archive again"}
}

// clipSeries reads the columns that the metadata name. Nothing is assumed of
// the file but that somebody may have changed it.
func clipSeries(path string, f *table.File, meta flightdata.ClipMeta) (map[flightdata.Parameter]*flightdata.Series, error) {
	wants, err := clipWants(path, f, meta)
	if err != nil {
		return nil, err
	}
	data, err := f.Read(wants)
	if err != nil {
		return nil, err
	}
	times := data.Columns[0].Numbers
	if err := clipTimes(path, times, data.Rows); err != nil {
		return nil, err
	}
	next := 1
	out := map[flightdata.Parameter]*flightdata.Series{}
	for _, c := range meta.Columns {
		s := &flightdata.Series{}
		if err := fillClip(s, c, &data.Columns[next], times); err != nil {
			return nil, damaged(path, string(c.Parameter), err.Error())
		}
		next++
		if c.Masked {
			if s.Masks, err = clipMasks(&data.Columns[next], &data.Columns[next-1]); err != nil {
				return nil, damaged(path, string(c.Parameter)+flightdata.ClipMaskSuffix, err.Error())
			}
			next++
		}
		out[c.Parameter] = s
	}
	return out, nil
}

// clipWants lists the time, then each parameter and, where it has masks, those.
func clipWants(path string, f *table.File, meta flightdata.ClipMeta) ([]table.Want, error) {
	at := map[string]int{}
	for i, c := range f.Columns() {
		at[c.Name] = i
	}
	var wants []table.Want
	var missing error
	want := func(name string, as table.As) {
		k, ok := at[name]
		if !ok && missing == nil {
			missing = damaged(path, name, "named in the clip's metadata and not in the file")
		}
		wants = append(wants, table.Want{Column: k, As: as})
	}
	want(flightdata.ClipTime, table.Number)
	for _, c := range meta.Columns {
		want(string(c.Parameter), cellAs(c.Kind))
		if c.Masked {
			want(string(c.Parameter)+flightdata.ClipMaskSuffix, table.Number)
		}
	}
	return wants, missing
}

// clipTimes checks that every row has a time, a whole number of nanoseconds
// below 2^53 (104 days), which a float64 holds exactly, and that times rise.
func clipTimes(path string, times []float64, rows int64) error {
	if int64(len(times)) != rows {
		return damaged(path, flightdata.ClipTime, fmt.Sprintf("%d of %d rows have a time", len(times), rows))
	}
	for i, t := range times {
		switch {
		case t != math.Trunc(t) || math.Abs(t) > 1<<53: // NaN differs from itself
			return damaged(path, flightdata.ClipTime, fmt.Sprintf("row %d: %g is no time in nanoseconds", i+1, t))
		case i > 0 && t < times[i-1]:
			return damaged(path, flightdata.ClipTime, fmt.Sprintf("row %d: time runs backwards", i+1))
		}
	}
	return nil
}

// clipMasks gives the mask of every sample of a column.
func clipMasks(masks, samples *table.ColumnData) ([]flightdata.Mask, error) {
	if masks.Len() != samples.Len() {
		return nil, fmt.Errorf("%s for %s", counted(masks.Len(), "mask"), counted(samples.Len(), "sample"))
	}
	out := make([]flightdata.Mask, masks.Len())
	for i, m := range masks.Numbers {
		if masks.Row(i) != samples.Row(i) {
			return nil, fmt.Errorf("row %d has a mask and no sample", masks.Row(i)+1)
		}
		if !(m >= 0 && m < float64(flightdata.Masks)) || m != math.Trunc(m) {
			return nil, fmt.Errorf("row %d: %g is no mask", masks.Row(i)+1, m)
		}
		out[i] = flightdata.Mask(m)
	}
	return out, nil
}

// fillClip sets the samples of one column.
func fillClip(s *flightdata.Series, c flightdata.ClipColumn, col *table.ColumnData, times []float64) error {
	if col.Bad > 0 {
		return fmt.Errorf("%s not readable%s", counted(col.Bad, "cell"), firstBad(col))
	}
	for i := range col.Len() {
		s.Times = append(s.Times, span.Instant(times[col.Row(i)]))
	}
	if c.Kind == flightdata.Continuous {
		s.Values = col.Numbers
		return nil
	}
	value := make([]float64, len(col.Words))
	for i, w := range col.Words {
		v, err := c.Value(w)
		if err != nil {
			return fmt.Errorf("%q is none of its states (%s)", w, strings.Join(c.States, ", "))
		}
		value[i] = v
	}
	for _, w := range col.States {
		s.Values = append(s.Values, value[w])
	}
	return nil
}
