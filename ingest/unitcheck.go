package ingest

import (
	"fmt"
	"slices"
	"strings"

	"rollonset/ingest/profile"
	"rollonset/ingest/table"
	"rollonset/ingest/unit"
)

// unitless are what exporters write into a row of units where there is none.
var unitless = []string{"none", "n/a", "-", "utc", "gmt", "discrete", "bool", "boolean", "enum", "text", "state", "hh:mm:ss", "hh:mm:ss.fff", "yyyy-mm-dd", "counts"}

// isUnit says whether a cell of a row of units can be one.
func isUnit(s string) bool {
	if strings.TrimSpace(s) == "" || s == "1" {
		return false
	}
	_, err := unit.Parse(s)
	return err == nil || slices.Contains(unitless, strings.ToLower(s))
}

// unitOf is the unit in which a column is recorded. What the file says itself
// goes before the profile, because an exporter can be set to other units
// without anyone telling; that it does is noted. A unit of another kind means
// that something else is recorded there, which is an error.
func (b *builder) unitOf(rule *profile.ParameterRule, column, said string) (unit.Unit, error) {
	said = strings.TrimSpace(said)
	if said == "" || slices.Contains(unitless, strings.ToLower(said)) || rule.Bits.Set || len(rule.States) > 0 {
		return rule.Unit, nil
	}
	u, err := unit.Parse(said)
	switch {
	case err != nil:
		b.note(column, "the file says the unit is %q, which is not known: taken as %s, as the profile says", said, named(rule.Unit))
		return rule.Unit, nil
	case u == rule.Unit:
		return u, nil
	case u.Dim() == rule.Unit.Dim():
		b.note(column, "the file says the unit is %s, the profile %s: the file is believed", named(u), named(rule.Unit))
		return u, nil
	}
	return u, &Error{
		File: b.path, Place: "column " + column,
		Cause:  fmt.Sprintf("the file says the unit is %s (%s), the profile says %s (%s)", named(u), u.Dim(), named(rule.Unit), rule.Unit.Dim()),
		Remedy: fmt.Sprintf("map %s to another column or correct its unit, at line %d of %s", rule.Parameter, rule.Line, b.prof.Path),
	}
}

func named(u unit.Unit) string {
	if u.Symbol == "" {
		return "none"
	}
	return u.Symbol
}

// tableOptions is how a file is opened before its profile is known: any of the
// time columns tells the header.
func tableOptions(profiles []*profile.Profile, opt Options) table.Options {
	o := table.Options{Limits: opt.Limits, IsUnit: isUnit}
	for _, p := range profiles {
		o.Names = append(o.Names, p.Time.Columns...)
	}
	return o
}

// profileOptions is the same with what the profile says, and whether that
// makes a difference.
func profileOptions(p *profile.Profile, opt Options) (o table.Options, differs bool) {
	o = tableOptions([]*profile.Profile{p}, opt)
	o.NoSample, o.Delimiter, o.Decimal = p.NoSample, p.CSV.Delimiter, p.CSV.Decimal
	return o, len(p.NoSample) > 0 || p.CSV != profile.CSVRule{}
}

// stillFits checks that a file has the names of the profile as well when its
// cells are taken apart as the profile says.
func stillFits(path string, f *table.File, p *profile.Profile) error {
	names := map[string]bool{}
	for _, c := range f.Columns() {
		names[c.Name] = true
	}
	if lacks := fitOf(p, names).lacks; lacks != "" {
		return &Error{
			File: path, Cause: fmt.Sprintf("with the delimiter that profile %s names under csv, %s", p.Name, lacks),
			Remedy: fmt.Sprintf("correct the delimiter in %s or leave it out", p.Path),
		}
	}
	return nil
}
