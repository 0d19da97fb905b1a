package batch

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// TrendsFile is the trend page, beside the night page.
const TrendsFile = "trends.html"

// trendsLink is the address of the trend page from the night page, "" while
// there is none.
func trendsLink(a *archive.Archive) string {
	if _, err := os.Stat(a.Path(TrendsFile)); err != nil {
		return ""
	}
	return TrendsFile
}

// Relink writes the night page of the latest run anew, with the links that
// now hold. An archive without a night page or without a run stays as it is.
func Relink(a *archive.Archive) error {
	if _, err := os.Stat(a.Path(IndexFile)); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	ids, err := a.Runs()
	if err != nil || len(ids) == 0 {
		return err
	}
	var latest archive.Run
	for _, id := range ids {
		run, err := a.ReadRun(id)
		if err != nil {
			return err
		}
		if latest.ID == "" || cmp.Or(cmp.Compare(run.Started, latest.Started), cmp.Compare(run.ID, latest.ID)) > 0 {
			latest = run
		}
	}
	var folders []string
	for _, r := range latest.Recordings {
		if r.Folder != "" && !slices.Contains(folders, r.Folder) {
			folders = append(folders, r.Folder)
		}
	}
	reviews, err := a.Reviews()
	if err != nil {
		return err
	}
	options := page.NightOptions{Caution: archive.Caution, Trends: trendsLink(a), Review: reviewState(reviews), HasPage: func(s archive.Summary) bool {
		_, err := os.Stat(a.Path(path.Join(s.Flight.Folder, archive.PageFile)))
		return err == nil
	}}
	err = archive.WritePage(a.Path(IndexFile), func(w io.Writer) error {
		return page.Night(w, latest, a.SummariesOf(folders), options)
	})
	if err != nil {
		return fmt.Errorf("writing %s: %w", IndexFile, err)
	}
	return nil
}
