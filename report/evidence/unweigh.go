package evidence

import (
	"strings"

	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// unweigh takes out what follows from the take-off weight alone: the band of
// a trim for weight and CG, V1, energy. The weight follows the length of the
// leg, and that is in every timetable: the heaviest take-off of a type is the
// one to the farthest place. The margins of such a band are kept, so nothing
// else may tell where in it the parameter stood, or the edge of the band, and
// with it the weight, is their difference: other checks of that parameter lose
// their margins too, and sentences about it their figures. Kept is the speed at
// lift-off, from which a weight can only be estimated.
func unweigh(s *archive.Summary, prof *profile.Profile) {
	banded, set := map[string]bool{}, map[string]bool{}
	for i := range prof.Checks {
		if c := &prof.Checks[i]; c.Band != nil {
			banded[c.Name], set[string(c.Watched())] = true, true
		}
	}
	told := map[string]bool{} // checks of a parameter that has a band
	for i := range s.Attempts {
		for j := range s.Attempts[i].Findings {
			f := &s.Attempts[i].Findings[j]
			if banded[f.Check] || set[f.Parameter] {
				told[f.Check] = true
				unweighFinding(f, banded[f.Check])
			}
		}
		if r := s.Attempts[i].Reject; r != nil {
			r.V1, r.Energy, r.EnergyPerWheel = nil, nil, nil
		}
	}
	for i := range s.Coverage {
		if c := &s.Coverage[i]; told[c.Check] || banded[c.Check] || set[parameterOf(prof, c.Check)] {
			c.LifeWhy = unfigured(c.LifeWhy)
		}
	}
}

func parameterOf(prof *profile.Profile, check string) string {
	for i := range prof.Checks {
		if prof.Checks[i].Name == check {
			return string(prof.Checks[i].Watched())
		}
	}
	return ""
}

func unweighFinding(f *archive.FindingSummary, banded bool) {
	f.Value, f.Text, f.Raw = nil, "", ""
	if banded {
		f.Limit, f.LimitLow, f.LimitHigh = "", nil, nil
	} else {
		f.Margin, f.WorstMargin, f.MarginShare = nil, nil, nil
	}
	f.Reason, f.LifeWhy = unfigured(f.Reason), unfigured(f.LifeWhy)
	for k := range f.Stretches {
		st := &f.Stretches[k]
		st.Value, st.Text, st.Limit = nil, "", ""
		if !banded {
			st.Margin = nil
		}
	}
}

// unfigured leaves out the clauses of a sentence that hold a figure.
func unfigured(text string) string {
	var kept []string
	for _, clause := range strings.Split(text, "; ") {
		if !strings.ContainsAny(clause, "0123456789") {
			kept = append(kept, clause)
		}
	}
	if len(kept) == 0 && text != "" {
		return "the figures are left out"
	}
	return strings.Join(kept, "; ")
}

// unplace takes out what follows from the length of the runway: with the
// distance to the stop, the runway that is left gives it, and the lengths of
// the runways of a network are public and few alike.
func unplace(s *archive.Summary) {
	for i := range s.Attempts {
		if r := s.Attempts[i].Reject; r != nil {
			r.RunwayLeft, r.RunwayLeftIf = nil, ""
		}
	}
}
