// Package table reads columns out of a recording's file: it finds out what
// the file is, lists its columns, and decodes only those that are asked for,
// in one pass and in memory bounded by what was asked. It knows nothing of
// aviation; what a column means is decided by its callers.
//
//  1. Open recognises the container by its first bytes, never by the file's
//     extension: CSV text, Parquet, Arrow IPC; CSV and Arrow also inside gzip
//     or zstd. It reads the header and no sample.
//  2. Columns and Metadata say what the file holds.
//  3. Read decodes the wanted columns. Each Want says how the cells are to be
//     understood: as a Number, as a State (a word of a discrete), as Seconds
//     of the file's own clock, or as a Timestamp.
//  4. Digest is the SHA-256 of the bytes as they lie on disk. After Read of a
//     CSV or Parquet file it costs nothing more: Read had it hashed beside.
//
// # What a cell can be
//
// A cell is a sample, or no sample, or bad. No sample: a blank cell, NaN in
// any case, a null, or one of Options.NoSample. Bad: text that is not what the
// Want asks for; it is counted, and the first few are kept with their row.
//
// # Lists and long files
//
// A cell of Parquet or Arrow may be a list of samples; ColumnData.Slots says
// which of its row each one is. ReadLong reads files in which each row is one
// sample of one parameter and keeps the names that are asked for.
//
// # CSV as it is exported
//
// Cells are separated by commas, semicolons or tabs; numbers have a decimal
// point or comma; lines end in LF or CR LF; the text is UTF-8, UTF-16 with a
// byte order mark, or Latin-1. Lines before the header become Metadata, a row
// of units below it becomes Column.Unit. Open finds all of that out of the
// first 256 KiB of the text; Options says what is known beforehand. What was
// taken for granted is a Note. Dialect holds what was found.
//
// # Rows
//
// ColumnData.Rows counts data rows from 0. A message and the fields named Row
// of Note and BadCell count as a person does in an editor: from 1, and in CSV
// the header is line 1, so the first data row is line 2. Data.Line converts.
//
// # Trust
//
// A file may be damaged or hostile. Limits bounds what it can make the reader
// do; a panic of a library becomes an Error that names the file; everything
// is decoded in the caller's goroutine, so nothing can escape that net. Only
// hashing runs beside, in goroutines of its own: it cannot panic, and none
// outlives the File.
package table
