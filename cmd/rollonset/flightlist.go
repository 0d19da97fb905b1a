package main

import (
	"errors"
	"fmt"
	"strings"

	"rollonset/ingest"
)

// mostListFaults is how many faults of a flight list are printed. Many more
// than a person makes in a list come from a file that is none.
const mostListFaults = 5

// flightList reads a flight list. Of many faults the first stand in the error,
// with how many more there are.
func flightList(path string) (*ingest.FlightList, error) {
	list, err := ingest.ReadFlightList(path)
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		return list, fewFaults(path, joined.Unwrap())
	}
	return list, err
}

// fewFaults keeps the first faults. A header without a column that a line could
// be matched by, and many faults below it, is no list at all.
func fewFaults(path string, all []error) error {
	if len(all) <= mostListFaults {
		return errors.Join(all...)
	}
	if strings.Contains(all[0].Error(), "has neither a column") {
		return errors.Join(all[0], fmt.Errorf("%s: it does not look like a flight list (%d more faults); give a CSV file whose first line names its columns", path, len(all)-1))
	}
	rest := fmt.Errorf("%s: and %d more faults", path, len(all)-mostListFaults)
	return errors.Join(append(all[:mostListFaults:mostListFaults], rest)...)
}
