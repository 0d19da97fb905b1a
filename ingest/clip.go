package ingest

import (
	"fmt"

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

func clipSeries(path string, f *table.File, meta flightdata.ClipMeta) (map[flightdata.Parameter]*flightdata.Series, error) {
	at := map[string]int{}
	for i, c := range f.Columns() {
		at[c.Name] = i
	}
	wants := []table.Want{{Column: at[flightdata.ClipTime], As: table.Number}}
	for _, c := range meta.Columns {
		k, ok := at[string(c.Parameter)]
		if !ok {
			return nil, &Error{File: path, Place: "column " + string(c.Parameter), Cause: "named in the clip's metadata and not in the file", Remedy: "take the clip from the archive again"}
		}
		wants = append(wants, table.Want{Column: k, As: cellAs(c.Kind)})
		if c.Masked {
			wants = append(wants, table.Want{Column: at[string(c.Parameter)+flightdata.ClipMaskSuffix], As: table.Number})
		}
	}
	data, err := f.Read(wants)
	if err != nil {
		return nil, err
	}
	times := data.Columns[0].Numbers
	next := 1
	out := map[flightdata.Parameter]*flightdata.Series{}
	for _, c := range meta.Columns {
		s := &flightdata.Series{}
		fillClip(s, c, &data.Columns[next], times)
		next++
		if c.Masked {
			for _, m := range data.Columns[next].Numbers {
				s.Masks = append(s.Masks, flightdata.Mask(m))
			}
			next++
		}
		out[c.Parameter] = s
	}
	return out, nil
}

// fillClip sets the samples of one column. Times are whole nanoseconds below
// 2^53, which a float64 holds exactly (104 days).
func fillClip(s *flightdata.Series, c flightdata.ClipColumn, col *table.ColumnData, times []float64) {
	for i := range col.Len() {
		s.Times = append(s.Times, span.Instant(times[col.Row(i)]))
	}
	if c.Kind == flightdata.Continuous {
		s.Values = col.Numbers
		return
	}
	index := make([]float64, len(col.Words))
	for i, w := range col.Words {
		for k, state := range c.States {
			if state == w {
				index[i] = float64(k)
			}
		}
	}
	for _, w := range col.States {
		s.Values = append(s.Values, index[max(w, 0)])
	}
}
