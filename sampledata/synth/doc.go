// Package synth makes recordings whose answer is known: it simulates taxi,
// takeoff rolls, stops, climbs and landings with physics, records them as a
// recorder would, and writes beside each recording what really happened.
//
// How a flight is made:
//
//  1. a recipe says what is to happen: how the roll starts, how it ends,
//     which check is out of limits and when, what the warning does, which
//     look-alikes and sensor faults there are (recipe.go);
//  2. a pilot plays the recipe on the simulator, a point mass with engines,
//     brakes, wind and a configuration, in steps of 1/64 s (pilot.go, sim.go);
//  3. the truth is read off the full-rate state of the simulator and the
//     limits of the profile, never off a detector (truth.go);
//  4. the recorder samples each parameter at its own rate and phase, adds
//     noise, quantises, and writes the recorded names, units and state words
//     of the profile, with the faults of the recipe (recorder.go, fault.go);
//  5. a writer puts the samples into CSV, Parquet or Arrow IPC (write.go).
//
// The same seed gives the same bytes on any machine: random numbers come from
// a PCG per flight, nothing iterates over a map, the simulator calls no
// function of math whose last bit differs between processors, and a product
// that is added to something is rounded first, float64(a*b) + c, because the
// language allows a processor to fuse the two otherwise.
//
// Every aircraft, operator, aerodrome and figure here is invented. Ranges of
// thrust, friction and recorder resolution follow published sources where
// one is named.
package synth
