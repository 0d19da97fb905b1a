/*
Package profile reads aircraft profiles. A profile is one YAML file that says
everything the program must know of an aircraft type or subfleet: what each
recorded name means, when thrust counts as advanced, which checks are made on
a takeoff attempt and with which limits.

Load reads one file, LoadDir a folder, Explain writes a profile in plain words
so that the person who approves it sees what the program will do. The text of
a profile is read strictly: an unknown key, a wrong unit, an empty band, or a
limit that can never or must always be passed is a mistake. All mistakes of a
file are told at once, each with file, line, column, a proposal, and the
source line with a caret under the place.

This comment is the one home of the profile language. A test reads every
example; one that says "wrong:" must be refused with those words.

# How things are written

A quantity is a number and a unit in one text: 60 kt, 2 s, 15 min, 2 %. A text
that begins with % or * needs quotes. Numbers are plain decimals with a point;
exponents, decimal commas and leading zeros are refused, because they do not
read the same to everyone. The units are, by kind: speed kt, m/s, km/h, mph,
ft/s, ft/min; length ft, m, km, NM; angle deg, rad; mass kg, lb, t, klb;
acceleration g, m/s2, ft/s2; pressure psi, bar, kPa, hPa, Pa; ratio %,
fraction; temperature degC, K, degF; time s, ms, min, h; trim units; engine
pressure ratio EPR. A plain number has no unit; as the unit of a parameter it
is written none.

The program works in kt, ft, deg, kg, g, psi, %, degC, s, units and EPR. A
parameter that may be recorded in several kinds of unit, such as a trim in
units or in degrees, is worked with in the kind in which it is recorded.

Aliases, anchors, merge keys and tags of YAML are refused: a limit has to be
read where it is written. A second document in one file is refused too. A key
that may be left out is marked "optional" below, with its default.

# A whole profile

The examples that follow replace or add keys of this one.

	rollonset: 1
	name: AB01
	title: twin jet AB01 of an invented operator
	version: "1"
	reason: first issue
	types: [AB01]
	tails: ["ZZ-A*"]
	engines: 2
	time: {column: TIME, form: seconds}
	parameters:
	  ground_speed:     {column: GS, unit: kt, rate: 1}
	  n1.*:             {column: "N1_*", unit: "%", rate: 1}
	  flap_lever:       {column: FLAP, unit: deg, rate: 0.5}
	  flap_position.left:  {column: FLAP_L, unit: deg}
	  flap_position.right: {column: FLAP_R, unit: deg}
	  stabilizer_trim:  {column: TRIM, unit: units, range: [-2 units, 12 units]}
	  parking_brake:    {column: PBRK, states: {released: ["0"], set: ["1"]}}
	  speedbrake_lever: {column: SPDBRK, unit: deg}
	  brake_pressure:   {column: BRK, unit: bar}
	  takeoff_warning:  {column: TOW, states: {off: ["0"], on: ["1"]}}
	  gross_weight:     {column: GW, unit: lb, rate: 0.25}
	thrust: {measure: n1}
	checks:
	  - name: parking brake
	    title: parking brake released
	    state: {parameter: parking_brake, is: released}
	reject: {boundary: 80 kt}

# Who it is for

  - rollonset: the version of this language, 1
  - name: short, for file names and tables: letters, digits, - and _
  - title: in words
  - version, reason: the operator's own, kept with every result
  - types: the aircraft types
  - tails: tails, or patterns with * (any characters) and ? (one). In a folder
    no two profiles may take the same tail
  - engines: 1 to 8

Texts stay as they are written; version: 1.10 is not 1.1.

	version: 1.10
	reason: >
	  trim band of the second subfleet
	  after the approval of spring
	tails: [ZZ-ABC, ZZ-ABD, "ZZ-B?A"]

# How a recording is read

  - time; and optional csv, long, identity: see "in full" at the end
  - file_name (optional): the file name without its extensions, with the
    placeholders {tail} {type} {flight} {date} {time} {aerodrome} {runway}
    {any}; date is YYYYMMDD, time HHMM or HHMMSS
  - no_sample (optional): cell texts that stand for "no sample", beside blank
    and NaN

For example:

	time: {column: [UTC, UTC_BACKUP], form: RFC 3339}
	file_name: "{tail}_{date}T{time}_{flight}"
	no_sample: ["***", "-", INVALID]

# parameters

Each key is a canonical parameter: ground_speed, airspeed, n1.*, epr.*,
torque.*, thrust_lever.*, thrust_reverser.*, air_ground, radio_height,
pressure_altitude, longitudinal_acceleration, pitch, heading, flap_lever,
flap_position, slat_position, stabilizer_trim, rudder_trim, aileron_trim,
parking_brake, speedbrake_lever, spoiler_position, main_gear_steering,
brake_pressure, autobrake, takeoff_warning, master_warning, gross_weight,
center_of_gravity, latitude, longitude, v1, vr, outside_air_temperature,
wind_speed, wind_direction. Flap, slat, speedbrake, spoiler and brake pressure
also exist as .left and .right.

  - column: the recorded name, or a list in order of preference; where the
    first gives no sample, the next one does
  - unit: as recorded; for a number only
  - states: for a discrete only: for each state the cell texts that mean it
  - in_row, filled, bit, bits, agree_within: see "Samples in columns" at the end
  - rate (optional): samples per second that the recorder is expected to
    deliver, so that a dead sensor is seen as dead
  - range (optional): [lowest, highest] that is physically possible; the
    program has wide bounds of its own
  - floor (optional, airspeed only): at or below it the air-data computer says
    nothing and the value is not valid

A key such as n1.* stands for every engine, and * in its column for the engine.
An entry for one engine overrides it. One of the two speeds must be mapped.

	parameters:
	  ground_speed: {column: [GS_1, GS_2], unit: m/s, rate: 4}
	  airspeed:     {column: CAS, unit: kt, rate: 1, floor: 30 kt}
	  n1.*:         {column: "ENG*_N1", unit: "%"}
	  n1.2:         {column: ENG2_N1_B, unit: "%"}
	  parking_brake: {column: PBRK, states: {released: [REL, "0"], set: [SET, "1"]}}

A column belongs to one parameter, and its unit must be one of a kind in which
that parameter can be recorded:

	# wrong: column "GS" is used for ground_speed and for airspeed
	parameters:
	  ground_speed:  {column: GS, unit: kt}
	  airspeed:      {column: GS, unit: kt}
	  n1.*:          {column: "N1_*", unit: "%"}
	  parking_brake: {column: PBRK, states: {released: ["0"], set: ["1"]}}

# own_parameters

Optional. What the canonical parameters do not have is defined here, mapped
under parameters, and can be used in any check.

  - kind: continuous or discrete
  - unit and, optional, range: of a continuous one; the entry under parameters
    may then leave the unit out
  - states: of a discrete one, at least two

For example:

	own_parameters:
	  gust_lock: {kind: discrete, states: [released, engaged]}
	  elevator:  {kind: continuous, unit: deg, range: [-30 deg, 30 deg]}
	parameters:
	  ground_speed: {column: GS, unit: kt}
	  n1.*:         {column: "N1_*", unit: "%"}
	  gust_lock:    {column: LOCK, states: {released: [OFF], engaged: [ON]}}
	  elevator:     {column: ELEV}
	checks:
	  - name: gust lock
	    title: gust lock released
	    state: {parameter: gust_lock, is: released}

# thrust

When thrust counts as advanced for takeoff.

  - measure: thrust_lever, epr, n1 or torque, mapped for every engine
  - threshold: in the unit of the measure. Optional for n1 (70 %) and epr
    (1.10 EPR); lever angle and torque differ too much from type to type
  - hysteresis (optional): thrust counts as reduced below threshold minus
    this; 3 %, 3 deg or 0.03 EPR
  - engines (optional): any, half or all of them; half
  - persistence (optional): how long it must stay to count; 2 s

For example:

	thrust: {measure: n1, threshold: 65 %, hysteresis: 5 %, engines: all, persistence: 3 s}

but not

	# wrong: threshold: "65" has no unit (write "65 %"
	thrust: {measure: n1, threshold: 65}

The defaults, here and below, are common practice, no published source.

# attempt

Optional, and so is each key. How an attempt is told from its look-alikes:

	attempt:
	  start_below: 60 kt      # an attempt starts below this ground speed
	  onset_after: 1 s        # onset: this long after the thrust advance
	  airborne_for: 2 s       # a shorter air state is no lift-off
	  no_advance: 5 s         # a new advance within this undoes a thrust cut
	  speed_fall: 10 kt       # a reject loses this much, or stops
	  rolled_from: 5 kt       # below this peak the aircraft did not roll
	  taxi_below: 30 kt       # a burst with a turn and a peak below this is taxi
	  taxi_turn: 20 deg       # the turn that makes a burst taxi
	  run_up_from: 15 s       # standing thrust for longer is a run-up
	  retry_within: 15 min    # a later takeoff tells a reject from a run-up
	  airborne_since: 60 s    # airborne within this: a landing or touch-and-go

# checks

A list; each check has a name, a title, and one of one_of, range, band, state.

  - name: unique; lower-case letters, digits, spaces, - and _
  - title: what ought to be, for pages: "parking brake released"
  - judged (optional): from, onset or roll start; to, rotation or lift-off.
    Default from the onset to rotation. The start of a reject always ends it
  - persistence (optional): out of limits for less than this does not count; 0 s
  - speeds (optional): from and to, the ground speeds at which it matters;
    default any
  - severity (optional): by speed, or a fixed low, medium, high; by speed
  - far_outside (optional): a distance from the limit beyond which the severity
    goes up one step; not for a state
  - warning_due (optional): true when the certification basis requires the
    aircraft's own warning for this condition; false. Then basis is needed
  - basis (optional): the rule, or why there is none

The parking brake is in the list of CS 25.703 and not in that of 14 CFR 25.703,
so warning_due depends on the basis to which the type is certified:

	checks:
	  - name: parking brake
	    title: parking brake released
	    state: {parameter: parking_brake, is: released}
	    warning_due: true
	    basis: CS 25.703(a)(3)
	    speeds: {from: 0 kt, to: 100 kt}
	    judged: {from: roll start, to: lift-off}
	    persistence: 1 s

# one_of

The value sits at one of several settings, give or take the tolerance. The
settings are listed in rising order; planned stands for what the flight list
plans (flaps or trim), as at onset for the value at the onset, from which
nothing may move afterwards.

	checks:
	  - name: flap lever
	    title: flap lever in a takeoff setting
	    one_of: {parameter: flap_lever, settings: [10 deg, 20 deg], tolerance: 0.5 deg}
	    far_outside: 4 deg
	    warning_due: true
	    basis: 14 CFR 25.703(a)(1)
	  - name: planned flap
	    title: flap lever in the planned setting
	    one_of: {parameter: flap_lever, settings: planned, tolerance: 0.5 deg}
	    severity: medium
	  - name: flap moved
	    title: flap lever left alone from the onset
	    one_of: {parameter: flap_lever, settings: as at onset, tolerance: 2 deg}
	    judged: {to: lift-off}

The tolerance must keep the settings apart:

	# wrong: with this tolerance every value between 10 deg and 20 deg would be within
	checks:
	  - name: flap lever
	    title: flap lever in a takeoff setting
	    one_of: {parameter: flap_lever, settings: [10 deg, 20 deg], tolerance: 5 deg}

# range

The value, or the difference of two (minus), lies between min and max; one of
the two may be left out.

	checks:
	  - name: speedbrake lever
	    title: speedbrake lever in its detent
	    range: {parameter: speedbrake_lever, max: 2 deg}
	  - name: flap asymmetry
	    title: left and right flaps together
	    range: {parameter: flap_position.left, minus: flap_position.right, min: -2 deg, max: 2 deg}

A limit that nothing can pass is a mistake:

	# wrong: max can never be passed: speedbrake_lever is never above it (-20 to 130 deg is possible)
	checks:
	  - name: speedbrake lever
	    title: speedbrake lever in its detent
	    range: {parameter: speedbrake_lever, max: 200 deg}

# band

The value lies between two edges that depend on one or two other parameters.

  - parameter: the one that is judged
  - over: the one or two others. gross_weight and center_of_gravity may stand
    here even if they are not recorded: the flight list may give them, and
    without it the value is tested against all bands that could apply
  - select, tolerance (optional, together): a parameter whose setting, give or
    take the tolerance, chooses the table
  - tables: each has its setting (with select only), the nodes of each
    parameter of over in rising order, and low and high

With one parameter, low and high have a value for each node. With two, they
have a row for each node of the first and in it a value for each node of the
second. Between the nodes the edges are straight lines; beyond the table those
of the nearest node count, and the finding says so.

	checks:
	  - name: trim
	    title: stabilizer trim inside the band for weight and CG
	    band:
	      parameter: stabilizer_trim
	      over: [gross_weight, center_of_gravity]
	      select: flap_lever
	      tolerance: 0.5 deg
	      tables:
	        - setting: 10 deg
	          gross_weight: [50 t, 70 t]
	          center_of_gravity: ["14 %", "22 %", "30 %"]
	          low:  [[4.4 units, 3.4 units, 2.4 units], [5.0 units, 4.0 units, 3.0 units]]
	          high: [[6.4 units, 5.4 units, 4.4 units], [7.0 units, 6.0 units, 5.0 units]]
	        - setting: 20 deg
	          gross_weight: [50 t, 70 t]
	          center_of_gravity: ["14 %", "22 %", "30 %"]
	          low:  [[4.0 units, 3.0 units, 2.0 units], [4.6 units, 3.6 units, 2.6 units]]
	          high: [[6.0 units, 5.0 units, 4.0 units], [6.6 units, 5.6 units, 4.6 units]]
	    far_outside: 1 units

Both edges need a value for every node:

	# wrong: low has 1 row for the 2 nodes of gross_weight
	checks:
	  - name: trim by weight
	    title: stabilizer trim inside the band for weight
	    band:
	      parameter: stabilizer_trim
	      over: [gross_weight]
	      tables:
	        - gross_weight: [50 t, 70 t]
	          low:  [3 units]
	          high: [5 units, 6 units]

# state

A discrete is in one of its states, as under parking brake above. The state
must be one that the map gives texts for:

	# wrong: the check must always fail: parking_brake is never recorded as "relesed" (did you mean "released"?)
	checks:
	  - name: parking brake
	    title: parking brake released
	    state: {parameter: parking_brake, is: relesed}

# warning

Optional: leave it out when the aircraft does not record its takeoff
configuration warning; then a missing warning cannot be told.

  - parameter: a discrete with a state on
  - within (optional): how soon after the onset, or after the condition arose,
    it must be seen to count as given; 3 s

For example:

	warning: {parameter: takeoff_warning, within: 2 s}

# reject

  - boundary: below it a reject is low-speed, at or above it high-speed. The
    operator sets it, at 80 or 100 kt (FAA Airplane Flying Handbook)
  - high_from (optional): severity high from here; 120 kt
  - cue_within (optional): how long before the first action a cue is looked
    for; 6 s
  - braked_wheels (optional): for the brake energy per wheel
  - brakes_on (optional): brake pressure from which brakes count as applied
  - lever_out (optional): speedbrake lever from which it counts as out

For example:

	reject:
	  boundary: 100 kt
	  high_from: 120 kt
	  cue_within: 6 s
	  braked_wheels: 8
	  brakes_on: 20 bar
	  lever_out: 10 deg

# severity

Optional. A condition is low, medium or high by the highest ground speed at
which it still held.

	severity: {medium_from: 40 kt, high_from: 80 kt}
*/
package profile
