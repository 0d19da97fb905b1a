/*
How a recording is read, in full

What follows belongs to "How a recording is read" above: its keys time, csv,
long and identity.

# time

  - column: one name, or a list in order of preference
  - form: one of
    seconds, a number of seconds from any origin;
    milliseconds, the same in milliseconds;
    seconds of day, seconds since midnight, which start again there;
    HH:MM:SS, a time of day with or without decimals, the same;
    RFC 3339, date and time of day with offset;
    ISO 8601, the same, with T or a space between them, in UTC where no offset
    is written;
    frame counter, a whole number that counts frames.
    Parquet and Arrow timestamps of any unit are read by RFC 3339, ISO 8601
    and HH:MM:SS alike
  - date_column (optional): for a time of day, the column of the date:
    2031-05-14, 20310514 or 14.05.2031. It may come some rows late at midnight
  - step: how long a frame of a frame counter lasts
  - wraps_at (optional): the count at which a frame counter is 0 again
  - rows (optional): how many rows share one written time, as where times have
    whole seconds and there are eight rows in each; they lie evenly in step

For example:

	time: {column: UTC, form: HH:MM:SS, date_column: DATE, step: 1 s, rows: 8}

or

	time: {column: FRAME, form: frame counter, step: 4 s, rows: 4, wraps_at: 4096}

A key that belongs to another form is a mistake:

	# wrong: date_column belongs to a time of day, not to form: seconds
	time: {column: TIME, form: seconds, date_column: DATE}

Rows that stand a little out of order are sorted, rows of one time are merged,
gaps are kept. A clock that is set back by less than a minute on the ground is
taken as right from there on, and the rows before it as that much earlier. Time
that runs backwards otherwise is an error. All of it is noted with its row.

# csv

Optional, and so is each key; what is left out is found out of the file.

  - delimiter: comma, semicolon or tab
  - decimal: point or comma

The header is the first line that holds the time column; lines before it are
metadata: "key: value", "# key = value", or two cells. A row of units below the
header is held against the units of the profile: another unit of the same kind
is converted and noted, one of another kind is an error.

	csv: {delimiter: semicolon, decimal: comma}

# long

Optional. In a long recording each row is one sample of one parameter. The
columns under parameters are then the names that stand in its cells, and names
that the profile does not have are skipped. Time has to be seconds,
milliseconds, RFC 3339 or ISO 8601.

  - parameter: the column of the recorded name
  - value: the column of the value
  - unit (optional): the column of the unit

For example:

	long: {parameter: NAME, value: VALUE, unit: UNIT}

and not

	# wrong: long: with form: HH:MM:SS a time would depend on the row before it
	time: {column: TIME, form: HH:MM:SS}
	long: {parameter: NAME, value: VALUE}

# identity

Optional, and so is each key: tail, type, flight, date, aerodrome, runway. Each
is a key of the file's metadata or a column, or a list in order of preference;
metadata go first. What is not named here or under parameters is never read.

	identity: {tail: [TAIL, Registration], flight: FLT, date: DATE}

# Which profile a recording gets

A folder of profiles is read as a whole. For each recording

  - the tail is taken from the metadata or the column that identity names, else
    from the file name by file_name, else from the flight list by its column
    file; the profile whose tails take it is the one, and no other is tried
  - where no tail is known, the profile is taken that finds the time, a speed,
    thrust for enough engines and most of its recorded names; a note of the
    recording says so. Two that find the same number are not decided between:
    the recording is refused

because limits belong to an aircraft, and names of columns may not differ where
limits do. "rollonset inspect RECORDING --profiles DIR" says which one it is.

# Samples in columns

Optional keys of an entry under parameters.

  - in_row: in place of column, the list of the columns that hold the samples
    of one row, in the order of time and evenly spaced in it. Cells of Parquet
    and Arrow that are lists of numbers are read so by themselves
  - filled (optional): true when the exporter repeated each sample in the rows
    after it. Then only changes count as samples, and repetitions at the rate
  - bit, or bits (optional): for a discrete that is a part of a word, written
    as a decimal or as 0x1F: bit: 3, or bits: [2, 4] for their value as a
    number. Bit 0 is the lowest. Different bits of a column may belong to
    different parameters
  - agree_within (optional): for a number with several columns, how far two of
    them may be apart before a note says so

A word of bits, samples in a row, a filled column, two sources:

	parameters:
	  ground_speed:    {column: [GS_1, GS_2], unit: kt, agree_within: 5 kt}
	  n1.*:            {in_row: ["N1_*a", "N1_*b"], unit: "%"}
	  gross_weight:    {column: GW, unit: kg, rate: 0.25, filled: true}
	  parking_brake:   {column: WORD_7, bit: 3, states: {released: ["0"], set: ["1"]}}
	  takeoff_warning: {column: WORD_7, bits: [4, 5], states: {off: ["0", "1"], on: ["2"]}}

The texts of the states have to be values that the bits can have:

	# wrong: "2" can never be the value of bit 3
	parameters:
	  ground_speed:  {column: GS, unit: kt}
	  n1.*:          {column: "N1_*", unit: "%"}
	  parking_brake: {column: WORD_7, bit: 3, states: {released: ["0"], set: ["2"]}}
*/
package profile
