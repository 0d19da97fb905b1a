// Package reject measures a rejected takeoff: what was done first and in
// which order, the speeds, distances, deceleration and energy, and what was
// recorded shortly before. It never says why; a cue precedes an action.
//
// The first action is the earliest of thrust reduction, brakes, speedbrake and
// reverse, because V1 is defined by it (14 CFR 1.2). Every speed carries the
// bracket of its instant, and an order closer than the brackets is said to be
// not resolvable (14 CFR part 121 appendix M correlates data to 1 s only).
package reject
