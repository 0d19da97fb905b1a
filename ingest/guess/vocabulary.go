package guess

import (
	"slices"
	"strings"

	"rollonset/ingest/flightdata"
)

// term is one way to name a parameter: a word out of each group must be in the
// name. Words are those of the trade in general use, and the ways in which they
// are cut short.
type term struct {
	base   flightdata.Parameter
	groups []string // each a list of words, parted by spaces
	not    string   // words that mean something else with these
	weak   bool     // may well mean other things
}

const (
	selected = "sel selected target tgt bug limit lim cmd command ref rate dev trend"
	braking  = "brake brk brakes brks"
	pulling  = "lever lvr handle hdl selector sel selected setting cmd"
	warning  = "warn warning wrn alert"
	accel    = "acc accel accl acceleration"
)

// terms in order of preference among equally long ones.
var terms = []term{
	{flightdata.GroundSpeed, []string{"gs gspd gspeed groundspeed gndspd"}, selected, false},
	{flightdata.GroundSpeed, []string{"ground gnd", "speed spd"}, selected + " spoiler", false},
	{flightdata.Airspeed, []string{"cas ias airspeed kcas kias aspd"}, selected, false},
	{flightdata.Airspeed, []string{"computed calibrated indicated air", "airspeed speed spd"}, selected, false},
	{flightdata.N1, []string{"n1"}, selected, false},
	{flightdata.N1, []string{"fan", "speed rpm"}, selected, false},
	{flightdata.EPR, []string{"epr"}, selected, false},
	{flightdata.Torque, []string{"torque trq tq"}, selected, false},
	{flightdata.ThrustLever, []string{"tla tra pla"}, "rate", false},
	{flightdata.ThrustLever, []string{"thrust throttle power", "lever lvr angle handle position pos"}, "rate reverser reverse", false},
	{flightdata.ThrustLever, []string{"throttle"}, "rate auto", true},
	{flightdata.ThrustReverser, []string{"reverser rev reversers"}, "lever handle", false},
	{flightdata.ThrustReverser, []string{"thrust", "reverse"}, "lever handle", false},
	// A nose gear leaves the ground at the rotation and comes back last.
	{flightdata.AirGround, []string{"wow squat weight", "nose nlg"}, "", true},
	{flightdata.AirGround, []string{"wow squat airground onground inair airgnd"}, "", false},
	{flightdata.AirGround, []string{"air", "ground gnd"}, "speed spd temp", false},
	{flightdata.AirGround, []string{"on", "ground gnd"}, "speed", false},
	{flightdata.AirGround, []string{"weight", "wheels wheel"}, "", false},
	{flightdata.AirGround, []string{"air"}, "speed temp data cond", true},
	{flightdata.RadioHeight, []string{"ralt radalt radht raht"}, selected, false},
	{flightdata.RadioHeight, []string{"radio rad radar", "height ht alt altitude hgt"}, selected, false},
	{flightdata.RadioHeight, []string{"ra rh"}, selected, true},
	{flightdata.PressureAltitude, []string{"palt altstd pressalt"}, selected, false},
	{flightdata.PressureAltitude, []string{"pressure press std standard baro", "altitude alt"}, selected + " cabin", false},
	{flightdata.PressureAltitude, []string{"alt altitude"}, selected + " cabin radio rad radar", true},
	{flightdata.LongAcceleration, []string{"nx ax longg longaccel"}, "", false},
	{flightdata.LongAcceleration, []string{"long longitudinal lon fwd", accel + " g"}, "lat vert", false},
	{flightdata.Pitch, []string{"pitch theta"}, "trim rate column cmd fd", false},
	{flightdata.Heading, []string{"hdg heading"}, selected, false},
	{flightdata.Heading, []string{"psi"}, selected + " press pressure brk brake", true},
	{flightdata.FlapLever, []string{"flap flaps flp", pulling}, "", false},
	{flightdata.FlapPosition, []string{"flap flaps flp", "position pos angle ang surface"}, "", false},
	{flightdata.FlapPosition, []string{"flap flaps flp"}, "load relief " + warning, true},
	{flightdata.SlatPosition, []string{"slat slats"}, warning, false},
	{flightdata.SlatPosition, []string{"leading", "edge"}, warning, false},
	{flightdata.StabilizerTrim, []string{"stab stabilizer stabiliser ths stabtrim ptrim"}, warning + " cutout", false},
	{flightdata.StabilizerTrim, []string{"pitch stab stabilizer stabiliser", "trim"}, warning + " cutout", false},
	{flightdata.RudderTrim, []string{"rudder rud yaw", "trim"}, "", false},
	{flightdata.RudderTrim, []string{"rtrim rudtrim"}, "", false},
	{flightdata.AileronTrim, []string{"aileron ail roll", "trim"}, "", false},
	{flightdata.AileronTrim, []string{"atrim ailtrim"}, "", false},
	{flightdata.ParkingBrake, []string{"park parking pkg prk", braking}, "press pressure", false},
	{flightdata.ParkingBrake, []string{"pbrk parkbrk parkbrake pkbrk pbrake"}, "press pressure", false},
	{flightdata.SpeedbrakeLever, []string{"spdbrk speedbrake speedbrakes spbrk sb"}, warning, false},
	{flightdata.SpeedbrakeLever, []string{"speed spd", braking}, warning, false},
	{flightdata.SpeedbrakeLever, []string{"spoiler spoilers", pulling}, warning, false},
	{flightdata.SpoilerPosition, []string{"spoiler spoilers splr"}, warning + " arm armed", false},
	{flightdata.MainGearSteering, []string{"mg main body maingear", "steer steering"}, "", false},
	{flightdata.BrakePressure, []string{braking, "press pressure prs"}, "park parking accu accumulator", false},
	{flightdata.BrakePressure, []string{braking}, "park parking auto speed spd temp air pedal " + warning, true},
	{flightdata.Autobrake, []string{"autobrake autobrk abrk"}, "", false},
	{flightdata.Autobrake, []string{"auto", braking}, "", false},
	{flightdata.TakeoffWarning, []string{"to takeoff toc", warning + " config cfg"}, "", false},
	{flightdata.TakeoffWarning, []string{"config configuration cfg", warning}, "", false},
	{flightdata.MasterWarning, []string{"master mstr", warning}, "caution", false},
	{flightdata.MasterWarning, []string{"master"}, "caution", true},
	{flightdata.GrossWeight, []string{"gw gwt grossweight gwgt"}, "", false},
	{flightdata.GrossWeight, []string{"gross", "weight wt mass"}, "", false},
	{flightdata.CenterOfGravity, []string{"cg cog"}, "", false},
	{flightdata.CenterOfGravity, []string{"center centre", "gravity"}, "", false},
	{flightdata.Latitude, []string{"lat latitude"}, accel + " g trim dev", false},
	{flightdata.Longitude, []string{"lon longitude lng"}, accel + " g", false},
	{flightdata.Longitude, []string{"long"}, accel + " g", true},
	{flightdata.V1, []string{"v1"}, "", false},
	{flightdata.VR, []string{"vr"}, "", false},
	{flightdata.OutsideAirTemp, []string{"oat sat"}, "", false},
	{flightdata.OutsideAirTemp, []string{"outside static", "temp temperature"}, "", false},
	{flightdata.WindSpeed, []string{"wind", "speed spd"}, "", false},
	{flightdata.WindDirection, []string{"wind", "direction dir"}, "", false},
}

