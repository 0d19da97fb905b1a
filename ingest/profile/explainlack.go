package profile

import (
	"fmt"
	"math"
	"slices"

	"rollonset/ingest/flightdata"
)

// lack is one parameter, or one of several, that a profile may not map and
// what follows for the results.
type lack struct {
	anyOf []flightdata.Parameter // bases; sides and engines count
	text  string
}

// lacks are in the order in which a reader of the results would miss them.
var lacks = []lack{
	{[]flightdata.Parameter{flightdata.GroundSpeed}, "ground speed: speeds are airspeeds, which say nothing while the aircraft is slow"},
	{[]flightdata.Parameter{flightdata.AirGround}, "air/ground state: on the ground or airborne is told from height and speed"},
	{[]flightdata.Parameter{flightdata.RadioHeight}, "radio height: lift-off is not confirmed by height"},
	{[]flightdata.Parameter{flightdata.LongAcceleration}, "longitudinal acceleration: roll start comes from the speed alone"},
	{[]flightdata.Parameter{flightdata.Pitch}, "pitch: rotation is not seen, and what ends there is judged to lift-off"},
	{[]flightdata.Parameter{flightdata.Heading}, "heading: a taxi burst in a turn and a directional deviation are not recognised"},
	{[]flightdata.Parameter{flightdata.Airspeed}, "airspeed: speeds are ground speeds only"},
	{[]flightdata.Parameter{flightdata.FlapLever, flightdata.FlapPosition}, "flaps: no flap setting is known"},
	{[]flightdata.Parameter{flightdata.ThrustReverser}, "thrust reversers: reverse thrust is told from a takeoff by the flight state alone, and is missing among the actions of a reject"},
	{[]flightdata.Parameter{flightdata.BrakePressure}, "brake pressure: brakes are missing among the actions of a reject"},
	{[]flightdata.Parameter{flightdata.SpeedbrakeLever, flightdata.SpoilerPosition}, "speedbrakes: they are missing among the actions of a reject"},
	{[]flightdata.Parameter{flightdata.MasterWarning}, "master warning: it is missing among what may precede a reject"},
	{[]flightdata.Parameter{flightdata.GrossWeight}, "gross weight: brake energy needs the weight of the flight list"},
	{[]flightdata.Parameter{flightdata.V1}, "V1: before or after V1 is told only when the flight list gives V1"},
	{[]flightdata.Parameter{flightdata.Latitude}, "position: distances come from the ground speed alone"},
}

// untold writes what cannot be told with this profile.
func (e *explainer) untold() {
	e.heading("What cannot be told with this profile")
	var lines []string
	for _, l := range lacks {
		if !slices.ContainsFunc(l.anyOf, e.maps) {
			lines = append(lines, "Not mapped: "+l.text+".")
		}
	}
	if e.p.Warning == nil {
		lines = append(lines, "No warning is mapped: a missing or needless warning is not recognised.")
	}
	if math.IsNaN(e.p.Reject.BrakesOn) && e.maps(flightdata.BrakePressure) {
		lines = append(lines, "reject gives no brakes_on: when the brakes were applied cannot be told.")
	}
	if math.IsNaN(e.p.Reject.LeverOut) && e.maps(flightdata.SpeedbrakeLever) {
		lines = append(lines, "reject gives no lever_out: when the speedbrake lever was pulled cannot be told.")
	}
	if e.p.Reject.BrakedWheels == 0 {
		lines = append(lines, "reject gives no braked_wheels: brake energy per wheel cannot be told.")
	}
	for i := range e.p.Checks {
		if c := &e.p.Checks[i]; c.OneOf != nil && c.OneOf.Rule == PlannedSetting {
			lines = append(lines, fmt.Sprintf("Check %q can be told only for flights with a planned value in the flight list.", c.Name))
		}
	}
	if names := e.withoutRate(); len(names) > 0 {
		lines = append(lines, "No rate is expected of "+listed(names, "and")+": a recorder that delivers too little is not noticed there.")
	}
	if len(lines) == 0 {
		lines = append(lines, "Every parameter that the program asks for is mapped.")
	}
	for _, s := range lines {
		e.para("  - ", s)
	}
}

func (e *explainer) withoutRate() []string {
	var out []string
	for _, rule := range e.p.Parameters {
		if rule.Rate == 0 {
			out = append(out, string(rule.Parameter))
		}
	}
	return out
}

// maps says whether the parameter is mapped: whole, by side or by engine.
func (e *explainer) maps(base flightdata.Parameter) bool {
	return slices.ContainsFunc(e.p.Parameters, func(r ParameterRule) bool {
		return r.Parameter == base || r.Parameter.Base() == base
	})
}
