package page

import (
	"strconv"
	"strings"

	"rollonset/report/archive"
)

// RunLink is a run in the list of runs. Its day is that of its flights.
type RunLink struct {
	First, Last string // dates of the flights, 2006-01-02, "" for none
	Run         archive.Run
	Href        string // of its page, "" when it has none
}

// days are the days of the flights in words.
func (l RunLink) days() string {
	switch {
	case l.First == "":
		return "without a date"
	case l.First == l.Last:
		return day(l.First)
	}
	return day(l.First) + " to " + day(l.Last)
}

// runTable lists the other runs of the archive, the newest flights first.
func runTable(runs []RunLink) table {
	t := table{
		ID: "runs", Caption: "Other runs of this archive, the newest flights first", Sort: true, Empty: "There is no other run.",
		Head: []head{
			{Text: "Flights of"},
			{Text: "Recordings", Num: true},
			{Text: "Unreadable", Num: true},
			{Text: "Attempts", Num: true},
			{Text: "Events high", Num: true},
			{Text: "medium", Num: true},
			{Text: "low", Num: true},
			{Text: "Run"},
		},
	}
	for _, l := range runs {
		c := l.Run.Counts
		t.Rows = append(t.Rows, []cell{
			{Text: l.days(), Href: l.Href, Head: true, Key: l.Last + " " + l.First},
			num(strconv.Itoa(c.Received)), num(strconv.Itoa(c.Unreadable)), num(strconv.Itoa(c.Attempts)),
			num(strconv.Itoa(c.High)), num(strconv.Itoa(c.Medium)), num(strconv.Itoa(c.Low)), mono(l.Run.ID),
		})
	}
	return t
}

// laterWords tell of a run that came after the one that the page shows: what
// it could not read must not go unseen.
func laterWords(l *RunLink) string {
	c := l.Run.Counts
	return "A later run took in " + count(c.Received, "recording") + " (flights " + l.days() + "), of which " + strconv.Itoa(c.Unreadable) + " could not be read; it found " + count(c.Attempts, "attempt") + "."
}

// seenTable lists the attempts of the night that several recordings hold.
func seenTable(seen []archive.Seen, up string, hasPage func(folder string) bool) table {
	t := table{
		ID: "seen", Caption: "Attempts in more than one recording: each counts once", Empty: "Every attempt lies in one recording.",
		Head: columns("Attempt", "Tail", "Onset, UTC", "Recording", "What it holds"),
	}
	link := func(c cell, folder, id string) cell {
		if hasPage(folder) {
			c.Href = up + folder + "/" + archive.PageFile
			if _, number, ok := strings.Cut(id, "-"); ok {
				c.Href += "#attempt-" + number
			}
		}
		return c
	}
	for i := range seen {
		s := &seen[i]
		for k := range s.Sightings {
			m := &s.Sightings[k]
			what := "the same attempt again; it is not counted"
			switch {
			case k == 0 && s.Split():
				what = "the start, which counts"
			case k == 0:
				what = "this one counts"
			case k == s.End:
				what = "how it ended"
			}
			t.Rows = append(t.Rows, []cell{mono(m.ID), text(known(m.Tail, None)), text(known(m.Clock(), None)), link(text(m.File), m.Folder, m.ID), text(what)})
		}
		for _, n := range s.GoesOn {
			t.Rows = append(t.Rows, []cell{text(None), text(known(s.Sightings[0].Tail, None)), text(None), link(text(n.File), n.Folder, ""), text("what followed, but not the end of the roll of " + s.Sightings[0].ID)})
		}
	}
	return t
}
