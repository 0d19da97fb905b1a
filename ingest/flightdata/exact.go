package flightdata

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// exact is a float64 that keeps every bit through JSON, infinities and NaN
// included, which JSON has no number for.
type exact float64

// MarshalJSON writes the shortest number that reads back as the same value.
func (x exact) MarshalJSON() ([]byte, error) {
	v := float64(x)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return json.Marshal(strconv.FormatFloat(v, 'g', -1, 64))
	}
	return json.Marshal(v)
}

// UnmarshalJSON reads a number or the text of one.
func (x *exact) UnmarshalJSON(text []byte) error {
	v, err := strconv.ParseFloat(strings.Trim(string(text), `"`), 64)
	if err != nil {
		return fmt.Errorf("%s is not a number", text)
	}
	*x = exact(v)
	return nil
}
