// Package configuration runs the checks of a profile over one takeoff
// attempt, in three-valued logic, and compares the result with the recorded
// takeoff warning.
//
// The recipe:
//
//  1. The judged span runs from the onset to the first of rotation (or
//     lift-off, as the check says), the start of a reject, the end of the
//     data. Source of the end conditions: 14 CFR 25.703(b). What happens after
//     a reject has started, speedbrakes out among it, is correct procedure and
//     never a finding.
//  2. Each sample of the watched parameter inside the span, and the samples
//     around its edges, gets a state: within, outside, or not told.
//  3. Outside samples join into stretches; a stretch that lasts the
//     persistence counts. A change that lies between two samples around the
//     onset is not told: the verdict must not depend on luck.
//  4. A finding is outside when a stretch counts, within when the onset and
//     nearly all of the span were told and within, and otherwise unknown with
//     the reason.
//  5. The warning cross-check has five verdicts; a silent warning counts
//     against the aircraft only where the profile's certification basis
//     requires it.
package configuration
