// Package archive is the archive on disk: flight folders, tables, run
// records, and the copies of profiles that prove a result. It turns what was
// assessed into files and reads them back. It decides nothing, adds no fact,
// knows no clock and starts no goroutine.
//
// The recipe:
//
//  1. Create opens an archive for writing, Open one for reading.
//  2. KeepProfile copies the profile under its hash.
//  3. Key names a result before there is one; Done says whether the archive
//     holds it, so that a run leaves out what an earlier one did.
//  4. Publish writes the flight folder of an assessment: clip, page, then
//     summary.json. A folder with a summary is complete.
//  5. WriteTables makes the Parquet tables of a run from its summaries, and
//     WriteRun records what the run did.
//  6. Summaries, Read, Find and ReadRun read back; View reads the tables of
//     all runs as one; TablesVersion lists their columns.
//  7. AddReviews appends what persons decided about events, Reviews reads it
//     and finds the decisions about an event again by aircraft, instant and
//     check; Events lists events with them.
//
// How a later change is found: Key and KeepProfile name results and profiles
// by hashes; a summary carries the hash of its clip; a run record those of
// summaries (Seal) and tables; WritePage and WriteRun put the hash of a page
// or a run record at its own end; each line of the reviews carries that of
// the line before it. evidence.Verify follows them all.
//
// The layout:
//
//	flights/2031/03/07/ZZ-Q17-MA12-0411-0673bb4d/summary.json   the truth; schema in schema/
//	                                            /clip.parquet   the samples that prove it
//	                                            /summary.html   the page
//	tables/attempts/run=<id>/part-0.parquet                     also findings, recordings
//	runs/<id>.json
//	reviews.jsonl
//	tables/sightings/part-0.parquet                             attempts that several recordings hold
//	runs/<id>.html                                              the page of a run
//	index.html, trends.html                                     the pages of the night and of the trends
//	profiles/<sha256>.yaml
//	keys/06/0673bb4d…                                           lookup of Done
//	schema/summary.schema.json
//
// Everything is written whole or not at all (see WriteFile), but for a new lookup,
// which counts for nothing until it ends as one, and the same result gives the
// same bytes. Figures are rounded in one place, number.go:
// six decimals, and times to the nanosecond.
package archive
