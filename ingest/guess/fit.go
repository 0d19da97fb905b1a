package guess

import (
	"fmt"
	"math"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// unfit says why a column cannot be the parameter that its name says, "" when
// it can.
func unfit(def flightdata.Definition, c *Column) string {
	if def.Kind == flightdata.Discrete {
		if len(c.Words) == 0 {
			return "it has too many different values for a discrete"
		}
		return ""
	}
	if math.IsNaN(c.Lo) {
		return "it holds words"
	}
	if len(possible(def, c)) == 0 {
		return fmt.Sprintf("%g to %g is possible in no unit of it", c.Lo, c.Hi)
	}
	return ""
}

// possible lists the units of a parameter in which the range of the column is
// possible, most usual first.
func possible(def flightdata.Definition, c *Column) []unit.Unit {
	var out []unit.Unit
	for _, d := range def.Dims {
		if d == unit.Pure {
			if c.Lo >= -farthest && c.Hi <= farthest {
				out = append(out, unit.Unit{})
			}
			continue
		}
		usual := unit.Canonical(d)
		list := append([]unit.Unit{usual}, unit.Of(d)...)
		for i, u := range list {
			if i > 0 && u == usual {
				continue
			}
			if inRange(def, d, u, c) {
				out = append(out, u)
			}
		}
	}
	return out
}

// farthest is wide of every lever in %, trim in units and engine figure.
const farthest = 1e4

// inRange says whether the column lies in the possible range of the parameter
// when it is taken in a unit. A spike or two beyond the range is forgiven up to
// its own width: quality masks those later.
func inRange(def flightdata.Definition, d unit.Dimension, u unit.Unit, c *Column) bool {
	if d != def.Dims[0] || def.Lo == 0 && def.Hi == 0 {
		// Bounds are stated in the first dimension only; beyond these nothing
		// that can be recorded in another lies.
		return c.Lo >= -farthest && c.Hi <= farthest
	}
	conv, err := unit.Convert(u, unit.Canonical(d))
	if err != nil {
		return false
	}
	slack := 0.2 * (def.Hi - def.Lo)
	return conv.Apply(c.Lo) >= def.Lo-slack && conv.Apply(c.Hi) <= def.Hi+slack
}
