package page

import (
	"strings"
	"time"

	"rollonset/report/archive"
)

// dayOf is the date of an RFC 3339 time as a person writes it.
func dayOf(utc string) string {
	t, err := time.Parse(time.RFC3339Nano, utc)
	if err != nil {
		return ""
	}
	return t.UTC().Format("2 January 2006")
}

// runLine names the run and what it ran with.
func runLine(run archive.Run) string {
	parts := []string{"Run " + run.ID}
	if run.Started != "" {
		parts = append(parts, run.Started+" to "+known(run.Finished, "not finished"))
	}
	var profiles []string
	for _, p := range run.Profiles {
		profiles = append(profiles, strings.TrimSpace(p.Name+" "+p.Version))
	}
	if len(profiles) > 0 {
		parts = append(parts, "profiles "+list(profiles))
	}
	if run.FlightList != "" {
		parts = append(parts, "flight list "+run.FlightList)
	}
	parts = append(parts, "detection version "+run.Detection, "program "+run.Program)
	return strings.Join(parts, "; ") + "."
}

// unreadableTable lists what could not be read. A problem is cause and remedy
// on lines of their own; the remedy gets a column, because it is what the
// reader will do next.
func unreadableTable(run archive.Run) table {
	t := table{ID: "unreadable", Caption: "What could not be read, and why", Head: columns("Recording", "Why", "What to do"), Empty: "Every recording that came in was read."}
	for _, r := range run.Recordings {
		if r.Status != "unreadable" {
			continue
		}
		why, remedy, _ := strings.Cut(strings.TrimSpace(r.Problem), "\n")
		remedy = strings.TrimPrefix(strings.TrimSpace(remedy), "hint: ")
		t.Rows = append(t.Rows, []cell{
			mono(r.File), text(known(why, "no reason was recorded")),
			text(known(remedy, "Have the recording delivered again, or correct its profile, and repeat the command; what is done is skipped.")),
		})
	}
	return t
}

func missingTable(run archive.Run) table {
	t := table{ID: "missing", Caption: "Flights of the list for which no recording came", Head: columns("Flight")}
	for _, m := range run.Missing {
		t.Rows = append(t.Rows, []cell{text(m)})
	}
	return t
}
