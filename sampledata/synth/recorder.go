package synth

import (
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/unit"
)

// channel is how a recorder treats one kind of parameter.
type channel struct {
	quantum float64 // of the stored number, canonical unit
	noise   float64 // standard deviation of the sensor, canonical unit
	rate    float64 // samples per second when the profile names none
}

// channelOf follows 14 CFR part 121 appendix M for rates and resolutions: it
// is as fine as the rule wants or finer. Noise is invented.
func channelOf(p flightdata.Parameter) channel {
	switch p.Base() {
	case flightdata.GroundSpeed:
		return channel{0.5, 0.06, 1} // row 34: 0.2 % of range
	case flightdata.Airspeed:
		return channel{0.5, 0.3, 1} // row 3: 1 kt
	case flightdata.N1, flightdata.Torque:
		return channel{0.2, 0.08, 1} // row 9: 0.3 % of range
	case flightdata.EPR:
		return channel{0.002, 0.0008, 1}
	case flightdata.ThrustLever:
		return channel{0.2, 0, 1}
	case flightdata.RadioHeight:
		return channel{1, 0.3, 1}
	case flightdata.PressureAltitude:
		return channel{5, 1, 1} // row 2: 5 to 35 ft
	case flightdata.LongAcceleration:
		return channel{0.002, 0.0012, 4} // row 11: 0.004 g
	case flightdata.Pitch:
		return channel{0.1, 0.04, 4} // row 6: 0.5 deg
	case flightdata.Heading:
		return channel{0.5, 0.15, 1} // row 4: 0.5 deg
	case flightdata.FlapLever, flightdata.FlapPosition, flightdata.SlatPosition:
		return channel{0.1, 0, 0.5} // rows 20, 21, 85: 0.5 % of range
	case flightdata.StabilizerTrim, flightdata.RudderTrim, flightdata.AileronTrim:
		return channel{0.05, 0, 1} // row 19: 0.6 % of range
	}
	return restOf(p)
}

func restOf(p flightdata.Parameter) channel {
	switch p.Base() {
	case flightdata.SpeedbrakeLever, flightdata.SpoilerPosition:
		return channel{0.2, 0, 1} // row 87: 0.3 % of range
	case flightdata.BrakePressure:
		return channel{20, 4, 1}
	case flightdata.GrossWeight:
		return channel{100, 0, 0.25}
	case flightdata.CenterOfGravity:
		return channel{0.1, 0, 0.25}
	case flightdata.Latitude, flightdata.Longitude:
		return channel{0.00005, 0, 1}
	}
	return channel{0.1, 0, 1}
}

// quantumOf is the resolution of a parameter in its canonical unit.
func quantumOf(p flightdata.Parameter) float64 { return channelOf(p).quantum }

// column is one column of the file: the cells as whole multiples of 10^-dec,
// or as indices of states, or blank. It has an entry per row of the tape.
type column struct {
	name     string
	decimals int
	words    []string // of a discrete: the cell text of each state
	cells    []int64
}

const blankCell = math.MinInt64

// discrete says whether the cells are states.
func (c *column) discrete() bool { return c.words != nil }

// number is the value of a cell of a column that is not discrete.
func (c *column) number(cell int64) float64 {
	return float64(cell) / powerOfTen(c.decimals)
}

func powerOfTen(n int) float64 {
	v := 1.0
	for range n {
		v *= 10 // exact up to 10^22
	}
	return v
}

// tape is what the recorder delivers: rows at the ticks of a clock, and a
// column per parameter. Row i lies micros[i] after the first row.
type tape struct {
	micros  []int64
	columns []column
	drift   int64 // microseconds that the file's clock gains per second
	first   int   // tick of the first row
	hz      int
	jitter  int64 // microseconds by which a row may be stamped wrong

	seen map[flightdata.Parameter]*sampling // what was sampled when
}

// clock turns a step of the simulator into seconds since the first row, on
// the clock of the file.
func (t *tape) clock(step int) float64 {
	ticks := float64(step)*float64(t.hz)/stepsPerS - float64(t.first)
	return ticks / float64(t.hz) * (1 + float64(t.drift)/1e6)
}

