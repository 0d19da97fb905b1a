package evidence

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"rollonset/report/archive"
)

// compare lists what differs between two values of summary.json, entry by
// entry in the names of the file: "attempts[1].findings[trim].margin is 0.2,
// not 0.3". Lists are compared in order; a member that has a name of its own is
// called by it.
func compare(was, is any) ([]string, error) {
	a, err := generic(was)
	if err != nil {
		return nil, err
	}
	b, err := generic(is)
	if err != nil {
		return nil, err
	}
	return compareValues("", a, b), nil
}

// generic is a value as its JSON says it, numbers as they are written.
func generic(v any) (any, error) {
	text, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("compare: %w", err)
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	var out any
	if err := dec.Decode(&out); err != nil {
		return nil, fmt.Errorf("compare: %w", err)
	}
	return out, nil
}

func compareValues(at string, was, is any) []string {
	switch w := was.(type) {
	case map[string]any:
		if i, ok := is.(map[string]any); ok {
			return compareObjects(at, w, i)
		}
	case []any:
		if i, ok := is.([]any); ok {
			return compareLists(at, w, i)
		}
	default:
		if was == is {
			return nil
		}
	}
	return []string{fmt.Sprintf("%s is %s, not %s", at, brief(is), brief(was))}
}

func compareObjects(at string, was, is map[string]any) []string {
	var out []string
	if at != "" {
		at += "."
	}
	names := map[string]bool{}
	for name := range was {
		names[name] = true
	}
	for name := range is {
		names[name] = true
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		w, inWas := was[name]
		i, inIs := is[name]
		switch {
		case !inIs:
			out = append(out, fmt.Sprintf("%s%s is missing, it was %s", at, name, brief(w)))
		case !inWas:
			out = append(out, fmt.Sprintf("%s%s is %s, it was not there", at, name, brief(i)))
		default:
			out = append(out, compareValues(at+name, w, i)...)
		}
	}
	return out
}

func compareLists(at string, was, is []any) []string {
	var out []string
	if len(was) != len(is) {
		out = append(out, fmt.Sprintf("%s has %d members, not %d", at, len(is), len(was)))
	}
	for i := range min(len(was), len(is)) {
		out = append(out, compareValues(fmt.Sprintf("%s[%s]", at, nameIn(was[i], i)), was[i], is[i])...)
	}
	return out
}

// nameIn is what a member of a list is called: by the entry that names it, or
// by its number from 1.
func nameIn(v any, i int) string {
	if object, ok := v.(map[string]any); ok {
		for _, key := range []string{"check", "parameter"} {
			if name, ok := object[key].(string); ok && name != "" {
				return name
			}
		}
	}
	return fmt.Sprint(i + 1)
}

// longestBrief cuts a value in a message.
const longestBrief = 120

func brief(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	if len(text) > longestBrief {
		return string(text[:longestBrief]) + "…"
	}
	return string(text)
}

// compareSummaries compares the summary of a flight with one that was derived
// again, apart from the hash of the clip, which is no finding.
func compareSummaries(was, is archive.Summary) ([]string, error) {
	is.Clip = was.Clip
	return compare(was, is)
}
