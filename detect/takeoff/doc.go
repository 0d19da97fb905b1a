// Package takeoff finds the takeoff attempts of a recording and tells them
// from their look-alikes.
//
// The recipe:
//
//  1. Read the evidence: thrust per engine against the arming threshold,
//     without engines in reverse; air or ground; a speed over the ground.
//  2. Every stretch of advanced thrust that starts on the ground is a
//     candidate. Reductions shorter than AttemptRule.NoAdvance do not end it.
//  3. A candidate is a landing, a touch-and-go, a run-up, a taxi burst or an
//     attempt, by what the speed, the heading and the air state do.
//  4. An attempt gets its moments, each with the bracket that the samples
//     leave, and its outcome with the reason for it.
//
// The numbers are entries of the profile (AttemptRule, ThrustRule); their
// defaults are common practice, no published source.
package takeoff
