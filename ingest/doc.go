// Package ingest turns a file and the profiles into a recording.
//
// The recipe is Open:
//
//  1. table.Open recognises the container by its content.
//  2. A clip of ours restores itself. For any other file Choose picks the
//     profile: by the tail where the file itself, its name or the flight list
//     tells it, else by the recorded names, and refuses when two fit.
//  3. Only the columns that the profile names are decoded; of a file with a row
//     for each sample, only the names that it has. In fast flight far from any
//     runway, where air/ground and every speed agree, the others are decoded in
//     one stretch out of several (aloft.go). A note says so; the recording is
//     read again in full when anything in it is odd.
//  4. Clock readings become times that only go up: clocks start again at
//     midnight, counters wrap, rows stand a little out of order, a clock is set
//     on the ground. What none of that explains is an error.
//  5. Cells become samples in canonical units at instants since the first; the
//     file's own word on units goes before the profile's. What is odd becomes a
//     note, never a guess.
//  6. quality masks what cannot be, and sanity what was misread as a whole;
//     proof of life is taken over the whole recording, as far as it was read.
//  7. The flight list adds what was planned.
//
// Inspect lists what a file holds without any profile, guesses what it means,
// and drafts a first profile for a person to confirm.
//
// The package knows no threshold of a detector and no event.
package ingest
