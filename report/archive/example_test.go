package archive_test

import (
	"fmt"
	"math"
	"os"

	"rollonset/detect"
	"rollonset/detect/takeoff"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
	"rollonset/ingest/unit"
	"rollonset/report/archive"
)

// assessed stands for what detection makes of a recording.
func assessed() *detect.Assessment {
	speed := &flightdata.Series{
		Parameter: flightdata.GroundSpeed, Unit: unit.Must("kt"), Period: 1e9,
		Times: []span.Instant{0, 1e9, 2e9}, Values: []float64{0, 1, 3},
	}
	r := &flightdata.Recording{
		Source:   flightdata.Source{Path: "night/ZZ-Q17_MA12.csv", SHA256: "00ff"},
		Identity: flightdata.Identity{Tail: "ZZ-Q17", Flight: "MA12", Date: "2031-03-07"},
		Span:     span.Span{From: 0, To: 2e9},
		Series:   map[flightdata.Parameter]*flightdata.Series{flightdata.GroundSpeed: speed},
		Life:     map[flightdata.Parameter]flightdata.Life{flightdata.GroundSpeed: flightdata.Observe(speed)},
	}
	attempt := takeoff.Attempt{
		Number: 1, Outcome: takeoff.Airborne,
		Onset: span.Exactly(1e9), PeakSpeed: flightdata.Reading{Value: math.NaN()},
	}
	return &detect.Assessment{
		Recording: r, Profile: &profile.Profile{Name: "QX40", SHA256: "ee"},
		Attempts: []detect.Attempt{{Attempt: attempt}}, Windows: span.Of(r.Span),
	}
}

func Example() {
	dir, err := os.MkdirTemp("", "archive")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)

	a, err := archive.Create(dir)
	if err != nil {
		fmt.Println(err)
		return
	}
	versions := archive.Versions{Detection: "1", Program: "0.1.0"}
	key := archive.Key("00ff", "ee", versions.Detection)
	if _, done, err := a.Done(key); err == nil && !done {
		if _, err := a.Publish(assessed(), versions, nil); err != nil {
			fmt.Println(err)
			return
		}
	}
	folder, done, err := a.Done(key)
	fmt.Println(folder, done, err)

	found, err := a.Find("MA12")
	if err != nil {
		fmt.Println(err)
		return
	}
	first := found.Summary.Attempts[0]
	fmt.Println(first.ID, first.Outcome, first.Onset.At, first.PeakSpeed)

	counts, err := a.WriteTables("night-1", a.Summaries())
	fmt.Println(counts.Attempts, err)
	// Output:
	// flights/2031/03/07/ZZ-Q17-MA12-49f4a00e true <nil>
	// 49f4a00e1df4-1 airborne 1 <nil>
	// 1 <nil>
}
