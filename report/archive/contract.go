package archive

// TablesVersion is the version of the layout of the tables. Columns are only ever
// added, at any place; none is renamed, retyped or given another meaning, so a
// query goes on working over years of runs. A change that breaks this raises the
// number and writes to another folder.
//
// Of summary.json the contract is summary.schema.json (in every archive under
// schema/, in this package as summary.schema.json) under the number
// SchemaVersion: any change of the layout raises it, and a reader refuses a number
// that it does not know.
//
// The tables lie in Hive partitions, tables/<table>/run=<id>/part-0.parquet, so
// an engine reads the run as a column. A recording that several runs were given,
// or that was judged again, has rows in each: take those of the latest run, as
// View does and as the README shows in SQL. "null" marks columns that may be null:
// the thing did not happen or cannot be told, and a text is not known. Times that
// end in _s are seconds from the first sample.
//
// Every table begins with:
//
//	key                                text           identity of the result: hash of recording, profile and detection version
//	folder                             text           flight folder, relative to the archive
//	tail                               text     null  registration
//	type                               text     null  aircraft type
//	flight                             text     null  flight number
//	aerodrome                          text     null  of departure
//	runway                             text     null  of departure
//	date                               date     null  day of the start in UTC
//	start_utc                          UTC      null  of the first sample
//	file                               text           base name of the recording
//	recording_sha256                   text           of its bytes; the same under every profile and version
//	profile                            text           name
//	profile_version                    text     null  as the profile says it
//	profile_sha256                     text           of its bytes
//	detection                          text           version of the detection logic
//
// tables/attempts goes on:
//
//	attempt                            integer        number, from 1 in each recording
//	attempt_id                         text           name of the attempt in commands
//	outcome                            text           of the attempt: airborne, rejected, …
//	why                                text     null  what decided the outcome
//	rolling                            flag           rolling takeoff
//	thrust_advance_s                   number   null  thrust advance
//	onset_s                            number   null  onset
//	onset_earliest_s                   number   null  start of the bracket of the onset
//	onset_latest_s                     number   null  end of it
//	onset_utc                          UTC      null  UTC of the onset
//	roll_start_s                       number   null  roll start
//	rotation_s                         number   null  rotation
//	lift_off_s                         number   null  lift-off
//	thrust_cut_s                       number   null  thrust cut
//	peak_s                             number   null  highest ground speed of a reject
//	stop_s                             number   null  stop, or where the roll ends
//	next_attempt_min                   number   null  from here to the next thrust advance
//	peak_ground_speed_kt               number   null  highest ground speed of the attempt
//	onset_ground_speed_kt              number   null  ground speed at the onset
//	ground_by                          text     null  what told ground from air
//	thrust_by                          text     null  parameter that thrust was judged on
//	checks_within                      integer        checks within limits
//	checks_outside                     integer        checks out of limits
//	checks_untold                      integer        checks that cannot be told
//	warning_verdict                    text     null  recorded warning against recomputed condition; null when not compared
//	warning_reason                     text     null  of the verdict
//	warning_first_s                    number   null  start of the first warning
//	warning_ended_s                    number   null  end of the last
//	warning_delay_s                    number   null  from the condition to the warning
//	warning_reaction_s                 number   null  from the warning to the first action
//	reject_class                       text     null  before the roll, low-speed, high-speed; null for an attempt that was not given up
//	first_action                       text     null  what was done first
//	first_action_s                     number   null  when
//	action_order                       text     null  which order of actions is not resolvable
//	ground_speed_at_action_kt          number   null  at the first action
//	airspeed_at_action_kt              number   null  at the first action
//	ground_speed_at_cut_kt             number   null  at the thrust cut
//	airspeed_at_cut_kt                 number   null  at the thrust cut
//	reject_peak_ground_speed_kt        number   null  highest of the reject
//	reject_peak_airspeed_kt            number   null  highest of the reject
//	against_v1                         text     null  first action before or after V1
//	v1_kt                              number   null  that it was compared with
//	first_cue                          text     null  what precedes the first action; no cause is claimed
//	mean_deceleration_g                number   null  from the peak to the stop
//	peak_deceleration_g                number   null  the largest
//	distance_to_cut_m                  number   null  roll start to thrust cut
//	distance_to_peak_m                 number   null  roll start to highest speed
//	distance_to_stop_m                 number   null  roll start to stop
//	position_distance_to_stop_m        number   null  the same from positions
//	energy_mj                          number   null  brake energy, an upper bound
//	energy_per_wheel_mj                number   null  that over the braked wheels
//	heading_deviation_deg              number   null  largest from the roll heading
//	lateral_deviation_m                number   null  largest from the line of the roll
//	runway_left_m                      number   null  in front of the stop
//	reject_severity                    text     null  of the reject: low, medium, high
//	events                             integer        that a person must see
//	severity                           text     null  low, medium, high; null without an event
//	severity_rule                      text     null  rule that set it
//
// tables/findings goes on:
//
//	attempt                            integer        number, from 1 in each recording
//	attempt_id                         text           name of the attempt in commands
//	outcome                            text           of the attempt: airborne, rejected, …
//	onset_utc                          UTC      null  UTC of the onset
//	check                              text           name in the profile; quote it, SQL has a word CHECK
//	state                              text           within limits, out of limits, cannot be told
//	at_onset                           text     null  state at the onset
//	in_roll                            flag           went out of limits after the onset
//	reason                             text     null  why it cannot be told
//	judged_from_s                      number         start of the judged time
//	judged_to_s                        number         end of it
//	parameter                          text     null  that is watched
//	unit                               text     null  of value, limits and margins
//	value                              number   null  at the onset; the index of the state of a discrete
//	text                               text     null  the value in words
//	age_s                              number   null  of the sample
//	limit                              text     null  in words
//	limit_low                          number   null  null when open or not told
//	limit_high                         number   null  null when open or not told
//	margin                             number   null  to the nearest limit at the onset, negative outside
//	worst_margin                       number   null  least over the judged time
//	margin_share                       number   null  margin over the width of the band
//	out_of_limits                      integer        how many stretches
//	out_of_limits_from_s               number   null  start of the first
//	out_of_limits_to_s                 number   null  end of the last
//	out_of_limits_ground_speed_from_kt number   null  at the start of the first
//	out_of_limits_ground_speed_to_kt   number   null  at the end of the last
//	out_of_limits_ended                text     null  how the last ended
//	life                               flag           every state that it depends on was seen
//	life_why                           text     null  which was not
//	severity                           text     null  low, medium, high; null without an event
//	severity_rule                      text     null  rule that set it
//	profile_line                       integer        of the check
//
// tables/recordings goes on:
//
//	bytes                              integer        size of the recording
//	format                             text           in words, with the compression
//	rows                               integer        of the file
//	columns                            integer        of the file
//	columns_used                       integer        that were decoded
//	duration_s                         number         first sample to last
//	attempts                           integer        takeoff attempts
//	attempts_airborne                  integer        of them
//	attempts_rejected                  integer        before the roll or in it
//	look_alikes                        integer        advanced thrust that is no attempt
//	events                             integer        that a person must see
//	checks_told                        integer        over all checks and attempts
//	checks_due                         integer        the same, told or not
//	coverage                           text           JSON: list "coverage" of the summary
//	samples                            integer        good samples of all parameters
//	samples_masked                     integer        the others
//	masks                              text           JSON: parameter, reason, count
//	notes                              integer        how many the summary has
//	clip_sha256                        text     null  of clip.parquet; null without one
//
// tables/sightings is one file for the whole archive, tables/sightings/part-0.parquet,
// with a row for each recording of an attempt that lies in more than one. Leave out
// of the other tables the attempts for which counts is false, as View does, and each
// attempt counts once:
//
//	counted_id                         text           attempt that counts, the same on all rows of one attempt
//	attempt_id                         text     null  name of the attempt in this recording; null for one that holds only what followed
//	attempt                            integer        its number, 0 without a name
//	counts                             flag           this is the one that counts
//	ends                               flag           the outcome is taken from this one
//	end_outcome                        text     null  outcome of an attempt that counts and whose end lies in another recording
//	end_reject_class                   text     null  of that end
//	outcome                            text     null  as this recording has it
//	onset_utc                          UTC      null  UTC of the onset, or else of the thrust advance
//	tail                               text     null  registration
//	folder                             text           flight folder, relative to the archive
//	file                               text           base name of the recording
//	recording_sha256                   text           of its bytes
const TablesVersion = 1
