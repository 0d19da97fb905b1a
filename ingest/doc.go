// Package ingest turns a file and the profiles into a recording.
//
// The recipe is Open:
//
//  1. table.Open recognises the container by its content.
//  2. A clip of ours restores itself. For any other file Choose picks the
//     profile: by the tail where the file name or the flight list tells it,
//     else by the recorded names, and refuses when two fit.
//  3. Only the columns that the profile names are decoded.
//  4. Cells become samples in canonical units, times become instants since the
//     first sample; what is odd becomes a note, never a guess.
//  5. quality masks what cannot be, and sanity what was misread as a whole;
//     proof of life is taken over the whole recording.
//  6. The flight list adds what was planned.
//
// Inspect lists what a file holds without any profile, guesses what it means,
// and drafts a first profile for a person to confirm.
//
// The package knows no threshold of a detector and no event.
package ingest
