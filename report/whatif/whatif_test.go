package whatif_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollonset/report/archive"
	"rollonset/report/whatif"
)

// flown is the value of one check over the judged time of an attempt, and
// the limits that applied: what the archive does not keep.
type flown struct {
	values    []float64
	low, high float64
}

// margin is the distance to the nearest limit.
func (f flown) margin(v float64) float64 { return math.Min(v-f.low, f.high-v) }

// outside says whether any value lies out of the limits.
func (f flown) outside(low, high float64) bool {
	for _, v := range f.values {
		if v < low || v > high {
			return true
		}
	}
	return false
}

// summary stores what the archive keeps of it.
func (f flown) summary(n int, state string) archive.Summary {
	key := fmt.Sprintf("%064d", n)
	value, margin, worst := f.values[0], f.margin(f.values[0]), math.Inf(1)
	for _, v := range f.values {
		worst = math.Min(worst, f.margin(v))
	}
	finding := archive.FindingSummary{Check: "lever", State: state, Unit: "deg", Value: &value, Margin: &margin, WorstMargin: &worst, Life: true, Severity: "low"}
	if !math.IsInf(f.low, 0) {
		finding.LimitLow = &f.low
	}
	if !math.IsInf(f.high, 0) {
		finding.LimitHigh = &f.high
	}
	return archive.Summary{
		Key: key, Recording: archive.RecordingInfo{SHA256: key}, Flight: archive.Flight{Folder: fmt.Sprintf("flights/2031/0%d/01/%06d", 1+n%2, n), Date: fmt.Sprintf("2031-0%d-01", 1+n%2), Type: "QX40"},
		Profile:  archive.ProfileInfo{Name: "QX40", SHA256: strings.Repeat("7", 64)},
		Attempts: []archive.AttemptSummary{{Number: 1, ID: archive.AttemptID(key, 1), Outcome: "airborne", Findings: []archive.FindingSummary{finding}}},
	}
}

// archived makes an archive of attempts whose profile has the check, without
// persistence, so that one value out of limits is an event.
func archived(t interface{ Fatal(...any) }, dir string, all []flown) *archive.Archive {
	a, err := archive.Create(dir)
	if err != nil {
		t.Fatal(err)
	}
	var odd, even []archive.Summary
	for n, f := range all {
		state := "within limits"
		if f.outside(f.low, f.high) {
			state = "out of limits"
		}
		if s := f.summary(n, state); n%2 == 0 {
			even = append(even, s)
		} else {
			odd = append(odd, s)
		}
	}
	_, err = a.WriteTables("r", func(yield func(archive.Summary, error) bool) {
		for _, s := range append(even, odd...) { // by folder: January, then February
			if !yield(s, nil) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func counted(t interface{ Fatal(...any) }, a *archive.Archive, sets ...string) []whatif.Result {
	var changes []whatif.Change
	for _, s := range sets {
		c, err := whatif.ParseChange(s)
		if err != nil {
			t.Fatal(err)
		}
		changes = append(changes, c)
	}
	v, err := a.View()
	if err != nil {
		t.Fatal(err)
	}
	out, err := whatif.Count(a, v, "", changes)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestCountHoldsTheTruth: whatever was flown, the true count under a changed
// margin lies between least and most.
func TestCountHoldsTheTruth(t *testing.T) {
	dir, n := t.TempDir(), 0
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Float64Range(-3, 13)
		all := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) flown {
			f := flown{values: rapid.SliceOfN(value, 1, 4).Draw(t, "values"), low: 0, high: 10}
			if rapid.Bool().Draw(t, "open below") {
				f.low = math.Inf(-1)
			}
			return f
		}), 1, 8).Draw(t, "attempts")
		set := rapid.Float64Range(-2, 2).Draw(t, "margin")
		n++
		r := counted(t, archived(t, fmt.Sprintf("%s/%d", dir, n), all), fmt.Sprintf("lever.margin=%g", set))[0]
		truth := 0
		for _, f := range all {
			if f.outside(f.low+set, f.high-set) {
				truth++
			}
		}
		if truth < r.Total.Least || truth > r.Total.Most || r.Total.Told != len(all) {
			t.Fatalf("truth %d, counted %d to %d of %d", truth, r.Total.Least, r.Total.Most, r.Total.Told)
		}
		months := 0
		for _, m := range r.Months {
			months += m.Most
		}
		if months != r.Total.Most {
			t.Fatalf("months add up to %d, total %d", months, r.Total.Most)
		}
	})
}

// TestUnchangedLimitsGiveTheEventsThatAre: 0 is no change.
func TestUnchangedLimitsGiveTheEventsThatAre(t *testing.T) {
	a := archived(t, t.TempDir()+"/a", []flown{{[]float64{5}, 0, 10}, {[]float64{11}, 0, 10}, {[]float64{5, 12, 5}, 0, 10}})
	want := whatif.Month{Told: 3, Now: 2, Least: 2, Most: 2}
	if diff := cmp.Diff(want, counted(t, a, "lever.margin=0")[0].Total); diff != "" {
		t.Error(diff)
	}
}

func TestWhatCannotBeAnswered(t *testing.T) {
	a := archived(t, t.TempDir()+"/a", []flown{{[]float64{5}, 0, 10}})
	v, err := a.View()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		changes []whatif.Change
		want    string
	}{
		{[]whatif.Change{{"lever", whatif.Min, 1}}, "does not hold the profile"},
		{[]whatif.Change{{"brake", whatif.Margin, 1}}, `no finding is of a check "brake"; there are: lever`},
		{[]whatif.Change{{"lever", whatif.Margin, 1}, {"lever", whatif.Margin, 2}}, "set twice"},
		{[]whatif.Change{{"lever", whatif.Margin, 1}, {"lever", whatif.Max, 2}}, "not both"},
		{[]whatif.Change{{"lever", whatif.Min, 3}, {"lever", whatif.Max, 2}}, "lies above"},
	} {
		if _, err := whatif.Count(a, v, "", c.changes); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: error %v, want %q", c.changes, err, c.want)
		}
	}
	for typ, want := range map[string]string{"QX4O": `no finding is of type "QX4O"`, "moon": "there are: "} {
		if _, err := whatif.Count(a, v, typ, []whatif.Change{{"lever", whatif.Margin, 1}}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("type %q: error %v, want %q", typ, err, want)
		}
	}
	if _, err := whatif.ParseChange("trim.maxx=3"); err == nil || !strings.Contains(err.Error(), `did you mean "max"?`) {
		t.Errorf("an edge misspelt: %v", err)
	}
	for _, text := range []string{"", "trim", "trim=3", ".max=3", "trim.middle=3", "trim.max=3 deg", "trim.max=", "trim.max=NaN"} {
		if _, err := whatif.ParseChange(text); err == nil {
			t.Errorf("%q is read without error", text)
		}
	}
	c, err := whatif.ParseChange("speed.brake lever.max = 2.5")
	if err != nil || c != (whatif.Change{Check: "speed.brake lever", Edge: whatif.Max, Value: 2.5}) {
		t.Errorf("change %+v, error %v", c, err)
	}
}
