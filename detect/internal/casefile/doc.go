// Package casefile reads the series language of the detection tests: a few
// lines of samples, and what must be found in them. A case is meant to be
// written and read by someone of the trade, without Go.
//
//	# flaps at 5 at the onset, given up on the warning
//	case: flaps 5, reject on the warning
//	source: 14 CFR 25.703(a)(1), read      (optional; printed with a failure)
//	profile: quad                          (profiles/quad.yaml beside or above)
//	length: 150s                           (where the recording ends)
//	plan: v1 140, planned_flap 10          (the flight list, canonical units)
//	doubted: parking_brake it reads set while it rolls   (optional)
//	ground_speed  1 Hz  0 until 60s, ..40 in 12s, ..0 in 9s, rest
//	n1.*          1 Hz  25 until 58s, ..95 in 4s, 95 until 73s, ..25 in 3s, rest
//	n1.2          1 Hz  25 rest
//	parking_brake 1 Hz  set until 50s, released rest
//	gross_weight  0.25 Hz from 2s steps 40  300000 rest
//	expect attempt 1: rejected
//	  thrust advance: 60.6 ±0.1, in bracket
//	  finding flap lever: out of limits, margin -4.5, severity low
//	  others: within limits
//	expect look-alike: run-up
//	expect note: "not believed"
//
// A case begins with "case:". "like: NAME" takes profile, length, plan and
// series over from an earlier case of the file; a series written again
// replaces it, "without: NAME, NAME" takes series away. "doubted: NAME REASON"
// says that a parameter as a whole is not believed. What is expected is
// never taken over. A # begins a comment, at the start of a line or after a
// blank.
//
// # Series
//
// A series line has the parameter, its rate, and terms separated by commas.
// A * stands for everything of that name in the profile: n1.* is every
// engine, brake_pressure.* both sides. "from 2s" shifts the samples, "steps
// 0.2" rounds every value to a multiple, as a recorder does. Terms follow each
// other in time:
//
//	5 until 60s      hold 5 until that instant
//	5 for 10s        hold 5 for so long
//	..40 in 12s      straight from the last value to 40
//	..40 until 72s   the same, to an instant
//	0..40 in 12s     straight between two values
//	set once         one sampling period, for a flicker
//	gap until 80s    no samples; also "for"
//	5 rest           hold to the end of the recording; "rest" alone holds
//	                 the last value
//
// "masked REASON" after a term masks its samples, e.g. "35 until 66s masked
// below the airspeed floor". A discrete takes the names of its states. Where
// the terms end, the series ends.
//
// # Expectations
//
// The attempts and look-alikes of a recording must be exactly the expected
// ones, in time order; "expect no attempt" says that there is none. The lines
// below an attempt are facts; what no line names is not looked at.
//
//	NAME: 60.6 ±0.1          an instant in seconds, a speed, a measure
//	NAME: 2348 ±1%           a share of the figure
//	NAME: 75 in bracket      75 lies in the bracket that is given
//	NAME: bracket at most 2  the bracket is no wider
//	NAME: unknown            did not happen or cannot be told
//	NAME: words              a text, equal; in quotes: contained
//	NAME: a; b               a list, exactly; "none" for an empty one
//
// A figure without ± must agree to 1e-6. Facts of one line are separated by
// commas. "finding CHECK: …" and "warning: …" have facts of their own; see
// findingFacts and warningFacts. "others: within limits" says what every
// finding without a line of its own is.
package casefile