// match is what the vocabulary says of a name; base is "" for nothing.
type match struct {
	base  flightdata.Parameter
	words []string // of the name, that said it
	weak  bool
}

// lookUp finds the term with most words in the name, a strong one before a weak
// one, and the first of equals.
func lookUp(n name) match {
	var best match
	for _, t := range terms {
		words := t.in(n.words)
		if words == nil {
			continue
		}
		better := best.base == "" || len(words) > len(best.words) || len(words) == len(best.words) && best.weak && !t.weak
		if better {
			best = match{t.base, words, t.weak}
		}
	}
	return best
}

// in lists the words of a name that say the term, nil when they do not.
func (t term) in(words []string) []string {
	for _, no := range strings.Fields(t.not) {
		if slices.Contains(words, no) && !t.says(no) {
			return nil
		}
	}
	var out []string
	for _, g := range t.groups {
		any := strings.Fields(g)
		i := slices.IndexFunc(words, func(w string) bool { return slices.Contains(any, w) && !slices.Contains(out, w) })
		if i < 0 {
			return nil
		}
		out = append(out, words[i])
	}
	return out
}

// says tells whether a word is one of the term's own.
func (t term) says(word string) bool {
	return slices.ContainsFunc(t.groups, func(g string) bool { return slices.Contains(strings.Fields(g), word) })
}
