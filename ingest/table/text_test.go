package table_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"rollonset/ingest/table"
)

// one reads a single cell.
func one(t *testing.T, cell string, as table.As) *table.ColumnData {
	t.Helper()
	d, err := read(t, write(t, "r.csv", "a,b\n"+cell+",\n"), table.Options{}, as)
	if err != nil {
		t.Fatal(err)
	}
	return &d.Columns[0]
}

// Texts of RFC 3339 section 5.8 with their Unix times, and the corners around
// them (check-values 11.3).
func TestTimestampText(t *testing.T) {
	for text, want := range map[string]int64{
		"1985-04-12T23:20:50.52Z":         482196050_520000000,
		"1996-12-19T16:39:57-08:00":       851042397_000000000,
		"1990-12-31T23:59:60Z":            662688000_000000000,
		"1990-12-31T15:59:60-08:00":       662688000_000000000,
		"1937-01-01T12:00:27.87+00:20":    -1041337172_130000000, // = -1041337173 + 0.87
		"1985-04-12t23:20:50z":            482196050_000000000,
		"1985-04-12 23:20:50Z":            482196050_000000000,
		"1985-04-12T23:20:50-00:00":       482196050_000000000,
		"1985-04-12T23:20:50.123456789Z":  482196050_123456789,
		"1985-04-12T23:20:50.1234567895Z": 482196050_123456790,
		"2024-02-29T00:00:00Z":            time.Date(2024, 2, 29, 0, 0, 0, 0, time.UTC).UnixNano(),
		"2026-01-01T00:00:00+14:00":       time.Date(2025, 12, 31, 10, 0, 0, 0, time.UTC).UnixNano(),
	} {
		if c := one(t, text, table.Timestamp); len(c.Clock) != 1 || c.Clock[0] != want {
			t.Errorf("%s is %v, want %d", text, c.Clock, want)
		}
	}
	for _, text := range []string{
		"2026-02-29T00:00:00Z", "1900-02-29T00:00:00Z", "2026-06-31T00:00:00Z", "2026-01-01T24:00:00Z",
		"2026-01-01T00:00:00+24:00", "2026-01-01T0:00:00Z", "20260101T000000Z", "2026-01-01T00:00:00", "2026-01-01T00:00Z",
		"2026-01-15T23:59:60Z", "2026-12-31T23:58:60Z", "2026-01-01T00:00:61Z", "0000-01-01T00:00:00Z", "9999-01-01T00:00:00Z",
		"2026-01-01T00:00:00.Z", "2026-W01-1", "2026-00-01T00:00:00Z", "2026-01-01T00:60:00Z", "12.5",
	} {
		if c := one(t, text, table.Timestamp); c.Bad != 1 || len(c.Clock) != 0 {
			t.Errorf("%s is read as %v", text, c.Clock)
		}
	}
	// Days against the standard library, across two leap centuries.
	for day := -10000; day < 20000; day += 73 {
		at := time.Unix(int64(day)*86400+3661, 0).UTC()
		if c := one(t, at.Format(time.RFC3339), table.Timestamp); len(c.Clock) != 1 || c.Clock[0] != at.UnixNano() {
			t.Fatalf("%s is %v, want %d", at, c.Clock, at.UnixNano())
		}
	}
}

// What strconv.ParseFloat takes and rejects (check-values 11.2), and the bits
// of the values of check-values 11.4.
func TestNumberText(t *testing.T) {
	for text, bits := range map[string]uint64{
		"5.": math.Float64bits(5), ".5": math.Float64bits(0.5), "+1": 0x3ff0000000000000,
		"0": 0, "-0": 0x8000000000000000, "-0.0": 0x8000000000000000, "0.1": 0x3fb999999999999a,
		"0.333333333333333333333": 0x3fd5555555555555, "1.7976931348623157e308": 0x7fefffffffffffff,
		"4.9e-324": 1, "2.4e-324": 0, "1e-400": 0, "2.2250738585072014e-308": 0x0010000000000000,
		"9007199254740992": 0x4340000000000000, "9007199254740993": 0x4340000000000000,
		"1.0000000000000002": 0x3ff0000000000001, "12345678": math.Float64bits(12345678), "-1234.567": math.Float64bits(-1234.567),
	} {
		if c := one(t, text, table.Number); len(c.Numbers) != 1 || math.Float64bits(c.Numbers[0]) != bits {
			t.Errorf("%s is %v, want %v", text, c.Numbers, math.Float64frombits(bits))
		}
	}
	for _, text := range []string{
		"1_000", "0x1p-2", "0x10", "Inf", "infinity", "-inf", "-nan", "--", "N/A", "null", "1d3", "1.0f", "1e400", "1e", "e5", ".", "-", "1.2.3", "1-2", "٣", "1 2",
	} {
		if c := one(t, text, table.Number); c.Bad != 1 || len(c.Numbers) != 1 || !math.IsNaN(c.Numbers[0]) {
			t.Errorf("%s is read as %v", text, c.Numbers)
		}
	}
	for text, want := range map[string]string{"9223372036.854775807": "[9223372036854775807]", "-1e-9": "[-1]", "1e-10": "[0]", "9223372036.854775808": "[]", "1e999999999999": "[]", "0e999999999999": "[0]"} {
		if c := one(t, text, table.Seconds); fmt.Sprint(c.Clock) != want {
			t.Errorf("%s s is %v ns, want %s", text, c.Clock, want)
		}
	}
}
