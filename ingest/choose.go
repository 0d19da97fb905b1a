package ingest

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/spelling"
	"rollonset/ingest/table"
)

// fit is how well a profile reads a set of columns.
type fit struct {
	prof   *profile.Profile
	mapped int    // parameters found
	lacks  string // what it cannot do without, "" when nothing is missing
}

// Choose picks the profile for a file with these columns. A known tail decides
// by the profiles' tails. Without one, the profile that finds most of its
// names; two that find the same number are refused, because the wrong limits
// make wrong results look right. The notes say how it was chosen.
func Choose(file string, columns []table.Column, profiles []*profile.Profile, tail string) (*profile.Profile, []flightdata.Note, error) {
	names := map[string]bool{}
	for _, c := range columns {
		names[c.Name] = true
	}
	if len(profiles) == 0 {
		return nil, nil, &Error{File: file, Cause: "no profile is given to read it with", Remedy: "name a profile or a folder of them with --profiles"}
	}
	if tail != "" {
		return chooseByTail(file, names, profiles, tail)
	}
	var fits []fit
	for _, p := range profiles {
		fits = append(fits, fitOf(p, names))
	}
	slices.SortStableFunc(fits, func(a, b fit) int {
		if (a.lacks == "") != (b.lacks == "") {
			if a.lacks == "" {
				return -1
			}
			return 1
		}
		return b.mapped - a.mapped
	})
	best := fits[0]
	switch {
	case best.lacks != "":
		return nil, nil, noFit(file, columns, best)
	case len(fits) > 1 && fits[1].lacks == "" && fits[1].mapped == best.mapped:
		return nil, nil, &Error{
			File:   file,
			Cause:  fmt.Sprintf("the profiles %s and %s both read it and no tail tells which applies", best.prof.Name, fits[1].prof.Name),
			Remedy: "name the tail in the file name (file_name in the profile) or list the file in the flight list",
		}
	}
	how := fmt.Sprintf("by the recorded names (%d of %d found)", best.mapped, len(best.prof.Parameters))
	if best.prof.Long != nil {
		how = "by its columns of names and values"
	}
	note := flightdata.Note{Text: fmt.Sprintf("the tail is not known: profile %s was chosen %s", best.prof.Name, how)}
	return best.prof, []flightdata.Note{note}, nil
}

func chooseByTail(file string, names map[string]bool, profiles []*profile.Profile, tail string) (*profile.Profile, []flightdata.Note, error) {
	for _, p := range profiles {
		if !hasTail(p, tail) {
			continue
		}
		if f := fitOf(p, names); f.lacks != "" {
			return nil, nil, &Error{
				File: file, Cause: fmt.Sprintf("profile %s is the one for tail %s but does not read this file: %s", p.Name, tail, f.lacks),
				Remedy: "compare the recorded names with `rollonset inspect`",
			}
		}
		return p, nil, nil
	}
	return nil, nil, &Error{
		File: file, Cause: fmt.Sprintf("no profile lists the tail %s", tail),
		Remedy: "add it to the tails of the profile that has its limits" + meantTail(profiles, tail),
	}
}

// meantTail proposes the tail or pattern that is written nearly the same, in
// another case for one, because then the tail may be what is wrong.
func meantTail(profiles []*profile.Profile, tail string) string {
	var known []string
	for _, p := range profiles {
		known = append(known, p.Tails...)
	}
	if s := spelling.DidYouMean(tail, known); strings.HasPrefix(s, "did") {
		return " (" + s + ")"
	}
	return ""
}

func hasTail(p *profile.Profile, tail string) bool {
	return slices.ContainsFunc(p.Tails, func(pattern string) bool {
		ok, err := path.Match(pattern, tail)
		return ok && err == nil
	})
}

// fitOf counts what the profile finds and names the first thing that it
// cannot do without: the time, enough engines of the arming measure, a speed.
func fitOf(p *profile.Profile, names map[string]bool) fit {
	f := fit{prof: p}
	has := func(columns []string) bool {
		return slices.ContainsFunc(columns, func(c string) bool { return names[c] })
	}
	if l := p.Long; l != nil && !names[l.Parameter] {
		f.lacks = fmt.Sprintf("the column %s, which holds the recorded names, is missing", l.Parameter)
		return f
	} else if l != nil && !names[l.Value] {
		f.lacks = fmt.Sprintf("the column %s, which holds the values, is missing", l.Value)
		return f
	} else if l != nil && has(p.Time.Columns) {
		return f // which parameters there are shows when it is read
	}
	engines, speed := 0, false
	for _, r := range p.Parameters {
		if !has(r.Columns) {
			continue
		}
		f.mapped++
		switch {
		case r.Parameter.Base() == p.Thrust.Measure:
			engines++
		case r.Parameter == flightdata.GroundSpeed || r.Parameter == flightdata.Airspeed:
			speed = true
		}
	}
	need := p.Thrust.Engines.Need(p.Engines)
	switch {
	case !has(p.Time.Columns):
		f.lacks = fmt.Sprintf("the time column %s is missing", strings.Join(p.Time.Columns, " or "))
	case engines < need:
		f.lacks = fmt.Sprintf("%s is there for %s, the arming rule needs %d", p.Thrust.Measure, counted(engines, "engine"), need)
	case !speed:
		f.lacks = "neither ground speed nor airspeed is there under the profile's names"
	}
	return f
}

// noFit is the error for a file that no profile reads.
func noFit(file string, columns []table.Column, best fit) error {
	var names []string
	for _, c := range columns[:min(len(columns), 6)] {
		names = append(names, fmt.Sprintf("%q", c.Name))
	}
	more := ""
	if len(columns) > len(names) {
		more = fmt.Sprintf(" and %d more", len(columns)-len(names))
	}
	cause := fmt.Sprintf("no profile reads it: the nearest, %s, finds %d of %d parameters, and %s", best.prof.Name, best.mapped, len(best.prof.Parameters), best.lacks)
	switch {
	case best.prof.Long != nil:
		cause = fmt.Sprintf("no profile reads it: the nearest, %s, is for files with a row for each sample, and %s", best.prof.Name, best.lacks)
	case best.mapped == 0:
		cause = "no profile knows any of its columns"
	}
	return &Error{
		File: file, Cause: fmt.Sprintf("%s (the file has %s%s)", cause, strings.Join(names, ", "), more),
		Remedy: "write a profile for its names (`rollonset inspect` lists them) or check --profiles",
	}
}
