package synth

import (
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// trace is the full-rate record of one simulated flight: what truth is read
// from and what the recorder samples. Entry i is the state at i/64 s.
type trace struct {
	params  []flightdata.Parameter
	columns [][]float64 // one per parameter, canonical units

	// Parts of the state that truth needs whether or not the profile records
	// them. Speeds m/s, distances m, accelerations m/s².
	speed, distance, accel []float64
	armed, wheels, warning []bool

	heading  float64 // of the direction cached below
	sin, cos float64
}

func newTrace(p *profile.Profile, also []flightdata.Parameter, steps int) *trace {
	t := &trace{heading: -1}
	for i := range p.Parameters {
		t.params = append(t.params, p.Parameters[i].Parameter)
	}
	for _, a := range also {
		if t.index(a) < 0 {
			t.params = append(t.params, a)
		}
	}
	t.columns = make([][]float64, len(t.params))
	for i := range t.columns {
		t.columns[i] = make([]float64, 0, steps)
	}
	t.speed, t.distance, t.accel = make([]float64, 0, steps), make([]float64, 0, steps), make([]float64, 0, steps)
	t.armed, t.wheels, t.warning = make([]bool, 0, steps), make([]bool, 0, steps), make([]bool, 0, steps)
	return t
}

func (t *trace) index(p flightdata.Parameter) int {
	for i, have := range t.params {
		if have == p {
			return i
		}
	}
	return -1
}

// record appends the present state.
func (t *trace) record(s *sim) {
	for i, p := range t.params {
		t.columns[i] = append(t.columns[i], s.read(p))
	}
	t.speed = append(t.speed, s.speed)
	t.distance = append(t.distance, s.distance)
	t.accel = append(t.accel, s.accel)
	t.armed = append(t.armed, s.armed())
	t.wheels = append(t.wheels, s.ground)
	t.warning = append(t.warning, s.warn.on)
}

// direction is the sine and cosine of a heading, kept while it stays.
func (t *trace) direction(heading float64) (sin, cos float64) {
	if heading != t.heading {
		t.heading = heading
		t.sin, t.cos = sinCos(heading)
	}
	return t.sin, t.cos
}

// at is the value of a parameter at a step, and whether the trace has it.
func (t *trace) at(p flightdata.Parameter, step int) (float64, bool) {
	i := t.index(p)
	if i < 0 {
		return 0, false
	}
	return t.columns[i][step], true
}

// seconds is the time of a step since the start of the simulation.
func seconds(step int) float64 { return float64(step) * dt }
