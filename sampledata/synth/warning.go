package synth

import (
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// warningMode is how the aircraft's own takeoff configuration warning works.
type warningMode int

const (
	working warningMode = iota
	inoperative
	falseWarning // sounds without a cause
)

// warningUnit is the aircraft's own takeoff configuration warning. It has a
// logic of its own: thrust above the arming threshold on the ground, with a
// condition for which the certification basis requires it, lasting a while.
type warningUnit struct {
	mode      warningMode
	delay     float64 // s that the condition must last; at least 0.3
	falseFrom int     // steps, of a false warning
	falseTill int
	inhibited bool // after a landing, until re-armed for the next takeoff
	silenced  bool // the reject has started, or the aircraft rotates
	lasted    float64
	on        bool
}

func (w *warningUnit) step(s *sim) {
	now := s.now()
	if w.mode == falseWarning && now >= w.falseFrom && now < w.falseTill {
		w.on = true
		return
	}
	if w.mode != working || w.inhibited || w.silenced || !s.armed() || !s.due() {
		w.on, w.lasted = false, 0
		return
	}
	w.lasted += dt
	w.on = w.lasted >= w.delay
}

// due says whether any condition holds for which a warning is due.
func (s *sim) due() bool {
	st := s.state()
	for i := range s.p.Checks {
		c := &s.p.Checks[i]
		if c.WarningDue && !(c.OneOf != nil && c.OneOf.Rule == profile.AsAtOnset) && judge(c, st).out {
			return true
		}
	}
	return false
}

// state is the present state for judging, with everything known.
func (s *sim) state() *state {
	read := func(p flightdata.Parameter) (float64, bool) { return s.read(p), true }
	return &state{read: read, onset: read, planned: s.plannedFlap, states: stateIndex(s.p)}
}

// stateIndex finds the index of a state by its name.
func stateIndex(p *profile.Profile) func(flightdata.Parameter, string) float64 {
	return func(param flightdata.Parameter, name string) float64 {
		if r := p.Find(param); r != nil {
			for i := range r.States {
				if r.States[i].State == name {
					return float64(i)
				}
			}
		}
		return -1
	}
}
