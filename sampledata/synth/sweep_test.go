package synth

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/detect"
	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
	"rollonset/sampledata/score"
	"rollonset/sampledata/truth"
)

// The words that a recorder may force on a verdict: data that cannot tell.
const (
	untoldWord    = "cannot be told"
	unresolveWord = "not resolvable"
)

// slowestRecorder takes every parameter at the longest interval and about the
// coarsest resolution of 14 CFR part 121 appendix M: flap lever and flap
// surfaces in turn, each every 4 s (row 85), a ground speed that comes late.
var slowestRecorder = condition{slow: true, coarse: 2, jitter: 2000, lag: stepsPerS / 4}

// TestSlowestRecorder flies every kind of scenario that can be drawn, outcomes
// by checks by look-alikes, and each kind of fault, on the slowest recorder of
// the rules: a verdict may become one that cannot be told, never a wrong one.
func TestSlowestRecorder(t *testing.T) {
	profiles, err := profile.LoadDir(filepath.Join("..", "fleet"))
	if err != nil {
		t.Fatal(err)
	}
	var orders []*order
	for _, p := range profiles {
		for _, r := range sweep(p) {
			n := len(orders)
			orders = append(orders, &order{recipe: r, profile: p, seed: 121, index: n, difficulty: Nasty, format: CSV})
		}
	}
	covers(t, orders)
	rows, sums := assessed(t, profiles, orders)
	r := score.Compare(rows, sums)
	weaker := 0
	for _, d := range r.Differences {
		if strings.Contains(d.Got, untoldWord) || strings.Contains(d.Got, unresolveWord) || d.Got == truth.Undetermined {
			weaker++
			continue
		}
		t.Errorf("%s at %.1f s, attempt %d (%s): %s is %s, told as %s", d.File, d.Second, d.Attempt, d.Scenario, d.What, d.Want, d.Got)
	}
	if r.Unread != 0 || r.Unknown != 0 || r.Attempts < len(orders)/2 {
		t.Errorf("%d flights: %d attempts, %d unread, %d unknown", len(orders), r.Attempts, r.Unread, r.Unknown)
	}
	t.Logf("%d flights, %d attempts, %d verdicts cannot be told though the state could", len(orders), r.Attempts, weaker)
}

// sweep lists the recipes of one type: every ending with every way in which a
// check can be out, the starts, settings, look-alikes and warnings in turn;
// then every fault that can be drawn, in a takeoff and in a reject.
func sweep(p *profile.Profile) []recipe {
	var out []recipe
	seen := map[string]bool{}
	add := func(r recipe) {
		fit(&r, p)
		if r.name = r.describe(); !seen[r.name] {
			seen[r.name] = true
			out = append(out, r)
		}
	}
	turn := 0
	for e := flies; e <= touches; e++ {
		for _, o := range offencesOf(p, e) {
			r := o
			r.ending = e
			inTurn(&r, turn)
			add(r)
			turn++
		}
	}
	for k := missing; k <= unlocked; k++ {
		targets := faultTargets(k, p, Nasty)
		for i, param := range targets {
			for j, e := range []ending{flies, rejectHigh} {
				if i%2 == j || len(targets) < 3 { // one of each, or both
					add(recipe{ending: e, faults: []fault{{k, param}}})
				}
			}
		}
	}
	return out
}

// offencesOf are the ways to be out that an ending is flown with, none among
// them: every manner of every check in a takeoff and in a high-speed reject,
// each check in one of its manners, in turn, with the other endings.
func offencesOf(p *profile.Profile, e ending) []recipe {
	if e >= noAttempt { // nothing is judged in these
		return slices.Repeat([]recipe{{}}, 6)
	}
	every := everyOffence(p)
	out := []recipe{{}}
	if e == flies || e == rejectHigh {
		return append(out, every...)
	}
	for i := range p.Checks {
		var manners []recipe
		for _, o := range every {
			if o.check == p.Checks[i].Name {
				manners = append(manners, o)
			}
		}
		out = append(out, manners[(int(e)+i)%len(manners)])
	}
	return out
}

// everyOffence is every check with every manner in which it can be out, as
// they are drawn.
func everyOffence(p *profile.Profile) []recipe {
	var out []recipe
	rnd := newRandom(1, 1)
	seen := map[string]bool{}
	for range 60 * len(p.Checks) {
		r := recipe{}
		drawOffence(&r, p, rnd)
		r.warning = working
		if key := fmt.Sprint(r.check, r.manner); !seen[key] {
			seen[key] = true
			out = append(out, r)
		}
	}
	return out
}

