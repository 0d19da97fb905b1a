package truth_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
	"rollonset/sampledata/truth"
)

// The words are written twice so that the truth need not import a detector.
func TestWordsAreThoseOfTheDetector(t *testing.T) {
	ours := []string{truth.Airborne, truth.Rejected, truth.RejectedNoRoll, truth.TouchAndGo, truth.Undetermined}
	for _, o := range takeoff.Outcomes() {
		if !slices.Contains(ours, string(o)) {
			t.Errorf("outcome %q has no word in the truth", o)
		}
	}
	if len(ours) != len(takeoff.Outcomes()) {
		t.Errorf("%d words for %d outcomes", len(ours), len(takeoff.Outcomes()))
	}
	for ours, theirs := range map[string]configuration.Verdict{
		truth.WarnBoth: configuration.WarnBoth, truth.WarnNeither: configuration.WarnNeither,
		truth.WarnCondition: configuration.WarnCondition, truth.WarnOnly: configuration.WarnOnly,
		truth.WarnUnknown: configuration.WarnUnknown,
	} {
		if ours != string(theirs) {
			t.Errorf("verdict %q is %q in the detector", ours, theirs)
		}
	}
}

// What is written is read back, whatever it holds.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(rapid.Custom(draw), 0, 5).Draw(t, "rows")
		var b bytes.Buffer
		if err := truth.Write(&b, want); err != nil {
			t.Fatal(err)
		}
		got, err := truth.Read(&b, "truth.csv")
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateEmpty()); d != "" {
			t.Fatal(d)
		}
	})
}

func draw(t *rapid.T) truth.Attempt {
	second := rapid.Custom(func(t *rapid.T) float64 {
		if rapid.Bool().Draw(t, "none") {
			return math.NaN()
		}
		return float64(rapid.IntRange(0, 64*3600).Draw(t, "steps")) / 64
	})
	word := rapid.StringMatching(`[a-z]([a-z ,"-]{0,10}[a-z])?`)
	words := rapid.SliceOfN(word, 0, 3)
	a := truth.Attempt{
		File: word.Draw(t, "file"), Number: rapid.IntRange(0, 9).Draw(t, "n"),
		Outcome: word.Draw(t, "outcome"), Rolling: rapid.Bool().Draw(t, "rolling"),
		Out: words.Draw(t, "out"), Untold: words.Draw(t, "untold"), Notes: word.Draw(t, "notes"),
	}
	for _, f := range []*float64{
		&a.ThrustAdvance, &a.Onset, &a.RollStart, &a.Rotation, &a.LiftOff, &a.ThrustCut,
		&a.FirstAction, &a.Peak, &a.Stop,
	} {
		*f = second.Draw(t, "time")
	}
	a.PeakGroundSpeed, a.GroundSpeedAtCut, a.DistanceToCut, a.DistanceToStop = math.NaN(), 100.5, 0, math.NaN()
	for range rapid.IntRange(0, 2).Draw(t, "look-alikes") {
		from := float64(rapid.IntRange(0, 8000).Draw(t, "from")) / 8
		a.LookAlikes = append(a.LookAlikes, truth.LookAlike{Kind: truth.RunUp, From: from, To: from + 0.125})
	}
	return a
}

// Each mistake in a file is an error that names the place.
func TestReadErrors(t *testing.T) {
	var good bytes.Buffer
	if err := truth.Write(&good, []truth.Attempt{{File: "a.csv", Number: 1}}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, from, to, want string }{
		{"unknown column", "scenario", "scenery", `truth.csv:1: unknown column "scenery"`},
		{"column twice", "scenario", "notes", `column "notes" comes twice`},
		{"column missing", ",notes", "", `column "notes" is missing`},
		{"number", "a.csv,1", "a.csv,one", `truth.csv:2: column attempt: "one" is not an attempt number`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := truth.Read(strings.NewReader(strings.Replace(good.String(), c.from, c.to, 1)), "truth.csv")
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %q", err, c.want)
			}
		})
	}
}

func TestBounds(t *testing.T) {
	n := math.NaN()
	a := truth.Attempt{ThrustAdvance: 5, Onset: 6, RollStart: 4, Rotation: n, LiftOff: n, ThrustCut: n, FirstAction: n, Peak: n, Stop: 40}
	if a.From() != 4 || a.Till() != 40 {
		t.Errorf("from %v till %v, want 4 and 40", a.From(), a.Till())
	}
	none := truth.Attempt{ThrustAdvance: n, Onset: n, RollStart: n, Rotation: n, LiftOff: n, ThrustCut: n, FirstAction: n, Peak: n, Stop: n}
	if !math.IsNaN(none.From()) {
		t.Errorf("an attempt without instants begins at %v", none.From())
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("file,attempt\nx,1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, err := truth.Read(bytes.NewReader(data), "f")
		if err != nil {
			return
		}
		if err := truth.Write(&bytes.Buffer{}, rows); err != nil {
			t.Fatal(err)
		}
	})
}
