// Package evidence proves what an archive holds, and hands it on without
// showing who flew. It derives findings again and never makes new ones.
//
// To prove:
//
//  1. Verify holds an archive to all its hashes, CheckBundle a bundle to its.
//  2. The replay and the reassessment run detection on the clips, under the
//     stored profiles or under others, and compare.
//
// To hand on:
//
//  1. Load reads a flight with its clip and profile.
//  2. Census and Groups say which months, types and aircraft are common enough
//     to be named; Key makes pseudonyms of the rest.
//  3. Cover.Deidentify takes identity out of the clip and the profile and
//     derives the summary from those. What is not carried over is not there.
//  4. WriteBundle writes flights as a zip, Shared.Write tables.
//
// To let go: Plan applies Rules to an archive, Retention carries the plan out.
//
// A copy never shows: tail, flight number, day and time of day, names of
// files, positions, remarks, hashes by which a file could be looked up, how
// long the recording or the leg was, how far apart two legs were; nor, unless
// asked for, places. It does show, because findings follow from them: speeds,
// weights in a clip, margins, the limits of a type that is common enough.
package evidence
