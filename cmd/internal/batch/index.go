package batch

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"

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

// Relink writes the night page of the latest run anew, with the links and
// reviews that now hold. An archive without a night page or without a run stays
// as it is.
func Relink(a *archive.Archive) error {
	latest, err := latestRun(a)
	if err != nil || latest.ID == "" {
		return err
	}
	return nightPage(a, latest)
}

// quickNight is how many recordings a run may have for its night page to be
// drawn within about a second.
const quickNight = 2000

// Reviewed is Relink after a review, for which a person waits: the page of a
// run of very many recordings, such as that of a first year read at once, is
// left for the next run.
func Reviewed(a *archive.Archive) error {
	latest, err := latestRun(a)
	if err != nil || latest.ID == "" || len(latest.Recordings) > quickNight {
		return err
	}
	return nightPage(a, latest)
}

// latestRun is the run that the night page shows, the zero Run when there is
// no run or no such page.
func latestRun(a *archive.Archive) (latest archive.Run, err error) {
	if _, err := os.Stat(a.Path(IndexFile)); errors.Is(err, fs.ErrNotExist) {
		return latest, nil
	}
	ids, err := a.Runs()
	if err != nil {
		return latest, err
	}
	for _, id := range ids {
		run, err := a.ReadRun(id)
		if err != nil {
			return archive.Run{}, err
		}
		if latest.ID == "" || cmp.Or(cmp.Compare(run.Started, latest.Started), cmp.Compare(run.ID, latest.ID)) > 0 {
			latest = run
		}
	}
	return latest, nil
}

func nightPage(a *archive.Archive, latest archive.Run) error {
	err := archive.WritePage(a.Path(IndexFile), func(w io.Writer) error { return drawNight(w, a, latest) })
	if err != nil {
		return fmt.Errorf("writing %s: %w", IndexFile, err)
	}
	return nil
}

// drawNight draws the night page of a run with the reviews and links that now
// hold.
func drawNight(w io.Writer, a *archive.Archive, latest archive.Run) error {
	var folders []string
	for _, r := range latest.Recordings {
		if r.Folder != "" {
			folders = append(folders, r.Folder) // SummariesOf takes each once
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
	return page.Night(w, latest, a.SummariesOf(folders), options)
}

// NightNow is the text of the night page as it would be drawn now, for one who
// may not write it; nil when the page on the disk is to be shown instead: there
// is none, or the run is too large to be drawn while a person waits.
func NightNow(a *archive.Archive) ([]byte, error) {
	latest, err := latestRun(a)
	if err != nil || latest.ID == "" || len(latest.Recordings) > quickNight {
		return nil, err
	}
	var text bytes.Buffer
	err = drawNight(&text, a, latest)
	return text.Bytes(), err
}
