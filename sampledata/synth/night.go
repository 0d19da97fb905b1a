package synth

import (
	"fmt"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// nightSeed is the seed of the sample night; another gives another night.
const nightSeed = 20310307

// nightFlight is one flight of the sample night.
type nightFlight struct {
	profile string
	format  Format
	recipe  recipe
}

// Night makes the sample night in dir: one night of Marrow Air with every
// outcome, every check of every profile out of limits at least once, every
// look-alike, and the usual faults of recorders, in every format. The
// profiles are those of the three invented types, in any order.
func Night(profiles []*profile.Profile, dir string) error {
	byName := func(name string) (*profile.Profile, error) {
		for _, p := range profiles {
			if p.Name == name {
				return p, nil
			}
		}
		return nil, fmt.Errorf("synth: the night needs the profile %s", name)
	}
	flights := nightFlights()
	return writeAll(dir, len(flights), func(i int) (*Recording, error) {
		n := &flights[i]
		p, err := byName(n.profile)
		if err != nil {
			return nil, err
		}
		r := n.recipe
		r.name = r.describe()
		return produce(&order{recipe: r, profile: p, seed: nightSeed, index: i, format: n.format, long: true})
	})
}

// nightFlights takes turns through the three types, as a night does.
func nightFlights() []nightFlight {
	fleets := [][]nightFlight{nightQX40(), nightTJ22(), nightTP08()}
	var out []nightFlight
	for i := 0; ; i++ {
		left := false
		for _, f := range fleets {
			if i < len(f) {
				out = append(out, f[i])
				left = true
			}
		}
		if !left {
			return out
		}
	}
}

func nightQX40() []nightFlight {
	const p = "QX40"
	return []nightFlight{
		{p, CSV, recipe{}},
		{p, CSVGzip, recipe{start: rolling, setting: reduced, before: []prelude{taxiTurnStrong}}},
		{p, Parquet, recipe{setting: split, bounce: true}},
		{p, CSVGzip, recipe{ending: rejectStill, check: "flap lever", retry: true}},
		{p, Arrow, recipe{ending: rejectLow, check: "flaps left"}},
		{p, Parquet, recipe{check: "flap asymmetry", before: []prelude{burst}}},
		{p, CSVZstd, recipe{start: rolling, check: "planned flap"}},
		{p, CSVGzip, recipe{check: "flap moved", manner: arises, warning: inoperative}},
		{p, Parquet, recipe{ending: rejectLow, check: "trim placarded", retry: true}},
		{p, CSVGzip, recipe{ending: rejectPastV1, setting: stabilised, check: "trim"}},
		{p, Arrow, recipe{check: "parking brake", manner: walking}},
		{p, CSVGzip, recipe{ending: rejectHigh, check: "speedbrake lever", warning: inoperative, brakesFirst: true}},
		{p, CSVZstd, recipe{ending: rejectStill, check: "main-gear steering", retry: true}},
		{p, Parquet, recipe{warning: falseWarning, noPlan: true, faults: []fault{{missing, flightdata.CenterOfGravity}}}},
		{p, CSVGzip, recipe{ending: lands}},
		{p, Parquet, recipe{ending: engineLoss, faults: []fault{{frozen, flightdata.Airspeed}}}},
	}
}

func nightTJ22() []nightFlight {
	const p = "TJ22"
	return []nightFlight{
		{p, CSVGzip, recipe{start: held, setting: stabilised, before: []prelude{antiIce}}},
		{p, Parquet, recipe{ending: engineLoss, before: []prelude{oneEngine, shortBurst}}},
		{p, CSV, recipe{check: "flap lever", warning: inoperative}},
		{p, Arrow, recipe{check: "flaps", manner: inTransit}},
		{p, CSVZstd, recipe{setting: reduced, check: "planned flap"}},
		{p, Parquet, recipe{ending: rejectRotated, check: "flap moved", manner: arises}},
		{p, CSVGzip, recipe{ending: rejectLow, check: "slats"}},
		{p, CSVGzip, recipe{check: "trim placarded", manner: corrected}},
		{p, Parquet, recipe{check: "trim", before: []prelude{burst}}},
		{p, CSVGzip, recipe{check: "parking brake", manner: dragged}},
		{p, Arrow, recipe{check: "speedbrake lever", manner: arises}},
		{p, CSVGzip, recipe{ending: rejectStill, check: "spoilers", retry: true}},
		{p, CSVGzip, recipe{ending: rejectHigh, start: rolling, check: "autobrake"}},
		{p, CSV, recipe{ending: dataEnds, before: []prelude{shortBurst}, faults: []fault{{frozen, "n1.2"}}}},
		{p, Parquet, recipe{ending: lands, faults: []fault{{spikes, flightdata.GroundSpeed}}}},
		{p, CSVGzip, recipe{ending: touches}},
	}
}

func nightTP08() []nightFlight {
	const p = "TP08"
	return []nightFlight{
		{p, Parquet, recipe{start: rolling, bounce: true}},
		{p, CSVGzip, recipe{faults: []fault{{flicker, flightdata.AirGround}}}},
		{p, CSV, recipe{ending: noAttempt, before: []prelude{runUp}}},
		{p, CSVGzip, recipe{ending: rejectStill, check: "flaps", retry: true}},
		{p, Parquet, recipe{check: "flaps", manner: inTransit}},
		{p, Arrow, recipe{check: "planned flap"}},
		{p, CSVZstd, recipe{ending: rejectHigh, check: "trim placarded", brakesFirst: true}},
		{p, CSVGzip, recipe{start: rolling, check: "trim"}},
		{p, Parquet, recipe{ending: rejectPastV1, check: "rudder trim"}},
		{p, CSVGzip, recipe{check: "parking brake", manner: dragged}},
		{p, CSVGzip, recipe{ending: rejectHigh, check: "gust lock"}},
		{p, Arrow, recipe{ending: rejectLow, faults: []fault{{dropout, flightdata.FlapPosition}}}},
		{p, CSVGzip, recipe{ending: touches}},
		{p, Parquet, recipe{setting: split, faults: []fault{{dead, flightdata.ParkingBrake}}}},
	}
}
