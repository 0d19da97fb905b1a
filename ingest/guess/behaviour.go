package guess

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// byBehaviour looks among the columns whose names say nothing for the two
// without which no attempt can be found: a speed, and an air/ground state.
func (t *table) byBehaviour() {
	if t.find(flightdata.GroundSpeed) < 0 {
		t.likeSpeed()
	}
	if t.find(flightdata.AirGround) < 0 {
		t.likeAirGround()
	}
}

// likeSpeed takes the first unnamed column that stands at zero, rises steadily
// to the speed of a takeoff, and falls back or stays there.
func (t *table) likeSpeed() {
	for i, c := range t.columns {
		if t.guesses[i].Parameter != "" || len(c.Words) > 0 || lookUp(t.names[i]).base != "" || !(c.Lo > -2 && c.Lo < 3 && c.Hi > 45 && c.Hi < 700) {
			continue
		}
		still := 0
		for _, v := range c.Course {
			if v < 3 {
				still++
			}
		}
		// 1 kt/s is no takeoff roll and 12 kt/s no aeroplane.
		if rate := t.steepest(i); still*20 < len(c.Course) || rate < 0.8 || rate > 12 || !t.smooth(i) {
			continue
		}
		g := Guess{Parameter: flightdata.GroundSpeed, Certainty: Perhaps, Unit: unit.Must("kt")}
		g.Reason = fmt.Sprintf("the name says nothing; it stands at 0 and rises steadily to %s as a ground speed does", short(c.Hi))
		if c.Hi < 100 {
			g.Unit = unit.Must("m/s")
			g.add("%s is little for a takeoff in kt", short(c.Hi))
		}
		t.guesses[i] = g
		return
	}
}

// smooth says whether a column hardly ever jumps.
func (t *table) smooth(i int) bool {
	v := t.columns[i].Course
	jumps, n := 0, 0
	for c := 1; c < len(v); c++ {
		if d := math.Abs(float64(v[c] - v[c-1])); d == d {
			n++
			if d > 15*max(t.step.Seconds(), 1) {
				jumps++
			}
		}
	}
	return n > 50 && jumps*100 < n
}

// likeAirGround takes the first unnamed column of two states that changes where
// the speed passes that of a lift-off: always slow in one, always fast in the
// other.
func (t *table) likeAirGround() {
	k := t.find(flightdata.GroundSpeed)
	if k < 0 {
		return
	}
	for i, c := range t.columns {
		if t.guesses[i].Parameter != "" || len(c.Words) != 2 || lookUp(t.names[i]).base != "" || len(c.States) == 0 {
			continue
		}
		var lo, hi [2]float64
		var n [2]int
		for s := range lo {
			lo[s], hi[s] = math.Inf(1), 0
		}
		for p, s := range c.States {
			if v := float64(t.columns[k].Course[p]); s >= 0 && v == v {
				lo[s], hi[s] = min(lo[s], v), max(hi[s], v)
				n[s]++
			}
		}
		air := 0
		if lo[1] > lo[0] {
			air = 1
		}
		if min(n[0], n[1]) < 10 || lo[air] < 70 || lo[1-air] > 5 {
			continue
		}
		t.guesses[i] = Guess{
			Parameter: flightdata.AirGround, Certainty: Perhaps,
			Reason: fmt.Sprintf("the name says nothing; it is %s only above %s kt, as in the air", strconv.Quote(c.Words[air]), short(lo[air])),
		}
		return
	}
}

// short prints a number for a reason: four digits are enough to see it.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }

// distinct lists the values at which a course rests for at least n steps,
// rising; near ones count as one.
func distinct(v []float32, n int, near float64) []float64 {
	var out []float64
	run := 0
	for c := 1; c < len(v); c++ {
		if !(math.Abs(float64(v[c]-v[c-1])) <= near/4) {
			run = 0
			continue
		}
		if run++; run < n {
			continue
		}
		x := float64(v[c])
		if !slices.ContainsFunc(out, func(y float64) bool { return math.Abs(x-y) <= near }) {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return out
}
