package profile

import (
	"fmt"
	"math"
	"strings"
)

// times says where the times are and how they are read.
func (e *explainer) times() {
	t := e.p.Time
	forms := map[TimeForm]string{
		TimeSeconds:      "as a number of seconds from any origin",
		TimeMilliseconds: "as a number of milliseconds from any origin",
		TimeSecondsOfDay: "as seconds since midnight, where they start again",
		TimeClock:        "as time of day (HH:MM:SS), which starts again at midnight",
		TimeRFC3339:      "as date and time of day with offset (RFC 3339)",
		TimeISO8601:      "as date and time of day (ISO 8601), in UTC where no offset is written",
		TimeFrames:       fmt.Sprintf("as the count of frames of %s each", lasting(t.Step)),
	}
	s := fmt.Sprintf("The times are in the column %s, %s", preferred(t.Columns), forms[t.Form])
	if t.WrapsAt > 0 {
		s += fmt.Sprintf("; after %d it counts from 0", t.WrapsAt-1)
	}
	if t.Rows > 1 {
		s += fmt.Sprintf("; %d rows share one written time and lie evenly in its %s", t.Rows, lasting(t.Step))
	}
	if t.DateColumn != "" {
		s += fmt.Sprintf("; the date is in the column %s and may come some rows late", t.DateColumn)
	}
	e.para("  - ", s+".")
}

// layout says what is known of the file's shape.
func (e *explainer) layout() {
	if l := e.p.Long; l != nil {
		s := fmt.Sprintf("Each row is one sample: the recorded name in the column %s, the value in %s", l.Parameter, l.Value)
		if l.Unit != "" {
			s += fmt.Sprintf(", the unit in %s", l.Unit)
		}
		e.para("  - ", s+".")
	}
	var known []string
	if c := e.p.CSV; c.Delimiter != 0 {
		known = append(known, "cells separated by "+map[byte]string{',': "commas", ';': "semicolons", '\t': "tabs"}[c.Delimiter])
	}
	if c := e.p.CSV; c.Decimal != 0 {
		known = append(known, "a decimal "+map[byte]string{'.': "point", ',': "comma"}[c.Decimal])
	}
	if len(known) > 0 {
		e.para("  - ", "CSV text has "+listed(known, "and")+".")
	}
}

// identity says where the flight is named.
func (e *explainer) identity() {
	var parts []string
	for _, part := range e.p.Identity.parts() {
		if len(*part.names) > 0 {
			parts = append(parts, fmt.Sprintf("%s from %s", part.key, preferred(*part.names)))
		}
	}
	if len(parts) > 0 {
		e.para("  - ", "The metadata or columns of the file name the flight: "+strings.Join(parts, "; ")+".")
	}
}

// sources are the recorded names of a parameter: alternatives, or the samples
// of one row.
func sources(rule *ParameterRule) string {
	if rule.InRow {
		return listed(rule.Columns, "and") + ", the samples of one row in the order of time,"
	}
	return preferred(rule.Columns)
}

// ofWord says which part of a word is meant; "" for the whole cell.
func ofWord(rule *ParameterRule) string {
	if !rule.Bits.Set {
		return ""
	}
	return fmt.Sprintf(", %s of the word", rule.Bits)
}

// lying says how the samples lie in the columns.
func lying(rule *ParameterRule) string {
	var s strings.Builder
	if rule.Filled {
		s.WriteString("; the exporter repeats each sample until the next")
	}
	if !math.IsNaN(rule.AgreeWithin) {
		fmt.Fprintf(&s, "; noted where the sources are more than %s apart", amount(rule.AgreeWithin, rule.Canonical))
	}
	return s.String()
}