// inTurn sets the rest of a recipe by its number.
func inTurn(r *recipe, n int) {
	if !r.departs() {
		return
	}
	if r.ending == noAttempt {
		r.before = []prelude{[]prelude{burst, shortBurst, runUp, oneEngine, antiIce, taxiTurnStrong}[n%6]}
		return
	}
	// No run-up: one minutes before a roll is told as a roll given up before it
	// began, and drawPreludes makes none either.
	r.before = []prelude{[]prelude{burst, shortBurst, oneEngine, antiIce, taxiTurnStrong}[n%5]}
	r.start, r.setting = start(n%3), setting(n/3%4)
	switch {
	case r.check != "" && n%4 == 3:
		r.warning = inoperative
	case r.check == "" && n%2 == 1:
		r.warning = falseWarning
	}
	r.brakesFirst = (r.ending == rejectHigh || r.ending == rejectPastV1) && n%3 == 0
	r.bounce = r.ending == flies && n%5 == 0
	r.retry = (r.ending == rejectStill || r.ending == rejectLow) && n%2 == 0
}

// covers holds the sweep to what can be drawn: no ending, check with manner,
// look-alike or fault is missing, and every ending meets every look-alike.
func covers(t *testing.T, orders []*order) {
	t.Helper()
	has := map[string]bool{}
	for _, o := range orders {
		r := &o.recipe
		has[fmt.Sprint("ending ", r.ending)] = true
		has[fmt.Sprint("offence ", o.profile.Name, r.check, r.manner)] = true
		has[fmt.Sprint("out ", r.ending, o.profile.Name, r.check)] = true
		for _, b := range r.before {
			has[fmt.Sprint("prelude ", r.ending, b)] = true
		}
		for _, f := range r.faults {
			has[fmt.Sprint("fault ", f.kind)] = true
		}
	}
	want := func(what ...any) {
		if key := fmt.Sprint(what...); !has[key] {
			t.Errorf("the sweep lacks %s", key)
		}
	}
	for e := flies; e <= touches; e++ {
		want("ending ", e)
		for b := burst; b <= taxiTurnStrong && e <= noAttempt; b++ {
			if b != runUp || e == noAttempt {
				want("prelude ", e, b)
			}
		}
	}
	for k := missing; k <= unlocked; k++ {
		want("fault ", k)
	}
	profiles := map[*profile.Profile]bool{}
	for _, o := range orders {
		if profiles[o.profile] {
			continue
		}
		profiles[o.profile] = true
		for _, c := range everyOffence(o.profile) {
			want("offence ", o.profile.Name, c.check, c.manner)
		}
	}
}

// assessed makes the flights, reads them and assesses them.
func assessed(t *testing.T, profiles []*profile.Profile, orders []*order) ([]truth.Attempt, []archive.Summary) {
	t.Helper()
	dir := t.TempDir()
	made := make([]*Recording, len(orders))
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(inParallel(len(orders), func(i int) error {
		r, err := onSlowest(orders[i])
		if err != nil {
			return err
		}
		made[i] = r
		return os.WriteFile(filepath.Join(dir, r.File), r.Data, 0o644)
	}))
	var rows []truth.Attempt
	var entries []Entry
	for _, r := range made {
		rows, entries = append(rows, r.Truth...), append(entries, r.Listed)
	}
	must(os.WriteFile(filepath.Join(dir, ListFile), writeList(entries), 0o644))
	list, err := ingest.ReadFlightList(filepath.Join(dir, ListFile))
	must(err)
	sums := make([]archive.Summary, len(made))
	must(inParallel(len(made), func(i int) error {
		rec, prof, err := ingest.Open(filepath.Join(dir, made[i].File), profiles, ingest.Options{Flights: list})
		if err != nil {
			return err
		}
		sums[i] = archive.Summarise(detect.Assess(rec, prof), archive.Versions{})
		return nil
	}))
	return rows, sums
}

// onSlowest makes one flight as produce does, on the slowest recorder. A check
// that is out for less than two of its samples is no certain finding there, and
// the truth leaves it open; the flight counts all the same.
func onSlowest(o *order) (*Recording, error) {
	why := ""
	for try := range uint64(tries) {
		f, err := newFlight(o.recipe, o.profile, newRandom(o.seed, uint64(o.index)+try<<40), o.difficulty, false)
		if err != nil {
			return nil, err
		}
		f.cond = slowestRecorder
		f.play()
		f.cutShort()
		why = f.notOrdered()
		if why == "" || try > tries/8 && why == f.check+" is not out of limits" {
			return f.record(o)
		}
	}
	return nil, fmt.Errorf("%s, %q: %s", o.profile.Name, o.recipe.name, why)
}
