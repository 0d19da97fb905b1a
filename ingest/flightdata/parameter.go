// Package flightdata holds the nouns of a recording: parameters, series of
// samples, recordings, the flight-list entry that may go with one, and the
// rules by which a value is read at an instant. It does no I/O and knows no
// limit.
package flightdata

import (
	"slices"
	"strconv"
	"strings"

	"rollonset/ingest/unit"
)

// Parameter is the canonical name of one recorded quantity, such as
// "ground_speed". Quantities that exist once per engine, or on the left and
// right, carry a suffix: "n1.2", "brake_pressure.left".
type Parameter string

// The core set, named after the quantities in the published recorder lists
// (14 CFR part 121 appendix M; ICAO Annex 6 Part I appendix 8). Parameters
// that exist per engine are named without the engine here; see Engine.
const (
	GroundSpeed      Parameter = "ground_speed"
	Airspeed         Parameter = "airspeed"
	N1               Parameter = "n1"
	EPR              Parameter = "epr"
	Torque           Parameter = "torque"
	ThrustLever      Parameter = "thrust_lever"
	ThrustReverser   Parameter = "thrust_reverser"
	AirGround        Parameter = "air_ground"
	RadioHeight      Parameter = "radio_height"
	PressureAltitude Parameter = "pressure_altitude"
	LongAcceleration Parameter = "longitudinal_acceleration"
	Pitch            Parameter = "pitch"
	Heading          Parameter = "heading"
	FlapLever        Parameter = "flap_lever"
	FlapPosition     Parameter = "flap_position"
	SlatPosition     Parameter = "slat_position"
	StabilizerTrim   Parameter = "stabilizer_trim"
	RudderTrim       Parameter = "rudder_trim"
	AileronTrim      Parameter = "aileron_trim"
	ParkingBrake     Parameter = "parking_brake"
	SpeedbrakeLever  Parameter = "speedbrake_lever"
	SpoilerPosition  Parameter = "spoiler_position"
	MainGearSteering Parameter = "main_gear_steering"
	BrakePressure    Parameter = "brake_pressure"
	Autobrake        Parameter = "autobrake"
	TakeoffWarning   Parameter = "takeoff_warning"
	MasterWarning    Parameter = "master_warning"
	GrossWeight      Parameter = "gross_weight"
	CenterOfGravity  Parameter = "center_of_gravity"
	Latitude         Parameter = "latitude"
	Longitude        Parameter = "longitude"
	V1               Parameter = "v1"
	VR               Parameter = "vr"
	OutsideAirTemp   Parameter = "outside_air_temperature"
	WindSpeed        Parameter = "wind_speed"
	WindDirection    Parameter = "wind_direction"
)

// Kind says how the values of a parameter behave between samples.
type Kind uint8

// A continuous parameter is interpolated between samples, a discrete one
// holds its state until the next sample.
const (
	Continuous Kind = iota
	Discrete
)

// Definition is what the program knows of a canonical parameter.
type Definition struct {
	Name Parameter
	Kind Kind
	// Dims are the dimensions in which the parameter may be recorded, most
	// usual first. A trim may be in units or degrees, a lever in degrees or
	// percent; such a parameter keeps the dimension that the profile gives.
	Dims []unit.Dimension
	// States of a discrete; a Series stores the index into this list.
	States []string
	// PerEngine parameters exist as name.1 … name.N, Sided ones also as
	// name.left and name.right.
	PerEngine, Sided bool
	// Circular values wrap at 360 degrees.
	Circular bool
	// Lo and Hi bound what is physically possible, in the canonical unit of
	// Dims[0]; both zero when nothing can be said. Outside is masked.
	Lo, Hi float64
	// Rate is the fastest change per second that the aeroplane can do, in
	// the canonical unit of Dims[0]; zero when nothing can be said.
	Rate float64
}

func c(name Parameter, lo, hi, rate float64, dims ...unit.Dimension) Definition {
	return Definition{Name: name, Kind: Continuous, Dims: dims, Lo: lo, Hi: hi, Rate: rate}
}

func d(name Parameter, states ...string) Definition {
	return Definition{Name: name, Kind: Discrete, States: states}
}

func perEngine(d Definition) Definition { d.PerEngine = true; return d }
func sided(d Definition) Definition     { d.Sided = true; return d }
func circular(d Definition) Definition  { d.Circular = true; return d }