// recorder samples one simulated flight.
type recorder struct {
	p      *profile.Profile
	trace  *trace
	rnd    random
	faults []placedFault
	cond   condition
	hits   []int // ticks at which the column at hand is false
	hz     int
	ticks  int
}

// recordFlight samples everything that the profile names.
func recordFlight(p *profile.Profile, tr *trace, rnd random, faults []placedFault, cond condition) *tape {
	r := &recorder{p: p, trace: tr, rnd: rnd, faults: faults, cond: cond, hz: clockRate(p)}
	r.ticks = len(tr.speed) * r.hz / stepsPerS
	out := &tape{hz: r.hz, drift: cond.drift, jitter: cond.jitter, seen: map[flightdata.Parameter]*sampling{}}
	for i := range p.Parameters {
		// Every parameter draws its phase and noise whether or not its column
		// is written, so that a fault changes nothing else in the file.
		c := r.column(&p.Parameters[i])
		out.seen[p.Parameters[i].Parameter] = r.sampled(&p.Parameters[i], &c)
		if !r.suffers(p.Parameters[i].Parameter, missing) {
			out.columns = append(out.columns, c)
		}
	}
	out.columns = append(out.columns, r.frameCounter())
	for _, f := range faults {
		if f.kind == drifting && out.drift == 0 {
			out.drift = 200
		}
	}
	out.squeeze(r.ticks)
	out.shake(rnd)
	return out
}

// clockRate is how many ticks per second the recorder's clock needs: eight,
// or more when a parameter is faster.
func clockRate(p *profile.Profile) int {
	hz := 8
	for i := range p.Parameters {
		for hz < stepsPerS && float64(hz) < p.Parameters[i].Rate {
			hz *= 2
		}
	}
	return hz
}

// column samples one parameter at its own rate and phase.
func (r *recorder) column(rule *profile.ParameterRule) column {
	ch := channelOf(rule.Parameter)
	ch.quantum = float64(ch.quantum * r.cond.coarseness())
	every := max(int(math.Round(float64(r.hz)/r.cond.rate(rule))), 1)
	phase := r.phase(rule.Parameter, every)
	lag := 0
	if rule.Parameter == flightdata.GroundSpeed {
		lag = r.cond.lag
	}
	c := column{name: rule.Columns[0], cells: make([]int64, r.ticks)}
	store := r.numberStore(rule, ch, &c)
	if rule.Kind == flightdata.Discrete {
		store = r.stateStore(rule, &c)
	}
	values := r.trace.columns[r.trace.index(rule.Parameter)]
	for t := range c.cells {
		if t%every != phase {
			c.cells[t] = blankCell
			continue
		}
		c.cells[t] = store(values[max(t*stepsPerS/r.hz-lag, 0)])
	}
	r.spoil(rule, &c)
	return c
}

// phase draws when in its period a parameter is sampled. Where surfaces and
// levers are sampled in turn, the surfaces come half a period after the lever.
func (r *recorder) phase(p flightdata.Parameter, every int) int {
	drawn := r.rnd.pick(every)
	switch {
	case r.cond.slow && p.Base() == flightdata.FlapPosition:
		return every / 2
	case r.cond.slow && p.Base() == flightdata.FlapLever:
		return 0
	}
	return drawn
}

// sampled lists the samples of a column that was just filled.
func (r *recorder) sampled(rule *profile.ParameterRule, c *column) *sampling {
	out := &sampling{period: int(stepsPerS / r.cond.rate(rule))}
	if r.suffers(rule.Parameter, missing) {
		return out
	}
	for t, v := range c.cells {
		if v != blankCell {
			out.steps = append(out.steps, t*stepsPerS/r.hz)
		}
	}
	for _, t := range r.hits {
		out.wrong = append(out.wrong, t*stepsPerS/r.hz)
	}
	return out
}

