package guess

import (
	"math"
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// saying lists, for each state, the cells that say it in words.
var saying = map[string]string{
	"ground": "gnd ground onground grd", "air": "air flt flight airborne",
	"released": "rel released off no", "set": "set on yes applied",
	"stowed": "stow stowed stwd", "transit": "trans transit unlk unlocked", "deployed": "depl deployed dply rev",
	"centered": "ctr cent centered centred", "not centered": "notctr uncentered off_centre",
	"off": "off norm normal no none disarm disarmed", "on": "on warn warning yes alert", "rto": "rto",
}

// states finds which cell of every guessed discrete means which state.
func (t *table) states() {
	for i := range t.columns {
		def, ok := flightdata.Define(t.guesses[i].Parameter)
		if !ok || def.Kind != flightdata.Discrete {
			continue
		}
		if !t.byWords(i, def) {
			t.bySense(i, def)
		}
	}
}

// byWords reads cells that are words. It says whether it understood any.
func (t *table) byWords(i int, def flightdata.Definition) bool {
	g, c := &t.guesses[i], &t.columns[i]
	cells := map[string][]string{}
	var strange []string
	for _, w := range c.Words {
		at := slices.IndexFunc(def.States, func(state string) bool {
			return slices.Contains(strings.Fields(saying[state]), strings.ToLower(strings.TrimSpace(w)))
		})
		switch {
		case at >= 0:
			cells[def.States[at]] = append(cells[def.States[at]], w)
		case def.Name == flightdata.Autobrake:
			cells["other"] = append(cells["other"], w)
		default:
			strange = append(strange, w)
		}
	}
	if len(cells) == 0 || slices.ContainsFunc(c.Words, isNumber) {
		return false
	}
	for _, w := range strange {
		g.add("%q is not understood", w)
		g.Certainty = Perhaps
	}
	g.add("its cells say %s", strings.Join(c.Words, " "))
	if g.Certainty == Likely {
		g.Certainty = Sure
	}
	t.fill(i, def, cells)
	return true
}

// bySense reads cells that say nothing by themselves, such as 0 and 1: by what
// the name says, else by what the aeroplane did meanwhile, else as the first
// states of the parameter.
func (t *table) bySense(i int, def flightdata.Definition) {
	g, c := &t.guesses[i], &t.columns[i]
	words := slices.Clone(c.Words)
	slices.Sort(words)
	if len(words) == 1 { // the other one has not been seen
		if isNumber(words[0]) {
			words = []string{"0", "1"}
		}
		g.Certainty = Perhaps
		g.add("it never changes")
	}
	order := def.States
	if len(words) == 2 && len(order) == 3 && order[1] == "transit" {
		order = []string{order[0], order[2]}
	}
	turned, why := t.one(i, def)
	if meanwhile, because := t.meanwhile(i, def, words, order); because != "" {
		if why != "" && meanwhile != turned {
			g.Certainty = Perhaps
			because += ", against the name"
		}
		turned, why = meanwhile, because
	}
	if why == "" {
		why = "nothing tells which is which"
		g.Certainty = Perhaps
	}
	if turned && len(words) == 2 {
		order = []string{order[len(order)-1], order[0]}
	}
	cells := map[string][]string{}
	for k, w := range words[:min(len(words), len(order))] {
		cells[order[k]] = append(cells[order[k]], w)
	}
	g.add("%s", why)
	if g.Certainty == Likely {
		g.Certainty = Sure
	}
	t.fill(i, def, cells)
}

// one reads off the name what 1 means: turned says that it is the first state
// of the definition, why is "" when the name does not tell.
func (t *table) one(i int, def flightdata.Definition) (turned bool, why string) {
	n := t.names[i]
	for _, h := range n.hints {
		if _, after, ok := strings.Cut(h, "1="); ok {
			for k, state := range def.States {
				if slices.Contains(strings.Fields(saying[state]), strings.TrimSpace(after)) {
					return k == 0, "the name states " + h
				}
			}
		}
	}
	if def.Name == flightdata.AirGround && slices.ContainsFunc(n.words, func(w string) bool {
		return slices.Contains([]string{"wow", "squat", "on", "weight", "onground"}, w)
	}) {
		return true, "by the name 1 is on the ground"
	}
	own := lookUp(n).words // these only say which parameter it is
	for k, state := range def.States {
		if k > 0 && slices.ContainsFunc(n.words, func(w string) bool {
			return slices.Contains(strings.Fields(saying[state]), w) && !slices.Contains(own, w)
		}) {
			return false, "by the name 1 is " + state
		}
	}
	return false, ""
}

// meanwhile tells the two states of a column by what the aeroplane did: it
// flies faster than it rolls, it does not taxi on its parking brake, and what
// is out of the ordinary is rare. because is "" when it cannot be told.
func (t *table) meanwhile(i int, def flightdata.Definition, words, order []string) (turned bool, because string) {
	k := t.find(flightdata.GroundSpeed)
	if len(words) != 2 || len(order) < 2 || k < 0 || len(t.columns[i].States) == 0 {
		return false, ""
	}
	mean, share := t.bySpeed(i, k, words)
	if share[0] == 0 || share[1] == 0 {
		return false, ""
	}
	switch def.Name {
	case flightdata.AirGround: // the faster one is air, the second state
		if math.Abs(mean[0]-mean[1]) < 40 {
			return false, ""
		}
		return mean[0] > mean[1], "the aircraft is faster while it is " + faster(words, mean)
	case flightdata.ParkingBrake: // the slower one is set
		if math.Abs(mean[0]-mean[1]) < 5 {
			return false, ""
		}
		return mean[0] < mean[1], "the aircraft moves while it is " + faster(words, mean)
	}
	if math.Abs(share[0]-share[1]) < 0.5 {
		return false, ""
	}
	return share[0] < share[1], "the other state is rare"
}

func faster(words []string, mean [2]float64) string {
	if mean[0] > mean[1] {
		return words[0]
	}
	return words[1]
}

// bySpeed is the mean speed in each of two states, and the share of time.
func (t *table) bySpeed(i, speed int, words []string) (mean, share [2]float64) {
	n := 0.0
	for c, s := range t.columns[i].States {
		if s < 0 || c >= len(t.columns[speed].Course) {
			continue
		}
		v := float64(t.columns[speed].Course[c])
		at := slices.Index(words, t.columns[i].Words[s])
		if at < 0 || v != v {
			continue
		}
		mean[at] += v
		share[at]++
		n++
	}
	for k := range mean {
		if share[k] > 0 {
			mean[k] /= share[k]
			share[k] /= n
		}
	}
	return mean, share
}

// fill turns the cells of each state into the rule of a profile. A profile
// needs the texts of the state that its checks ask for, so an unseen one gets a
// text that no recording holds.
func (t *table) fill(i int, def flightdata.Definition, cells map[string][]string) {
	g := &t.guesses[i]
	for k, state := range def.States {
		c := cells[state]
		// Of three states the middle one need not be mapped, nor the last one
		// while there are two others.
		if len(c) == 0 && len(def.States) == 3 && (k == 1 || k == 2 && len(g.States) == 2) {
			continue
		}
		if len(c) == 0 {
			c = []string{"FILL IN " + state}
			g.Certainty = Perhaps
			g.add("no cell seen means %s", state)
		}
		g.States = append(g.States, profile.StateRule{State: state, Cells: c})
	}
}

func isNumber(w string) bool {
	return w != "" && strings.Trim(w, "0123456789.+-") == ""
}
