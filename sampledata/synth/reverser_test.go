package synth

import (
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/sampledata/truth"
)

// reversing loads the profiles whose aircraft have reversers.
func reversing(t *testing.T) []*profile.Profile {
	t.Helper()
	all, err := profile.LoadDir(filepath.Join("..", "fleet"))
	if err != nil {
		t.Fatal(err)
	}
	var out []*profile.Profile
	for _, p := range all {
		if p.Find(flightdata.ThrustReverser.Engine(1)) != nil {
			out = append(out, p)
		}
	}
	if len(out) == 0 {
		t.Fatal("no profile of the fleet has reversers")
	}
	return out
}

// TestReverserAfterItsThrust: a reverser comes out only after the thrust of its
// engine was cut, whatever the crew did first, and so is never the first action.
func TestReverserAfterItsThrust(t *testing.T) {
	out := 0
	for _, p := range reversing(t) {
		for i := range uint64(12) {
			r := recipe{ending: []ending{rejectHigh, rejectPastV1, rejectRotated}[i%3], brakesFirst: i%2 == 0}
			f, err := newFlight(r, p, newRandom(5, i), Hard, false)
			if err != nil {
				t.Fatal(err)
			}
			f.play()
			if len(f.attempts) == 0 {
				t.Fatalf("%s, flight %d: no attempt", p.Name, i)
			}
			cut := f.attempts[0].cut
			for n := 1; n <= p.Engines; n++ {
				name := flightdata.ThrustReverser.Engine(n)
				if p.Find(name) == nil {
					continue
				}
				for step, v := range f.sim.tape.columns[f.sim.tape.index(name)] {
					if v != 0 {
						out++
						if cut < 0 || step < cut {
							t.Errorf("%s, flight %d: reverser %d out at step %d, thrust cut at %d", p.Name, i, n, step, cut)
						}
						break
					}
				}
			}
			if by := f.truths("", nil, nil)[0].FirstActionBy; by == "reverse" {
				t.Errorf("%s, flight %d: the reverser is the first action", p.Name, i)
			}
		}
	}
	if out == 0 {
		t.Error("no reverser ever came out")
	}
}

// TestStuckReverserHidesNothing: by that rule a reverser that reads as out all
// along leaves the truth of a reject and of every check as it is without it.
func TestStuckReverserHidesNothing(t *testing.T) {
	for _, p := range reversing(t) {
		for i, e := range []ending{flies, rejectLow, rejectHigh, rejectPastV1} {
			made := func(faults ...fault) []truth.Attempt {
				rec, err := produce(&order{
					recipe: recipe{ending: e, check: p.Checks[0].Name, faults: faults}, profile: p,
					seed: 8, index: i, difficulty: Hard, format: CSV,
				})
				if err != nil {
					t.Fatal(err)
				}
				return rec.Truth
			}
			clean, stuck := made(), made(fault{unlocked, flightdata.ThrustReverser.Engine(1)})
			if diff := cmp.Diff(clean, stuck, cmpopts.EquateNaNs()); diff != "" {
				t.Errorf("%s, ending %d (-clean +stuck):\n%s", p.Name, e, diff)
			}
			if len(stuck[0].Out) == 0 || len(stuck[0].Untold) != 0 {
				t.Errorf("%s, ending %d: out %v, cannot be told %v", p.Name, e, stuck[0].Out, stuck[0].Untold)
			}
		}
	}
}
