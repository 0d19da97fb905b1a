package ingest

import (
	"math"
	"slices"
	"time"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/guess"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// mostSteps is how many steps a course has at most: enough to see a takeoff
// roll in a recording of hours, and 16 kB a column, so that a file with
// thousands of columns is inspected in bounded memory.
const mostSteps = 4096

// courses lays a column out at even steps: the number that held at each and,
// for a column of few states, the index of its state.
func (ins *Inspection) courses(numbers, states samples, few bool) ([]float32, []int8) {
	if ins.TimeColumn == "" {
		return nil, nil
	}
	ins.Step = max(time.Second, ins.Duration/(mostSteps-1))
	n := int(ins.Duration/ins.Step) + 1
	course := make([]float32, n)
	for c := range course {
		course[c] = float32(math.NaN())
	}
	ins.lay(numbers, n, func(c, i int) { course[c] = float32(numbers.Numbers[i]) })
	if !few {
		return course, nil
	}
	state := make([]int8, n)
	for c := range state {
		state[c] = -1
	}
	ins.lay(states, n, func(c, i int) { state[c] = int8(states.States[i]) })
	return course, state
}

// longHold is how many steps a sample may stand for. Beyond it the recording
// has a gap; weights are recorded each few seconds.
const longHold = 8

// lay calls put for every step with the sample that holds there.
func (ins *Inspection) lay(col samples, n int, put func(step, sample int)) {
	next := 0
	for c := range n {
		at := span.Instant(int64(c) * int64(ins.Step))
		for next < len(col.at) && col.at[next] <= at {
			next++
		}
		if next > 0 && at.Sub(col.at[next-1]) <= longHold*ins.Step {
			put(c, next-1)
		}
	}
}

// columns are the columns as the guess wants them.
func (ins *Inspection) columns() []guess.Column {
	out := make([]guess.Column, len(ins.Columns))
	for i, c := range ins.Columns {
		out[i] = guess.Column{
			Name: c.Name, Unit: c.Unit, Samples: c.Samples, Period: c.Period, Lo: c.Lo, Hi: c.Hi,
			Filled: c.Filled, Course: c.course, States: c.states,
		}
		if !c.MoreWords {
			out[i].Words = c.Words
		}
	}
	return out
}

// guess says of every column what it seems to be.
func (ins *Inspection) guess() {
	for i, g := range guess.All(ins.columns(), ins.Step, ins.TimeColumn) {
		ins.Columns[i].Guess = g
	}
}

// Draft is a first profile made of the guesses, for a person to complete.
func (ins *Inspection) Draft() []byte {
	guesses := make([]guess.Guess, len(ins.Columns))
	for i, c := range ins.Columns {
		guesses[i] = c.Guess
	}
	return guess.Draft(&guess.Recording{
		Name: ins.Path, Time: ins.Time, Assumed: ins.Assumed, Duration: ins.Duration, Long: ins.Long, NoSample: ins.NoSample, Step: ins.Step,
		Columns: ins.columns(), Guesses: guesses,
	})
}

// lacks says what each check of the profile would lack in this file. Weight,
// CG and planned settings can come from a flight list and count as lacking
// here all the same, because this file does not hold them.
func (ins *Inspection) lacks(prof *profile.Profile) {
	if prof == nil {
		return
	}
	ins.Profile = prof.Name
	has := map[flightdata.Parameter]bool{}
	for _, c := range ins.Columns {
		if c.Parameter != "" && c.Samples > 0 {
			has[c.Parameter] = true
		}
	}
	for i := range prof.Checks {
		l := Lack{Check: prof.Checks[i].Name}
		for _, p := range prof.Checks[i].Reads() {
			if !has[p] && !slices.Contains(l.Missing, p) {
				l.Missing = append(l.Missing, p)
			}
		}
		if len(l.Missing) > 0 {
			ins.Lacks = append(ins.Lacks, l)
		}
	}
}
