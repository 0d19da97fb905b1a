package ingest_test

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// TestTimesOnlyGoUp: whatever stands in the time column, a recording either is
// an error or has instants that rise, within its span and from zero on.
func TestTimesOnlyGoUp(t *testing.T) {
	forms := []string{
		"form: seconds", "form: seconds of day", "form: HH:MM:SS", "form: frame counter, step: 1 s, wraps_at: 60",
		"form: frame counter, step: 2 s, rows: 3", "form: HH:MM:SS, step: 1 s, rows: 4", "form: HH:MM:SS, date_column: DATE",
	}
	profiles := map[string]*profile.Profile{}
	for _, f := range forms {
		profiles[f] = parse(t, twin, timed(f)...)
	}
	file := filepath.Join(t.TempDir(), "r.csv")
	day := time.Date(2031, 5, 14, 0, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		form := rapid.SampledFrom(forms).Draw(t, "form")
		at := rapid.Int64Range(0, 200_000).Draw(t, "start")
		text := "TIME,DATE,GS_1,N1_1,N1_2,FLAP\n"
		for range rapid.IntRange(1, 80).Draw(t, "rows") {
			at += rapid.SampledFrom([]int64{1, 1, 1, 1, 1, 1, 1, 0, 2, -1, -2, 5, -5, -30, 70, -70, 90_000, -90_000}).Draw(t, "step")
			now := day.Add(time.Duration(at) * time.Second / 2)
			cell := strconv.FormatFloat(float64(at)/2, 'f', -1, 64)
			switch form[6:8] {
			case "HH":
				cell = now.Format("15:04:05.0")
			case "fr":
				cell = strconv.FormatInt(at%60, 10)
			}
			date := rapid.SampledFrom([]string{now.Format(time.DateOnly), now.Format(time.DateOnly), "", day.Format(time.DateOnly)}).Draw(t, "date")
			speed := rapid.SampledFrom([]string{"1", "1", "", "90"}).Draw(t, "speed")
			text += cell + "," + date + "," + speed + ",20,20," + strconv.FormatInt(at%7, 10) + "\n"
		}
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		r, _, err := ingest.Open(file, []*profile.Profile{profiles[form]}, ingest.Options{})
		if err != nil {
			return
		}
		for _, p := range []flightdata.Parameter{flightdata.FlapLever, flightdata.GroundSpeed, "n1.1"} {
			s := r.Get(p)
			for i, at := range s.Times {
				if at < 0 || at > r.Span.To || i > 0 && at <= s.Times[i-1] {
					t.Fatalf("%s: sample %d of %d at %d, span %v\n%s", p, i, s.Len(), at, r.Span, text)
				}
			}
			if len(s.Values) != s.Len() || s.Masks != nil && len(s.Masks) != s.Len() {
				t.Fatalf("%s: %d times, %d values, %d masks", p, s.Len(), len(s.Values), len(s.Masks))
			}
		}
	})
}
