package ingest_test

import (
	"slices"
	"strings"
	"testing"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// assumed are the shapes whose draft cannot be right without a person, each with
// what the draft must ask for.
var assumed = map[string]string{
	"quoted decimal commas between commas": "no column rises from row to row: name the one that holds the time",
	"a unit of the profile":                "the unit kt is guessed",
	"a second source for a dead first":     `"GS_2" may be ground_speed`,
	"frames of one row":                    "1 s is ASSUMED",
}

// TestDraftsOfShapes inspects the one flight in every shape that a recording
// comes in. The draft has to be a profile, and has to read the file to the very
// samples of the plain one, at their very times, whatever the layout and clock;
// where it cannot know, it has to ask.
func TestDraftsOfShapes(t *testing.T) {
	plain, _ := assessed(t, shape{name: "plain", write: inCSV(nil)})
	for _, sh := range slices.Concat(dialectShapes(), clockShapes(), rateShapes(), containerShapes(), longShapes()) {
		t.Run(sh.name, func(t *testing.T) {
			path := written(t, sh)
			ins, err := ingest.Inspect(path, nil, ingest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			text := string(ins.Draft())
			prof, err := profile.Parse("draft.yaml", []byte(text))
			if err != nil {
				t.Fatalf("the draft is no profile: %v\n%s", err, text)
			}
			if ask := assumed[sh.name]; ask != "" {
				if !strings.Contains(text, ask) {
					t.Errorf("the draft does not ask %q:\n%s", ask, text)
				}
				return
			}
			rec, _, err := ingest.Open(path, []*profile.Profile{prof}, ingest.Options{})
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			for _, p := range []flightdata.Parameter{"ground_speed", "n1.1", "n1.2"} {
				if got := rec.Get(p); got == nil {
					t.Errorf("%s is not read\n%s", p, text)
				} else {
					sameSamples(t, plain.Recording.Get(p), got)
				}
			}
		})
	}
}

// written is the file of a shape.
func written(t *testing.T, sh shape) string {
	t.Helper()
	s, times := shapeFlight()
	if sh.change != nil {
		sh.change(s, times)
	}
	return put(t, "ZZ-A01", sh.write(t, s))
}
