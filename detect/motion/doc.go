// Package motion says how fast an aircraft was over the ground at each instant
// of one roll and stop. A recorded ground speed comes once a second, rounded,
// and late by an unknown part of a second; the longitudinal acceleration comes
// on time and several times as often, but with an offset of its own and of the
// slope of the runway. Each has what the other lacks:
//
//  1. The acceleration, freed of what it feels of the pitch, is summed up to a
//     speed. Its offset, its scale and the speed it started from are open.
//  2. For each lag that a ground speed can have, the three are fitted to the
//     samples of the ground speed by least squares. The lag is the mean of the
//     lags weighted by how well they fit, its bracket what holds nearly all of
//     the weight.
//  3. The fitted sum is the speed between the samples.
//
// Where the two do not agree, or one of them is not there, the ground speed
// stands alone and its lag is open from zero to MaxLag.
package motion
