package casefile

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Load reads the profile of the case: a path beside the case file when it
// ends in .yaml, else profiles/NAME.yaml beside the file or in the testdata
// of the folders above. read is os.ReadFile outside of its own tests.
func (c *Case) Load(read func(string) ([]byte, error)) (*profile.Profile, error) {
	dir := path.Dir(c.File)
	if strings.HasSuffix(c.Profile, ".yaml") {
		return c.profile(path.Join(dir, c.Profile), read)
	}
	for _, at := range []string{"profiles", "../../testdata/profiles"} {
		name := path.Join(dir, at, c.Profile+".yaml")
		if _, err := read(name); err == nil {
			return c.profile(name, read)
		}
	}
	return nil, fmt.Errorf("%s:%d: no profile %q beside the case or above", c.File, c.Line, c.Profile)
}

func (c *Case) profile(name string, read func(string) ([]byte, error)) (*profile.Profile, error) {
	text, err := read(name)
	if err != nil {
		return nil, fmt.Errorf("%s:%d: profile: %w", c.File, c.Line, err)
	}
	prof, err := profile.Parse(name, text)
	if err != nil {
		return nil, fmt.Errorf("%s:%d: %w", c.File, c.Line, err)
	}
	return prof, nil
}

// Recording builds the recording of the case. The series are those of the
// profile's parameters that the case writes; no quality rule is applied, the
// masks are the ones written.
func (c *Case) Recording(prof *profile.Profile) (*flightdata.Recording, error) {
	rec := &flightdata.Recording{
		Source: flightdata.Source{Path: c.File, Format: "case"}, Clock: "seconds",
		Span:   span.Span{To: span.Instant(c.Length)},
		Series: map[flightdata.Parameter]*flightdata.Series{}, Life: map[flightdata.Parameter]flightdata.Life{},
		Plan: c.plan(),
	}
	rec.Windows = span.Of(rec.Span)
	if c.Length <= 0 {
		return nil, fmt.Errorf("%s:%d: case %q has no length; write length: 150s", c.File, c.Line, c.Name)
	}
	// Wildcards first, so that a line for one engine has the last word.
	lines := slices.Clone(c.Series)
	slices.SortStableFunc(lines, func(a, b SeriesLine) int { return strings.Count(b.Name, "*") - strings.Count(a.Name, "*") })
	for _, line := range lines {
		found := false
		for i := range prof.Parameters {
			rule := &prof.Parameters[i]
			if ok, _ := path.Match(line.Name, string(rule.Parameter)); !ok {
				continue
			}
			found = true
			s, err := c.series(&line, rule)
			if err != nil {
				return nil, err
			}
			rec.Series[rule.Parameter], rec.Life[rule.Parameter] = s, flightdata.Observe(s)
		}
		if !found {
			return nil, fmt.Errorf("%s:%d: profile %s maps no parameter %q", c.File, line.Line, prof.Name, line.Name)
		}
	}
	return rec, c.doubt(rec)
}

// doubt masks what the case calls doubted, as the reading does: every sample
// that was good, with the reason kept beside.
func (c *Case) doubt(rec *flightdata.Recording) error {
	for _, line := range c.Doubted {
		name, why, _ := strings.Cut(line.Text, " ")
		s := rec.Series[flightdata.Parameter(name)]
		if s == nil {
			return fmt.Errorf("%s:%d: doubted: the case has no series %q", c.File, line.Number, name)
		}
		masks := make([]flightdata.Mask, len(s.Times))
		copy(masks, s.Masks)
		for i := range masks {
			if masks[i] == flightdata.Good {
				masks[i] = flightdata.Doubted
			}
		}
		s.Masks = masks
		if rec.Doubted == nil {
			rec.Doubted = map[flightdata.Parameter]string{}
		}
		rec.Doubted[s.Parameter] = strings.TrimSpace(why)
	}
	return nil
}

func (c *Case) series(line *SeriesLine, rule *profile.ParameterRule) (*flightdata.Series, error) {
	s := &flightdata.Series{
		Parameter: rule.Parameter, Kind: rule.Kind, Unit: rule.Canonical,
		Origin: flightdata.Origin{Names: rule.Columns, Unit: rule.Unit.Symbol},
	}
	if def, ok := flightdata.Define(s.Parameter); ok {
		s.Circular = def.Circular
	}
	numeric := line.numeric()
	if s.Kind == flightdata.Continuous {
		if !numeric {
			return nil, fmt.Errorf("%s:%d: %s takes numbers", c.File, line.Line, line.Name)
		}
		line.sample(s, span.Instant(c.Length), nil)
		return s, nil
	}
	for _, r := range rule.States {
		s.States = append(s.States, r.State)
	}
	for _, w := range line.words() {
		if !slices.Contains(s.States, w) {
			return nil, fmt.Errorf("%s:%d: %s has no state %q; known: %s", c.File, line.Line, line.Name, w, strings.Join(s.States, ", "))
		}
	}
	line.sample(s, span.Instant(c.Length), func(w string) int { return slices.Index(s.States, w) })
	return s, nil
}

// Alone builds the one series of that name without a profile: a continuous
// one when all values are numbers, else a discrete whose states are its words
// in order of appearance. Nil when the case has none.
func (c *Case) Alone(name string) *flightdata.Series {
	for _, line := range c.Series {
		if line.Name != name {
			continue
		}
		s := &flightdata.Series{Parameter: flightdata.Parameter(name)}
		if line.numeric() {
			line.sample(s, span.Instant(c.Length), nil)
			return s
		}
		s.Kind, s.States = flightdata.Discrete, line.words()
		line.sample(s, span.Instant(c.Length), func(w string) int { return slices.Index(s.States, w) })
		return s
	}
	return nil
}

func (c *Case) plan() *flightdata.Plan {
	if len(c.Plan) == 0 {
		return nil
	}
	at := func(name string) *float64 {
		if v, ok := c.Plan[name]; ok {
			return &v
		}
		return nil
	}
	return &flightdata.Plan{
		Line: c.Line, List: c.File, PlannedFlap: at("planned_flap"), V1: at("v1"), VR: at("vr"),
		Weight: at("weight"), CG: at("cg"), Trim: at("trim"), RunwayLengthM: at("runway"),
	}
}
