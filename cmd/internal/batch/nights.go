package batch

import (
	"cmp"
	"regexp"
	"slices"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// nights are the runs of an archive, the newest flights first, and within a
// day the run that started last.
type nights []page.RunLink

// dayFolder finds the day in the name of a flight folder.
var dayFolder = regexp.MustCompile(`^flights/(\d{4})/(\d\d)/(\d\d)/`)

func nightsOf(a *archive.Archive, runs []archive.Run) nights {
	var out nights
	for _, run := range runs {
		n := page.RunLink{Run: run}
		for _, l := range run.Recordings {
			m := dayFolder.FindStringSubmatch(l.Folder)
			if m == nil {
				continue
			}
			day := m[1] + "-" + m[2] + "-" + m[3]
			if n.First == "" || day < n.First {
				n.First = day
			}
			n.Last = max(n.Last, day)
		}
		if a.Has(RunPage(run.ID)) {
			n.Href = RunPage(run.ID)
		}
		out = append(out, n)
	}
	slices.SortStableFunc(out, func(x, y page.RunLink) int {
		return cmp.Or(cmp.Compare(y.Last, x.Last), cmp.Compare(y.Run.Started, x.Run.Started), cmp.Compare(y.Run.ID, x.Run.ID))
	})
	return out
}

// shown is the run that the night page shows: the latest over the newest
// flights. A run over less than half as many recordings as another of that day
// had is one over a part, and does not take the place of the night.
func (n nights) shown() int {
	most := 0
	for _, l := range n {
		if l.Last == n[0].Last {
			most = max(most, l.Run.Counts.Received)
		}
	}
	return slices.IndexFunc(n, func(l page.RunLink) bool { return 2*l.Run.Counts.Received >= most && l.Last == n[0].Last })
}

// last is the run that started last.
func (n nights) last() int {
	out := 0
	for i := range n {
		if cmp.Or(cmp.Compare(n[i].Run.Started, n[out].Run.Started), cmp.Compare(n[i].Run.ID, n[out].Run.ID)) > 0 {
			out = i
		}
	}
	return out
}
