// Package detect turns a recording and a profile into an assessment: the
// takeoff attempts, what the checks found on each, the rejects measured, the
// events that a person must see. It works in memory only: no files, no clock,
// no goroutines, no randomness; the same input gives the same assessment.
//
// The recipe is Assess:
//
//  1. takeoff.Find finds the attempts and their look-alikes.
//  2. reject.Measure measures the attempts that were given up, because the
//     first action ends the judging of the configuration.
//  3. configuration.Judge runs the profile's checks over each attempt, and
//     configuration.CrossCheck compares with the recorded warning.
//  4. Findings, verdicts and rejects become events, worst first.
package detect
