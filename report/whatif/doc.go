// Package whatif counts how many events a changed limit would give, from the
// values and margins that the archive has stored, in seconds and without any
// recording: the question that is asked before somebody changes a profile.
//
//  1. [ParseChange] reads "trim.margin=0.5" or "speedbrake lever.max=3".
//  2. [Count] reads the findings of a view once and gives a [Result] for each
//     check that is changed: events now and then, by month.
//
// What is stored of a check on one attempt is the value at the onset, the
// limits that applied there, and the least margin over the judged time. From
// these a verdict under other limits is sometimes certain and sometimes not:
// a value that went out after the onset may have done so for less than the
// check's persistence, and a band with two edges does not tell on which side
// the least margin lay. So a count has two ends, at least and at most; they
// meet where everything is certain. Bands over weight and CG, settings and
// states cannot be answered from one margin by an edge; they are refused, and
// reassess answers them from the clips.
package whatif
