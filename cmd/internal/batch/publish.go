package batch

import (
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// IndexFile is the night page, at the top of the archive.
const IndexFile = "index.html"

// upFrom is the relative address of the night page from a flight folder.
func upFrom(folder string) string {
	return strings.Repeat("../", strings.Count(folder, "/")+1) + IndexFile
}

// publish writes the tables and the night page of a run. Both are functions
// of the summaries in the archive.
func publish(a *archive.Archive, pages Pages, run *archive.Run, results []Result) error {
	if _, err := a.WriteTables(run.ID, summaries(results)); err != nil {
		return fmt.Errorf("writing the tables: %w", err)
	}
	reviews, err := a.Reviews()
	if err != nil {
		return err
	}
	run.Reviews = reviews.Head
	if run.Fixed, err = a.FixedHashes(); err != nil {
		return err
	}
	if run.Tables, err = tableHashes(a, run.ID); err != nil {
		return err
	}
	if pages == NoPages {
		return nil
	}
	options := page.NightOptions{Caution: archive.Caution, Trends: trendsLink(a), Review: reviewState(reviews)}
	if pages == AllPages {
		options.HasPage = func(archive.Summary) bool { return true }
	}
	err = archive.WritePage(a.Path(IndexFile), func(w io.Writer) error {
		return page.Night(w, *run, summaries(results), options)
	})
	if err != nil {
		return fmt.Errorf("writing %s: %w", IndexFile, err)
	}
	return nil
}

// tableHashes are the hashes of the tables of a run.
func tableHashes(a *archive.Archive, run string) ([]archive.FileHash, error) {
	var out []archive.FileHash
	for _, table := range archive.Tables() {
		file := archive.TablePath(table, run)
		hash, err := a.HashFile(file)
		if err != nil {
			return nil, err
		}
		out = append(out, archive.FileHash{File: file, SHA256: hash})
	}
	return out, nil
}

// summaries yields the summaries of the results in the order of their flight
// folders, which is the order of the tables.
func summaries(results []Result) iter.Seq2[archive.Summary, error] {
	var sorted []*archive.Summary
	for _, r := range results {
		if r.Summary != nil {
			sorted = append(sorted, r.Summary)
		}
	}
	slices.SortFunc(sorted, func(a, b *archive.Summary) int { return strings.Compare(a.Flight.Folder, b.Flight.Folder) })
	return func(yield func(archive.Summary, error) bool) {
		for _, s := range sorted {
			if !yield(*s, nil) {
				return
			}
		}
	}
}
