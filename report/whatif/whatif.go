package whatif

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/ingest/profile"
	"rollonset/ingest/spelling"
	"rollonset/report/archive"
	"rollonset/report/trend"
)

// Change is one changed limit of a check, in the unit of its margins.
type Change struct {
	Check string
	Edge  Edge
	Value float64
}

// Edge is what of a check is changed.
type Edge string

// The edges. Margin is the distance from the limits that must be kept: 0 is
// the limits as they are, 0.5 draws both in by half a unit, -0.5 widens them.
const (
	Min    Edge = "min"
	Max    Edge = "max"
	Margin Edge = "margin"
)

// ParseChange reads CHECK.min=VALUE, CHECK.max=VALUE or CHECK.margin=VALUE. A
// unit behind the value is refused: margins are in the unit of the check.
func ParseChange(text string) (Change, error) {
	left, right, ok := strings.Cut(text, "=")
	dot := strings.LastIndexByte(left, '.')
	wrong := fmt.Errorf("%q: write it as CHECK.min=VALUE, CHECK.max=VALUE or CHECK.margin=VALUE, for example 'trim.margin=0.5'", text)
	if hint := spelling.DidYouMean(strings.TrimSpace(left[dot+1:]), []string{string(Min), string(Max), string(Margin)}); ok && dot >= 1 && strings.HasPrefix(hint, "did you mean") {
		wrong = fmt.Errorf("%w; %s", wrong, hint)
	}
	if !ok || dot < 1 {
		return Change{}, wrong
	}
	c := Change{Check: strings.TrimSpace(left[:dot]), Edge: Edge(strings.TrimSpace(left[dot+1:]))}
	if c.Edge != Min && c.Edge != Max && c.Edge != Margin {
		return Change{}, wrong
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(right), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return Change{}, fmt.Errorf("%q: %q is no number; give it in the unit of the check, without the unit", text, strings.TrimSpace(right))
	}
	c.Value = v
	return c, nil
}

// Result is what the changes of one check would give.
type Result struct {
	Check, Unit string
	Changes     []Change
	Months      []Month
	Total       Month    // of all months; its Month is none
	Undated     int      // told, without a date; in Total only
	Notes       []string // what limits the answer
}

// Month counts one month.
type Month struct {
	Month trend.Month
	Told  int // attempts on which the check could be told
	Now   int // events as the archive has them
	// Least and Most are the events under the changed limits: certain ones,
	// and those with the ones that the stored figures cannot decide.
	Least, Most int
}

// Count reads the findings of the view and judges those of the changed
// checks, on one type of aircraft, or on all for "". An error is one of reading, a check that is in no finding, or a
// change that the stored figures cannot answer, with what does.
func Count(a *archive.Archive, v *archive.View, typ string, changes []Change) ([]Result, error) {
	c := counter{a: a, checks: map[string]*tally{}, rules: map[string]map[string]*profile.Check{}, seen: map[string]bool{}, types: map[string]bool{}}
	for _, change := range changes {
		t := c.checks[change.Check]
		if t == nil {
			t = &tally{limits: limits{Min: math.NaN(), Max: math.NaN(), Margin: math.NaN()}, months: map[trend.Month]*Month{}}
			t.out.Check = change.Check
			c.checks[change.Check] = t
		}
		if err := t.set(change); err != nil {
			return nil, err
		}
	}
	for f, err := range v.Findings() {
		if err != nil {
			return nil, err
		}
		c.types[f.TypeOrProfile()] = true
		if typ != "" && f.TypeOrProfile() != typ {
			continue
		}
		c.seen[f.Check] = true
		t := c.checks[f.Check]
		if t == nil || f.Outcome == string(takeoff.TouchAndGo) {
			continue
		}
		rule, err := c.rule(&f)
		if err != nil {
			return nil, err
		}
		if err := t.add(&f, rule); err != nil {
			return nil, err
		}
	}
	if typ != "" && !c.types[typ] {
		return nil, unknownWord(fmt.Sprintf("no finding is of type %q", typ), typ, c.types)
	}
	return c.finish(typ)
}

type counter struct {
	a      *archive.Archive
	checks map[string]*tally
	rules  map[string]map[string]*profile.Check // by hash of the profile and name of the check
	seen   map[string]bool                      // checks, of the type asked for
	types  map[string]bool
}

// unknownWord is the error of a name that the archive does not have, with the
// nearest that it has, and with all where they are few.
func unknownWord(what, wrong string, known map[string]bool) error {
	names := slices.Sorted(maps.Keys(known))
	if len(names) == 0 {
		return fmt.Errorf("%s: the archive holds no finding", what)
	}
	hint := spelling.DidYouMean(wrong, names)
	if strings.HasPrefix(hint, "did you mean") {
		return fmt.Errorf("%s; %s", what, hint)
	}
	return fmt.Errorf("%s; there are: %s", what, strings.Join(names, ", "))
}

// rule is the check in the profile that judged the finding; nil when the
// archive does not hold that profile.
func (c *counter) rule(f *archive.FindingView) (*profile.Check, error) {
	if rules, ok := c.rules[f.ProfileSHA256]; ok {
		return rules[f.Check], nil
	}
	rules := map[string]*profile.Check{}
	c.rules[f.ProfileSHA256] = rules
	text, err := c.a.Profile(f.ProfileSHA256)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	p, err := profile.Parse(f.ProfileSHA256+".yaml", text)
	if err != nil {
		return nil, fmt.Errorf("the archive's profile: %w", err)
	}
	for i := range p.Checks {
		rules[p.Checks[i].Name] = &p.Checks[i]
	}
	return rules[f.Check], nil
}

