// Package sanity finds parameters that were misread as a whole: metres per
// second taken for knots, an inverted discrete, two engines exchanged, a clock
// in milliseconds. quality masks the samples that a sensor got wrong; here a
// sensor is right and the profile, or the export, says something wrong about it.
//
// A misread parameter is worse than a missing one, because it gives findings
// that look well founded. So what contradicts the rest of the recording is not
// believed: every sample of it is masked as Doubted, a note says why and what
// to do, and every finding that needs it cannot be told.
//
// The checks, in the order in which they are made:
//
//  1. the clock: sample periods against the expected rates, and how long the
//     aeroplane takes from 40 to 100 kt (clock.go);
//  2. whatever lies outside the possible range most of the time (ranges.go);
//  3. speeds, acceleration and positions against each other (speeds.go);
//  4. radio height against pressure altitude (heights.go);
//  5. air/ground, parking brake, reversers (discretes.go);
//  6. speedbrake lever, thrust, engines (levers.go, engines.go), and whether
//     idle thrust passes the arming threshold (threshold.go);
//  7. weight against the plan and the tables of the profile (weight.go);
//  8. angles that look like radians (angles.go, leverunits.go).
//
// Every bound is far from what an aeroplane does: a false doubt hides findings.
// Where two parameters contradict each other and nothing tells which is wrong,
// neither is believed. A check that lacks its evidence says nothing. The bounds
// are common practice, no published source.
//
// What cannot be told, because right and wrong look alike: a factor near one
// (mph for kt, 15 %), a trim in units read as degrees (no fixed factor), brake
// pressure in another unit, reversers exchanged that always move together, a
// discrete that never changes, left and right exchanged, and anything of which
// the recording holds too little motion.
package sanity
