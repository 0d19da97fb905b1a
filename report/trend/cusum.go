package trend

import "math"

// Tabular is a two-sided cumulative sum for measured values (NIST e-Handbook
// 6.3.2.3). Slack is how far from Target a value may lie without adding
// anything, usually half the shift to be found; Signal is the sum beyond
// which, strictly, there is a signal. All in the unit of the values.
type Tabular struct {
	Target, Slack, Signal float64
}

// Sums are the two sums after one value and whether one is beyond the signal.
type Sums struct {
	High, Low           float64
	AlarmHigh, AlarmLow bool
}

// Run gives the sums after each value, both from 0. A sum is not set back
// after a signal: how long it stays up is part of the picture.
func (t Tabular) Run(values []float64) []Sums {
	out := make([]Sums, len(values))
	var s Sums
	for i, value := range values {
		s.High = math.Max(0, s.High+value-t.Target-t.Slack)
		s.Low = math.Max(0, s.Low+t.Target-t.Slack-value)
		s.AlarmHigh, s.AlarmLow = s.High > t.Signal, s.Low > t.Signal
		out[i] = s
	}
	return out
}
