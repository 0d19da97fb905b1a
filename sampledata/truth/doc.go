// Package truth holds what really happened in a recording whose answer is
// known: the row per takeoff attempt of truth.csv, and its reader and writer.
//
// truth.csv is comma separated, UTF-8, with one header row. It has a row per
// attempt; a file that holds no attempt has one row with attempt 0. Times are
// seconds since the first sample of the file, whatever its clock writes;
// speeds are kt over the ground, distances m from the roll start. An empty
// cell says that the thing did not happen, or not before the data ended.
//
//	file                     base name of the recording
//	attempt                  number from 1 in time order; 0: none in this file
//	optional                 "yes" when finding it or not are both right
//	outcome                  the words of takeoff.Outcome
//	rolling                  "yes" when the roll went on from taxi speed
//	t_thrust_advance         enough engines at the arming threshold, and staying
//	t_onset                  the configuration is first judged
//	t_roll_start             sustained acceleration of 0.05 g begins
//	t_rotation               pitch starts its sustained rise
//	t_lift_off               wheels off the ground for good
//	t_thrust_cut             the levers start the final reduction of a reject
//	t_first_action           earliest of thrust, brakes, speedbrake, reverse
//	first_action             which of them it was
//	t_peak                   highest ground speed of a reject
//	t_stop                   the aircraft stands
//	peak_ground_speed_kt     at t_peak
//	ground_speed_at_cut_kt   at t_thrust_cut
//	distance_to_cut_m        from roll start to t_thrust_cut
//	distance_to_stop_m       from roll start to t_stop
//	out                      checks out of limits in the judged span, "; " between
//	out_at_onset             those that were out at the onset already
//	untold                   checks that the data of this file cannot tell
//	open                     checks on which the truth takes no stand; of one that
//	                         is in out as well, whether it was out at the onset already
//	warning                  the words of configuration.Verdict; empty: no stand
//	reject_class             the words of reject.Measures.Class; two of them where
//	                         the samples about the cut lie on both sides of the boundary
//	against_v1               "before V1" or "after V1" of a reject with known V1
//	look_alikes              "kind from-to", "; " between; on the first row of a file
//	scenario                 what was played, for rates per scenario
//	notes                    why each open check, and the warning, is open
//
// The package reads and writes; it decides nothing and knows no detector.
package truth
