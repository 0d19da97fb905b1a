package score

import (
	"math"

	"rollonset/report/archive"
	"rollonset/sampledata/truth"
)

// slack widens the time of an attempt for matching: one that has little but
// its thrust advance is almost a point.
const slack = 2.0

// match gives for each row the index of the found attempt that overlaps it
// most, -1 for none. A found attempt is used once; the row that comes first
// has the first choice among equals.
func match(rows []truth.Attempt, found []archive.AttemptSummary) []int {
	out := make([]int, len(rows))
	for i := range out {
		out[i] = -1
	}
	used := make([]bool, len(found))
	for {
		bestRow, bestFound, most := -1, -1, 0.0
		for i := range rows {
			if out[i] >= 0 || rows[i].Number == 0 {
				continue
			}
			for j := range found {
				if o := overlap(&rows[i], &found[j]); !used[j] && o > most {
					bestRow, bestFound, most = i, j, o
				}
			}
		}
		if bestRow < 0 {
			return out
		}
		out[bestRow], used[bestFound] = bestFound, true
	}
}

// overlap is how long a row and a found attempt share, in seconds.
func overlap(row *truth.Attempt, a *archive.AttemptSummary) float64 {
	from, to := extent(a)
	o := math.Min(to, row.Till()+slack) - math.Max(from, row.From()-slack)
	if math.IsNaN(o) {
		return 0
	}
	return o
}

// extent is from the first to the last known instant of a found attempt; NaN
// when it has none.
func extent(a *archive.AttemptSummary) (from, to float64) {
	from, to = math.NaN(), math.NaN()
	for _, m := range []*archive.Moment{a.ThrustAdvance, a.Onset, a.RollStart, a.Rotation, a.LiftOff, a.ThrustCut, a.Peak, a.Stop} {
		if m == nil {
			continue
		}
		if !(m.At >= from) {
			from = m.At
		}
		if !(m.At <= to) {
			to = m.At
		}
	}
	return from, to
}
