package archive

import (
	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
)

// RunSchemaVersion is the version of the layout of runs/<id>.json.
const RunSchemaVersion = 1

// Run is runs/<id>.json: what one run of the batch took in, did and could not
// do. Apart from Started, Finished and Stages it is a function of the inputs.
type Run struct {
	Schema     int             `json:"schema"`
	ID         string          `json:"id"`
	Program    string          `json:"program"`
	Detection  string          `json:"detection"`
	Started    string          `json:"started_utc"`
	Finished   string          `json:"finished_utc"`
	Command    []string        `json:"command"`
	Profiles   []ProfileInfo   `json:"profiles"`
	FlightList string          `json:"flight_list"`
	Recordings []RecordingLine `json:"recordings"` // in path order
	// Expected flights of the list for which no recording came.
	Missing []string    `json:"missing_flights"`
	Counts  RunCounts   `json:"counts"`
	Stages  []StageTime `json:"stages"`
	// Tables are the hashes of the tables of this run, paths relative to the
	// archive; Reviews is how far the chain of reviews went by then.
	Tables  []FileHash `json:"tables"`
	Reviews ChainHead  `json:"reviews"`
	// Fixed are the hashes of README.txt, the schema and the table of sightings
	// as this run left them; a later one may write others.
	Fixed []FileHash `json:"fixed_files"`
	// SHA256 is the hash of the bytes of this file in front of this field,
	// which stays the last. WriteRun fills it in.
	SHA256 string `json:"sha256"`
}

// RecordingLine is what became of one input file.
type RecordingLine struct {
	File    string `json:"file"`    // path as given
	Status  string `json:"status"`  // "processed", "skipped" (done before), "duplicate" or "unreadable"
	Problem string `json:"problem"` // why it could not be read, or was skipped; "" otherwise
	Remedy  string `json:"remedy"`  // what to do about the problem
	Key     string `json:"key"`
	Folder  string `json:"folder"` // of the flight, relative to the archive
	Profile string `json:"profile"`
	// Summary is the SHA-256 of summary.json, "" without one; Page says whether
	// the flight had a page.
	Summary string `json:"summary_sha256"`
	Page    bool   `json:"page"`
	// Again is why the recording was done, or tried, although an earlier run had
	// done so; "" when none had.
	Again string `json:"done_again"`
	// Tried is a hash of all that decided that the recording could not be read,
	// "" when it is to be tried again in any case. Since is the run that tried
	// it, "" when this one did.
	Tried string `json:"tried_with_sha256"`
	Since string `json:"unreadable_since_run"`
}

// RunCounts are the figures of the account.
type RunCounts struct {
	Received   int `json:"received"`
	Processed  int `json:"processed"`
	Skipped    int `json:"skipped"`    // done by an earlier run
	Duplicates int `json:"duplicates"` // the same bytes as another recording of the run
	Unreadable int `json:"unreadable"`
	// Again are those done, or tried, again; see RecordingLine. Unchanged are the
	// unreadable ones that were not read again, because nothing changed.
	Again     int `json:"done_again"`
	Unchanged int `json:"unreadable_not_read_again"`

	Attempts int `json:"attempts"`
	// Repeated are attempts that another recording of the archive counts for;
	// Attempts and what follows are without them.
	Repeated int `json:"attempts_counted_elsewhere"`
	Takeoffs int `json:"takeoffs"`
	Rejects  int `json:"rejects"`
	// What could not be told: the end of an attempt, the comparison of its
	// warning, and checks, of Checks that were asked on all attempts.
	EndsUntold     int `json:"attempts_undetermined"`
	WarningsUntold int `json:"warnings_untold"`
	Checks         int `json:"checks"`
	ChecksUntold   int `json:"checks_untold"`

	Events int `json:"events"`
	High   int `json:"events_high"`
	Medium int `json:"events_medium"`
	Low    int `json:"events_low"`
}

// AddAttempts adds the figures of attempts, checks and events of another; those
// of recordings stay.
func (c *RunCounts) AddAttempts(o RunCounts) {
	c.Attempts += o.Attempts
	c.Repeated += o.Repeated
	c.Takeoffs += o.Takeoffs
	c.Rejects += o.Rejects
	c.EndsUntold += o.EndsUntold
	c.WarningsUntold += o.WarningsUntold
	c.Checks += o.Checks
	c.ChecksUntold += o.ChecksUntold
	c.Events += o.Events
	c.High += o.High
	c.Medium += o.Medium
	c.Low += o.Low
}

// AddUntold counts what of an attempt could not be told.
func (c *RunCounts) AddUntold(a *AttemptSummary) {
	if a.Outcome == string(takeoff.Undetermined) {
		c.EndsUntold++
	}
	if a.Warning != nil && a.Warning.Verdict == string(configuration.WarnUnknown) {
		c.WarningsUntold++
	}
	for i := range a.Findings {
		c.Checks++
		if a.Findings[i].State == string(configuration.Unknown) {
			c.ChecksUntold++
		}
	}
}

// StageTime is the time all workers together spent in one stage.
type StageTime struct {
	Stage   string  `json:"stage"` // "read", "detect", "write"
	Seconds float64 `json:"seconds"`
}
