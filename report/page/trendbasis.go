package page

import (
	"fmt"
	"maps"
	"slices"

	"rollonset/detect/takeoff"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
	"rollonset/report/trend"
)

// Basis is what stands behind the counts of trends and reports and is in no
// row of them: what was left out, and where the classes of rejects divide.
// The zero Basis says nothing.
type Basis struct {
	// TouchAndGo and Undetermined are the attempts of that outcome. The first
	// are in no figure; the second are attempts, but not told for rejects.
	TouchAndGo, Undetermined int
	// Boundaries are the names of profiles by the speed, kt, from which on
	// they call a reject high-speed. Lost are profiles that the archive does
	// not hold, or that cannot be read.
	Boundaries map[float64][]string
	Lost       []string
	read       bool
}

// ReadBasis looks through the attempts of some months, all for the zero
// Period, and the profiles that judged them. An error is one of reading.
func ReadBasis(a *archive.Archive, v *archive.View, p trend.Period) (Basis, error) {
	out := Basis{Boundaries: map[float64][]string{}, read: true}
	names := map[string]string{} // of profiles, by hash
	for row, err := range v.Attempts() {
		if err != nil {
			return out, err
		}
		if p.From != 0 && !row.Date.IsZero() && !p.Has(trend.MonthOf(row.Date)) {
			continue
		}
		switch takeoff.Outcome(row.Outcome) {
		case takeoff.TouchAndGo:
			out.TouchAndGo++
		case takeoff.Undetermined:
			out.Undetermined++
		}
		names[row.ProfileSHA256] = row.Profile
	}
	for _, hash := range slices.Sorted(maps.Keys(names)) {
		out.boundary(a, hash, names[hash])
	}
	return out, nil
}

func (b *Basis) boundary(a *archive.Archive, hash, name string) {
	add := func(list []string) []string {
		if !slices.Contains(list, name) {
			list = append(list, name)
			slices.Sort(list)
		}
		return list
	}
	// What a later program cannot read, or somebody changed, is no reason for
	// a page without rates: verify is there to tell of it.
	text, err := a.Profile(hash)
	if err != nil {
		b.Lost = add(b.Lost)
		return
	}
	p, err := profile.Parse(hash+".yaml", text)
	if err != nil {
		b.Lost = add(b.Lost)
		return
	}
	b.Boundaries[p.Reject.Boundary] = add(b.Boundaries[p.Reject.Boundary])
}

// countedWords say what counts as an event.
func countedWords(t *trend.Trends) string {
	if t.ValidOnly {
		return "Only events reviewed as valid count; those that nobody has reviewed, nuisance and data faults do not."
	}
	return "Events that nobody has reviewed count; those reviewed as nuisance or data fault do not."
}

func (b Basis) words() []string { return []string{b.denominatorWords(), b.boundaryWords()} }

// denominatorWords say what is a takeoff in the rates.
func (b Basis) denominatorWords() string {
	out := "Takeoff attempts are those that became a takeoff or were rejected, before the roll or in it, and those whose end the data do not show, which are not told for rejects. Touch-and-goes are none and are in no figure"
	if !b.read {
		return out + "."
	}
	return out + fmt.Sprintf("; the months read hold %d of them, and %s whose end the data do not show.", b.TouchAndGo, count(b.Undetermined, "attempt"))
}

// boundaryWords say where the classes of rejects divide.
func (b Basis) boundaryWords() string {
	out := "All rejects are those before the roll, low-speed and high-speed ones together. High-speed is a reject whose thrust was cut at or above the boundary of its profile, in ground speed (airspeed where that is missing)"
	var parts []string
	for _, kt := range slices.Sorted(maps.Keys(b.Boundaries)) {
		parts = append(parts, fmt.Sprintf("%s by %s", With(kt, "kt"), list(b.Boundaries[kt])))
	}
	if len(parts) > 0 {
		out += ": " + list(parts)
	}
	if len(b.Lost) > 0 {
		out += ". The boundary is not known of " + list(b.Lost) + ": that profile cannot be read in the archive"
	}
	return out + "."
}
