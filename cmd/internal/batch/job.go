// Package batch runs the job over many recordings: discover them, work on
// them in parallel, publish the tables and the night page, and account for
// every one.
//
// Each recording is one task for one worker, from open to rename. Nothing is
// shared between them but the profiles and the flight list, which are only
// read. What the archive already holds under the key of a recording is not
// done again. A panic in a task becomes that recording's error. The engine
// knows no terminal: it reports through an Observer.
package batch

import (
	"time"

	"rollonset/ingest"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
	"rollonset/report/archive"
)

// Pages says which flights get a page.
type Pages string

// The choices of pages.
const (
	EventPages Pages = "events" // flights for which page.WorthAPage holds
	AllPages   Pages = "all"
	NoPages    Pages = "none"
)

// Job is one run of the batch.
type Job struct {
	Recordings []string // in path order
	Problems   []Problem
	Profiles   []*profile.Profile
	Flights    *ingest.FlightList
	Archive    *archive.Archive
	Limits     table.Limits
	Workers    int
	Pages      Pages
	Versions   archive.Versions
	Command    []string
	// Shard is the part of the recordings that this run does, zero for all.
	Shard Shard
	// Clock gives the times of the run record, which are no part of a result.
	Clock func() time.Time
}

// The states of a recording in the account.
const (
	Processed  = "processed"
	Skipped    = "skipped"   // done by an earlier run
	Duplicate  = "duplicate" // the same bytes as another recording of the run
	Unreadable = "unreadable"
)

// Result is what became of one recording. It does not hold the summary: a run
// of thousands keeps of each only what the account says, and reads the
// summaries back from the flight folders, one at a time.
type Result struct {
	archive.RecordingLine
	// Tally is what the account says of the flight: of all its attempts while
	// the workers are at it, and of those that count once the run has published.
	// It is zero for a recording that is unreadable or the same as another.
	Tally Tally
	// Seen are the attempts that other recordings hold too.
	Seen []*archive.Seen
	// Entry is the hash of the flight-list entry that was joined, "" for none.
	Entry string
	// Read, Detect and Write are the times spent.
	Read, Detect, Write time.Duration
}

// HasFlight says whether the recording has a flight folder that counts: it was
// read, now or before, and is not the same as another of the run.
func (r *Result) HasFlight() bool { return r.Folder != "" && r.Status != Duplicate }

// Observer is told of the progress; either func may be nil. They are called
// from the workers, one at a time.
type Observer struct {
	Started  func(path string)
	Finished func(r Result)
}