// definitions lists the core set. Ranges and rates are wide plausibility
// bounds, common practice without a published source unless the recorder
// lists give the range (14 CFR part 121 appendix M: longitudinal acceleration
// ±1 g, pitch ±75 degrees, heading 0–360 degrees).
var definitions = []Definition{
	c(GroundSpeed, -1, 700, 20, unit.Speed),
	sided(c(Airspeed, -1, 500, 25, unit.Speed)),
	perEngine(c(N1, -1, 130, 40, unit.Ratio)),
	perEngine(c(EPR, 0.5, 3, 1, unit.EPR)),
	perEngine(c(Torque, -20, 150, 60, unit.Ratio)),
	perEngine(c(ThrustLever, -60, 130, 0, unit.Angle, unit.Ratio)),
	perEngine(d(ThrustReverser, "stowed", "transit", "deployed")),
	d(AirGround, "ground", "air"),
	c(RadioHeight, -50, 10000, 0, unit.Length),
	c(PressureAltitude, -2000, 60000, 0, unit.Length),
	c(LongAcceleration, -1.2, 1.2, 0, unit.Acceleration),
	c(Pitch, -75, 75, 20, unit.Angle),
	circular(c(Heading, -360, 360, 0, unit.Angle)),
	sided(c(FlapLever, -5, 60, 0, unit.Angle, unit.Ratio, unit.Pure)),
	sided(c(FlapPosition, -5, 60, 8, unit.Angle, unit.Ratio)),
	sided(c(SlatPosition, -5, 60, 15, unit.Angle, unit.Ratio)),
	c(StabilizerTrim, -20, 25, 3, unit.Trim, unit.Angle),
	c(RudderTrim, -40, 40, 0, unit.Angle, unit.Trim, unit.Ratio),
	c(AileronTrim, -40, 40, 0, unit.Angle, unit.Trim, unit.Ratio),
	d(ParkingBrake, "released", "set"),
	sided(c(SpeedbrakeLever, -20, 130, 0, unit.Angle, unit.Ratio)),
	sided(c(SpoilerPosition, -20, 110, 0, unit.Angle, unit.Ratio)),
	d(MainGearSteering, "centered", "not centered"),
	sided(c(BrakePressure, -100, 6000, 0, unit.Pressure)),
	d(Autobrake, "off", "rto", "other"),
	d(TakeoffWarning, "off", "on"),
	d(MasterWarning, "off", "on"),
	c(GrossWeight, 500, 700000, 0, unit.Mass),
	c(CenterOfGravity, -20, 80, 0, unit.Ratio),
	c(Latitude, -90, 90, 0, unit.Angle),
	c(Longitude, -180, 360, 0, unit.Angle),
	c(V1, 0, 250, 0, unit.Speed),
	c(VR, 0, 250, 0, unit.Speed),
	c(OutsideAirTemp, -100, 70, 0, unit.Temperature),
	c(WindSpeed, 0, 300, 0, unit.Speed),
	circular(c(WindDirection, -360, 360, 0, unit.Angle)),
}

// Definitions lists the core set in its fixed order.
func Definitions() []Definition { return slices.Clone(definitions) }

// Base is the parameter without its engine number or side.
func (p Parameter) Base() Parameter {
	if i := strings.LastIndexByte(string(p), '.'); i >= 0 {
		return p[:i]
	}
	return p
}

// Engine is the parameter of one engine, counted from 1: N1.Engine(2) is
// "n1.2".
func (p Parameter) Engine(n int) Parameter {
	return p + "." + Parameter(strconv.Itoa(n))
}

// EngineNumber is the engine that the name ends in, zero when it ends in none.
func (p Parameter) EngineNumber() int {
	i := strings.LastIndexByte(string(p), '.')
	if i < 0 {
		return 0
	}
	n, err := strconv.Atoi(string(p[i+1:]))
	if err != nil || n < 1 || p[:i].Engine(n) != p {
		// "n1.02" and "n1.+2" are not read: two names of one engine would be
		// two parameters.
		return 0
	}
	return n
}

// Left and Right are the two sides of a sided parameter.
func (p Parameter) Left() Parameter  { return p + ".left" }
func (p Parameter) Right() Parameter { return p + ".right" }

// Define finds the definition of a canonical parameter, suffix and all, and
// whether the core set has it. "n1" alone, without its engine, is not a
// parameter of a recording; "flap_position" alone is.
func Define(p Parameter) (Definition, bool) {
	base := p.Base()
	for _, d := range definitions {
		if d.Name != base {
			continue
		}
		suffix := strings.TrimPrefix(string(p), string(base))
		switch {
		case d.PerEngine:
			return d, p.EngineNumber() > 0
		case suffix == "":
			return d, true
		default:
			return d, d.Sided && (suffix == ".left" || suffix == ".right")
		}
	}
	return Definition{}, false
}
