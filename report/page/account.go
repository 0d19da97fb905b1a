package page

import (
	"strings"

	"rollonset/report/archive"
)

// runLine names the run and what it ran with.
func runLine(run archive.Run) string {
	parts := []string{"Run " + run.ID}
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

// unreadableTable lists what could not be read. The remedy gets a column,
// because it is what the reader will do next.
func unreadableTable(run archive.Run) table {
	t := table{ID: "unreadable", Kind: "unreadable", Narrow: stacks, Caption: "What could not be read, and why", Head: columns("Recording", "Why", "What to do"), Empty: "Every recording that came in was read."}
	for _, r := range run.Recordings {
		if r.Status != "unreadable" {
			continue
		}
		t.Rows = append(t.Rows, []cell{
			mono(r.File), text(known(r.Problem, "no reason was recorded")),
			text(known(r.Remedy, "Have the recording delivered again, or correct its profile, and repeat the command; what is done is skipped.")),
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
