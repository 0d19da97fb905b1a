// Package sampledata carries the reference recordings with which the program
// tests itself on a user's machine: a part of the sample night, the profiles of
// its invented operator, and the truth of the simulator that made it.
package sampledata

import "embed"

// Where the parts lie in Reference.
const (
	FleetDir      = "fleet"
	RecordingsDir = "night/recordings"
	FlightsFile   = "night/flights.csv"
	TruthFile     = "night/truth.csv"
)

// Reference holds the parts. Of the night it has the small recordings that show
// most: all three types, every container, rejects of each class and after V1, a
// second attempt with a correction, a landing that is none, a check that cannot
// be told, a warning without a cause. They are named by the numbers of their
// flights, which a new simulation keeps.
//
//go:embed fleet/*.yaml night/flights.csv night/truth.csv
//go:embed night/recordings/*MRW101* night/recordings/*MRW109* night/recordings/*MRW112*
//go:embed night/recordings/*MRW117* night/recordings/*MRW119* night/recordings/*MRW120*
//go:embed night/recordings/*MRW127* night/recordings/*MRW131* night/recordings/*MRW132*
//go:embed night/recordings/*MRW135* night/recordings/*MRW139* night/recordings/*MRW142*
var Reference embed.FS
