// Package archive is the archive on disk: flight folders, tables, run
// records, and the copies of profiles that prove a result. It turns what was
// assessed into files and reads them back; it decides nothing, knows no
// clock and starts no goroutine.
package archive
