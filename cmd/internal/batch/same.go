package batch

import (
	"path/filepath"
	"slices"

	"rollonset/report/archive"
)

// settle marks recordings whose bytes came under an earlier name too: the first
// in path order is the one that counts, however the workers raced. Where this
// run wrote their flight, all their lines are made to tell of it as it now
// lies: the last to write it may have put another name into the summary, or
// moved the folder. A flight of an earlier run keeps what that run recorded, so
// that a change since then is not covered.
func settle(a *archive.Archive, results []Result) error {
	for _, group := range same(results) {
		s, err := current(a, &results[group[0]].RecordingLine)
		if err != nil {
			return err
		}
		written := slices.ContainsFunc(group, func(i int) bool {
			return results[i].Status == Processed && filepath.Base(results[i].File) == s.Recording.File
		})
		for n, i := range group {
			res := &results[i]
			if written {
				res.take(&s)
				if err := a.Seal(&res.RecordingLine); err != nil {
					return err
				}
			}
			if n > 0 {
				res.Status, res.Tally = Duplicate, Tally{}
				res.Problem = "the same recording as " + results[group[0]].File
			}
		}
	}
	return nil
}

// same are the indices of recordings that share their bytes with another, each
// group in path order.
func same(results []Result) [][]int {
	by := map[string][]int{}
	var keys []string // that came twice
	for i := range results {
		key := results[i].Key
		if key == "" {
			continue
		}
		by[key] = append(by[key], i)
		if len(by[key]) == 2 {
			keys = append(keys, key)
		}
	}
	var out [][]int
	for _, key := range keys {
		out = append(out, by[key])
	}
	return out
}

// current is the summary that a line of a run is about, where it now lies.
func current(a *archive.Archive, l *archive.RecordingLine) (archive.Summary, error) {
	if folder, ok, err := a.Done(l.Key); err == nil && ok {
		return a.Read(folder)
	}
	return a.Read(l.Folder)
}
