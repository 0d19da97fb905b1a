package archive

import (
	"time"

	"rollonset/ingest/flightdata"
)

// Identity gives back the identity of the flight and the UTC of its start,
// the zero time when it is not known.
func (f Flight) Identity() (flightdata.Identity, time.Time) {
	start, err := time.Parse(time.RFC3339Nano, f.StartUTC)
	if err != nil {
		start = time.Time{}
	}
	return flightdata.Identity{
		Tail: f.Tail, Type: f.Type, Flight: f.Flight, Aerodrome: f.Aerodrome, Runway: f.Runway, Date: f.Date, From: f.From,
	}, start
}
