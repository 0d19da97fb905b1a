package evidence

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"rollonset/report/archive"
)

// attacker has the shared tables and what anybody can have: the timetable of
// the month with the aerodrome of each flight, the lengths of the runways, and
// how often each aircraft was seen.
type attacker struct {
	attempts, findings, recordings []map[string]any
	runways                        map[float64]map[string]bool // length to 100 m: aerodrome and runway
	seen                           map[string]int              // flights by tail
}

func attackerOn(t *testing.T, to *archive.Archive) attacker {
	t.Helper()
	at := attacker{runways: map[float64]map[string]bool{}, seen: map[string]int{}}
	for table, rows := range map[string]*[]map[string]any{archive.AttemptsTable: &at.attempts, archive.FindingsTable: &at.findings, archive.RecordingsTable: &at.recordings} {
		all, err := parquet.ReadFile[any](to.Path(archive.TablePath(table, SharedRun)))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range all {
			*rows = append(*rows, r.(map[string]any))
		}
	}
	f, err := os.Open("../../sampledata/night/flights.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := func(name string) int { return slices.Index(lines[0], name) }
	for _, l := range lines[1:] {
		at.seen[l[column("tail")]]++
		length, err := strconv.ParseFloat(l[column("runway_length_m")], 64)
		if err != nil {
			continue
		}
		length = nearest(length, 100)
		if at.runways[length] == nil {
			at.runways[length] = map[string]bool{}
		}
		at.runways[length][l[column("aerodrome")]+" "+l[column("runway")]] = true
	}
	return at
}

// byRunway counts the attempts whose runway he can name: two columns of metres
// add up to the length of it.
func (at attacker) byRunway() (linked int) {
	for _, r := range at.attempts {
		stop, ok1 := r["distance_to_stop_m"].(float64)
		left, ok2 := r["runway_left_m"].(float64)
		if ok1 && ok2 && len(at.runways[nearest(stop+left, 100)]) > 0 {
			linked++
		}
	}
	return linked
}

// byWeight counts the attempts of which he can compute the edge of a band that
// follows from the weight: some row tells where the parameter stood, by value,
// by the margin to a fixed limit, or in words, or names the edge.
func (at attacker) byWeight() (linked int) {
	banded := map[any]bool{} // parameter with a check whose limits are left out and whose margin is told
	for _, r := range at.findings {
		if r["limit"] == "" && r["margin"] != nil {
			banded[r["parameter"]] = true
		}
	}
	ids := map[any]bool{}
	for _, r := range at.findings {
		if !banded[r["parameter"]] {
			continue
		}
		fixed := r["limit"] != ""
		words := word(r, "reason") + word(r, "life_why") + word(r, "text")
		if r["value"] != nil || fixed && (r["margin"] != nil || r["worst_margin"] != nil) || strings.ContainsAny(words, "0123456789") {
			ids[r["attempt_id"]] = true
		}
	}
	return len(ids)
}

func word(r map[string]any, column string) string { s, _ := r[column].(string); return s }

// byTail counts the recordings whose aircraft he can name: its pseudonym occurs
// as often as one aircraft flew and no other.
func (at attacker) byTail() (linked int) {
	shared, like := map[string]int{}, map[int]int{}
	for _, r := range at.recordings {
		if tail := word(r, "tail"); tail != "" && tail != Other {
			shared[tail]++
		}
	}
	for _, n := range at.seen {
		like[n]++
	}
	for _, n := range shared {
		if like[n] == 1 {
			linked += n
		}
	}
	return linked
}

// TestReidentify: nothing can be linked by runway, weight or aircraft, nor by
// the order of the rows. What giving places and tails costs is logged, and is
// what the note beside the tables warns of.
func TestReidentify(t *testing.T) {
	c := nightCover(t, 5)
	c.NoTails = true
	closed := attackerOn(t, share(t, c))
	if r, w, tail := closed.byRunway(), closed.byWeight(), closed.byTail(); r+w+tail > 0 {
		t.Errorf("linked by runway %d, by weight %d, by tail %d attempts", r, w, tail)
	}
	bands := 0
	for _, r := range closed.findings {
		if r["check"] == "trim" && r["margin"] != nil {
			bands++
		}
	}
	if bands < 20 {
		t.Errorf("only %d margins of trim are left; they were to stay", bands)
	}
	c.NoTails, c.Places = false, true
	open := attackerOn(t, share(t, c))
	t.Logf("of %d attempts on %d recordings: with places %d linked by runway, with tails %d recordings", len(open.attempts), len(open.recordings), open.byRunway(), open.byTail())
	if open.byRunway() == 0 {
		t.Error("the attack by runway finds nothing where there is something")
	}
	for _, rows := range [][]map[string]any{closed.attempts, closed.recordings} {
		if !slices.IsSortedFunc(rows, func(a, b map[string]any) int { return strings.Compare(word(a, "file"), word(b, "file")) }) {
			t.Error("the order of the rows is not that of the pseudonyms, and may be that of the flights")
		}
	}
	for _, r := range closed.recordings {
		for _, size := range []string{"bytes", "rows", "columns"} {
			if v, ok := r[size].(int64); ok && v != 0 {
				t.Errorf("%s is told: %d", size, v)
			}
		}
	}
	for _, r := range closed.attempts {
		for _, v := range r {
			if f, ok := v.(float64); ok && (math.Abs(f) > 1e5) {
				t.Errorf("a figure of %g may be a weight or a time of the clock", f)
			}
		}
	}
}