func (c *counter) finish(typ string) ([]Result, error) {
	var out []Result
	for _, name := range slices.Sorted(maps.Keys(c.checks)) {
		if !c.seen[name] {
			what := fmt.Sprintf("no finding is of a check %q", name)
			if typ != "" {
				what += " on type " + typ
			}
			return nil, unknownWord(what, name, c.seen)
		}
		t := c.checks[name]
		if t.noMargin > 0 && t.noMargin == t.out.Total.Told {
			return nil, fmt.Errorf("%s has no stored value on any of the %d attempts on which it could be told, as a check of a state has not: %s", name, t.noMargin, changeProfile)
		}
		for _, m := range t.months {
			t.out.Months = append(t.out.Months, *m)
		}
		slices.SortFunc(t.out.Months, func(a, b Month) int { return cmp.Compare(a.Month, b.Month) })
		t.notes()
		out = append(out, t.out)
	}
	return out, nil
}

// tally counts one check.
type tally struct {
	limits
	out                 Result
	months              map[trend.Month]*Month
	unitOf              string // type of which the unit is
	noMargin, noProfile int
}

func (t *tally) set(c Change) error {
	edge := map[Edge]*float64{Min: &t.Min, Max: &t.Max, Margin: &t.Margin}[c.Edge]
	if !math.IsNaN(*edge) {
		return fmt.Errorf("%s.%s is set twice; give it once", c.Check, c.Edge)
	}
	*edge = c.Value
	t.out.Changes = append(t.out.Changes, c)
	switch {
	case !math.IsNaN(t.Margin) && (!math.IsNaN(t.Min) || !math.IsNaN(t.Max)):
		return fmt.Errorf("%s: give its margin or its edges, not both", c.Check)
	case t.Min > t.Max:
		return fmt.Errorf("%s: min %g lies above max %g", c.Check, t.Min, t.Max)
	}
	return nil
}

func (t *tally) add(f *archive.FindingView, rule *profile.Check) error {
	state := configuration.State(f.State)
	if state != configuration.Within && state != configuration.Outside {
		return nil // it cannot be told under other limits either
	}
	if err := t.answerable(f, rule); err != nil {
		return err
	}
	if rule == nil {
		t.noProfile++
	}
	if t.out.Unit == "" {
		t.out.Unit, t.unitOf = f.Unit, f.TypeOrProfile()
	}
	if f.Unit != "" && f.Unit != t.out.Unit { // a figure would mean two things
		return fmt.Errorf("%s is judged in %s on type %s and in %s on type %s; name one type", f.Check, t.out.Unit, t.unitOf, f.Unit, f.TypeOrProfile())
	}
	now, least, most := 0, 0, 0
	if state == configuration.Outside {
		now = 1
	}
	switch t.judge(f, rule) {
	case surely:
		least, most = 1, 1
	case perhaps:
		most = 1
	}
	if math.IsNaN(f.Worst) && math.IsNaN(f.Margin) {
		t.noMargin++
	}
	count := func(m *Month) { m.Told, m.Now, m.Least, m.Most = m.Told+1, m.Now+now, m.Least+least, m.Most+most }
	count(&t.out.Total)
	if f.Date.IsZero() {
		t.out.Undated++
		return nil
	}
	month := trend.MonthOf(f.Date)
	if t.months[month] == nil {
		t.months[month] = &Month{Month: month}
	}
	count(t.months[month])
	return nil
}

// answerable refuses an edge for a check that has no edges of its own.
func (t *tally) answerable(f *archive.FindingView, rule *profile.Check) error {
	switch {
	case rule != nil && rule.State != nil:
		return fmt.Errorf("the limit of %s is a state (%s), not a number, so no limit of it can be moved: %s", f.Check, known(f.Limit, "see the profile"), changeProfile)
	case !math.IsNaN(t.Margin):
		return nil
	case rule == nil:
		return fmt.Errorf("%s: the archive does not hold the profile %s, so it is not known whether the check has a min and a max; give a margin, or run reassess", f.Check, f.ProfileSHA256)
	case rule.Range == nil:
		return fmt.Errorf("%s has no min and max of its own: its limits depend on other values or are settings; give %s.margin to draw all its limits in, or %s", f.Check, f.Check, changeProfile)
	}
	return nil
}

// changeProfile is what answers where the stored figures cannot.
const changeProfile = "change the check in a copy of the profile and run 'rollonset reassess ARCHIVE --profiles DIR --to DIR', which judges the clips anew"

func known(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

func (t *tally) notes() {
	note := func(format string, args ...any) { t.out.Notes = append(t.out.Notes, fmt.Sprintf(format, args...)) }
	if t.out.Total.Least < t.out.Total.Most {
		note("%d attempts are between: they touched the new limit after the onset, and for how long or on which side is not stored; reassess decides them from the clips.", t.out.Total.Most-t.out.Total.Least)
	}
	if t.noMargin > 0 {
		note("On %d attempts no value was stored; they keep their verdict.", t.noMargin)
	}
	if t.noProfile > 0 {
		note("On %d attempts the profile is not in the archive, so the persistence of the check is not known.", t.noProfile)
	}
	if t.out.Undated > 0 {
		note("%d attempts have no date; they are in the total only.", t.out.Undated)
	}
	note("Severities and the warning that is due change with the limits too; that is not counted here.")
}
