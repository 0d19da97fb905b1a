package ingest_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollonset/ingest"
	"rollonset/ingest/profile"
)

// TestDraftsAreProfiles: whatever a file calls its columns and writes in its
// cells, its draft is a profile without a mistake as long as there is a clock, a
// speed and thrust.
func TestDraftsAreProfiles(t *testing.T) {
	dir := t.TempDir()
	name := rapid.OneOf(
		rapid.StringMatching(`[A-Za-z0-9_ %#*:'{}\[\]&!|>@.-]{1,12}`),
		rapid.SampledFrom([]string{"FLAP_LEVER", "FLAP_L", "FLAP_R", "SLAT", "TRIM", "PARK_BRK", "SPDBRK", "RALT", "AIR_GND", "DATE", "N1_1a", "N1_1b", "N1_1c", "N1_1d", "GS_1", "GS_2", "TOW", "GW", "CG", "BRK_PRESS", "RUDDER_TRIM", "ÄÖÜ", "a\u00a0b", "NAME", "VALUE"}),
	)
	cell := rapid.OneOf(
		rapid.SampledFrom([]string{"0", "1", "10", "", "***", "-9999", "ON", "OFF", "SET", "REL", "NaN", "1e300", "-1", "\"a,b\"", "#", "null", "yes", "007"}),
		rapid.StringMatching(`-?[0-9]{1,4}(\.[0-9]{1,3})?`),
	)
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfNDistinct(name, 0, 8, strings.TrimSpace).Draw(t, "names")
		rows := rapid.IntRange(2, 12).Draw(t, "rows")
		var b strings.Builder
		b.WriteString("TIME (s),GSPD (kt),ENG1_N1 (%)")
		for _, n := range names {
			fmt.Fprintf(&b, ",\"%s\"", n)
		}
		for r := range rows {
			fmt.Fprintf(&b, "\n%d,%d,%d", r, 10*r, 20+5*r)
			for range names {
				b.WriteString("," + cell.Draw(t, "cell"))
			}
		}
		path := filepath.Join(dir, "r.csv")
		if err := os.WriteFile(path, []byte(b.String()+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		ins, err := ingest.Inspect(path, nil, ingest.Options{})
		if err != nil {
			t.Skip("no recording:", err)
		}
		text := ins.Draft()
		if _, err := profile.Parse("draft.yaml", text); err != nil {
			t.Fatalf("the draft has a mistake:\n%v\n%s\nof\n%s", err, text, b.String())
		}
	})
}
