// Package score compares what the program found with what really happened.
//
//  1. Compare takes the rows of truth.csv and the summaries of an archive and
//     joins them by the name of the recording.
//  2. Attempts are matched by overlapping times within one recording; what is
//     left over was missed or invented.
//  3. On each matched attempt every check, the warning, the reject and its
//     order are compared in three values: hit, miss, false alarm, wrongly
//     "cannot be told", and guessed where the data cannot tell.
//  4. Every instant and measure gives an error and says whether its stated
//     bracket holds the truth; the report has their distribution.
//
// The package knows the words of a summary and of truth.csv, not how either
// was made.
package score