// shake stamps each row a little early or late, as a busy clock does.
func (t *tape) shake(rnd random) {
	for i := range t.micros {
		if t.jitter > 0 && i > 0 {
			t.micros[i] += int64(rnd.between(-1, 1) * float64(t.jitter))
		}
	}
}

// numberStore makes the function that adds noise, converts to the recorded
// unit and quantises.
func (r *recorder) numberStore(rule *profile.ParameterRule, ch channel, c *column) func(float64) int64 {
	conv, err := unit.Convert(rule.Canonical, rule.Unit)
	if err != nil {
		conv = unit.Conversion{Factor: 1} // the profile loader has refused it before
	}
	step, decimals := niceStep(math.Abs(ch.quantum * conv.Factor))
	c.decimals = decimals
	noise := ch.noise
	if rule.Parameter.Base() == flightdata.GroundSpeed && noise > 0 {
		noise = min(noise, ch.quantum/8)
	}
	floor := rule.Floor
	return func(v float64) int64 {
		if noise > 0 {
			v += float64(noise * r.rnd.noise())
		}
		switch {
		case rule.Parameter == flightdata.Airspeed && !math.IsNaN(floor):
			v = max(v, floor) // the air-data computer knows no less
		case rule.Parameter == flightdata.GroundSpeed:
			v = max(v, 0)
		case rule.Parameter == flightdata.Heading && v >= 360:
			v -= 360
		case rule.Parameter == flightdata.Heading && v < 0:
			v += 360
		}
		v = float64(v*conv.Factor) + conv.Shift
		return int64(math.Round(v*powerOfTen(decimals)/float64(step))) * step
	}
}

// niceStep is the largest step 1, 2 or 5 times a power of ten that is not
// coarser than quantum: step × 10^-decimals.
func niceStep(quantum float64) (step int64, decimals int) {
	for quantum < 1-1e-9 && decimals < 9 {
		quantum *= 10
		decimals++
	}
	scale := int64(1)
	for quantum >= 10 {
		quantum /= 10
		scale *= 10
	}
	switch {
	case quantum >= 5-1e-9:
		return 5 * scale, decimals
	case quantum >= 2-1e-9:
		return 2 * scale, decimals
	}
	return scale, decimals
}

// stateStore records a discrete as the index of its state; the words are the
// first cell text that the profile gives for each.
func (r *recorder) stateStore(rule *profile.ParameterRule, c *column) func(float64) int64 {
	c.decimals = 0
	c.words = make([]string, len(rule.States))
	for i := range rule.States {
		if len(rule.States[i].Cells) > 0 {
			c.words[i] = rule.States[i].Cells[0]
		}
	}
	return func(v float64) int64 { return int64(min(max(v, 0), float64(len(c.words)-1))) }
}

// frameCounter is a column that no profile names: the count of the recorder's
// frames, 12 bits, one each 4 s (14 CFR part 121 appendix M row 1).
func (r *recorder) frameCounter() column {
	c := column{name: "FRAME_COUNT", cells: make([]int64, r.ticks)}
	start := int64(r.rnd.pick(4096))
	for t := range c.cells {
		c.cells[t] = blankCell
		if t%(4*r.hz) == 0 {
			c.cells[t] = (start + int64(t/(4*r.hz))) % 4096
		}
	}
	return c
}

// squeeze drops the ticks at which no column has a cell and sets the times of
// the rows that stay.
func (t *tape) squeeze(ticks int) {
	kept := make([]int, 0, ticks)
	for i := range ticks {
		for j := range t.columns {
			if t.columns[j].cells[i] != blankCell {
				kept = append(kept, i)
				break
			}
		}
	}
	if len(kept) == 0 {
		return
	}
	t.first = kept[0]
	t.micros = make([]int64, len(kept))
	for row, tick := range kept {
		exact := int64(tick-t.first) * 1_000_000 / int64(t.hz)
		t.micros[row] = exact + exact/1_000_000*t.drift
	}
	for j := range t.columns {
		c := &t.columns[j]
		for row, tick := range kept {
			c.cells[row] = c.cells[tick]
		}
		c.cells = c.cells[:len(kept)]
	}
}
