package evidence

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
)

// Every difference is named by its way through summary.json, in its order.
func TestCompare(t *testing.T) {
	margin, other := 0.2, 0.3
	base := func() archive.Summary {
		return archive.Summary{
			Key: "k", Notes: []string{"a", "b"}, Clip: &archive.FileHash{File: "clip.parquet"},
			Attempts: []archive.AttemptSummary{{
				Number: 1, Onset: &archive.Moment{At: 10, Earliest: 9, Latest: 11},
				Findings: []archive.FindingSummary{{Check: "trim", State: "within limits", Margin: &margin}},
			}},
			Sensors: []archive.Sensor{{Parameter: "pitch", Masked: map[string]int{"spike": 2}}},
		}
	}
	for name, c := range map[string]struct {
		spoil func(*archive.Summary)
		want  []string
	}{
		"nothing":             {func(*archive.Summary) {}, nil},
		"the clip":            {func(s *archive.Summary) { s.Clip = nil }, nil},
		"a number":            {func(s *archive.Summary) { s.Attempts[0].Findings[0].Margin = &other }, []string{"attempts[1].findings[trim].margin is 0.3, not 0.2"}},
		"a number gone":       {func(s *archive.Summary) { s.Attempts[0].Findings[0].Margin = nil }, []string{"attempts[1].findings[trim].margin is null, not 0.2"}},
		"a nanosecond":        {func(s *archive.Summary) { s.Attempts[0].Onset.At = 10.000000001 }, []string{"attempts[1].onset.at_s is 10.000000001, not 10"}},
		"an instant gone":     {func(s *archive.Summary) { s.Attempts[0].Onset = nil }, []string{`attempts[1].onset is null, not {"at_s":10,"earliest_s":9,"latest_s":11,"utc":""}`}},
		"a note too many":     {func(s *archive.Summary) { s.Notes = append(s.Notes, "c") }, []string{"notes has 3 members, not 2"}},
		"another note":        {func(s *archive.Summary) { s.Notes[1] = "c" }, []string{`notes[2] is "c", not "b"`}},
		"a mask gone":         {func(s *archive.Summary) { s.Sensors[0].Masked = map[string]int{} }, []string{"sensors[pitch].masked.spike is missing, it was 2"}},
		"a mask that was not": {func(s *archive.Summary) { s.Sensors[0].Masked["range"] = 1 }, []string{"sensors[pitch].masked.range is 1, it was not there"}},
		"two things": {
			func(s *archive.Summary) { s.Key, s.Attempts[0].Number = "l", 2 },
			[]string{"attempts[1].number is 2, not 1", `key is "l", not "k"`},
		},
	} {
		is := base()
		c.spoil(&is)
		got, err := compareSummaries(base(), is)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}
