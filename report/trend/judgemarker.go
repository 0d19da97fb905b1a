package trend

import "time"

// effects compares before and after each marker that concerns the series. Its
// day counts as after; months are taken as so many days of the calendar.
func (j *judge) effects(s *series) []Effect {
	var out []Effect
	for _, m := range j.opt.Markers {
		if m.Check != "" && m.Check != s.name {
			continue
		}
		first := dayOf(m.Date)
		from, to := dayOf(m.Date.AddDate(0, -j.opt.MarkerMonths, 0)), dayOf(m.Date.AddDate(0, j.opt.MarkerMonths, 0))
		var before, after Tally
		for day, t := range s.days {
			switch {
			case day >= from && day < first:
				before.plus(*t)
			case day >= first && day < to:
				after.plus(*t)
			}
		}
		a, b := j.rateOf(after), j.rateOf(before)
		out = append(out, Effect{
			From: dayStart(max(from, j.c.firstDay)), To: dayStart(min(to-1, j.c.lastDay)), Months: j.opt.MarkerMonths,
			CoverBefore: before.Coverage(), CoverAfter: after.Coverage(),
			Marker: Marker{Date: m.Date.UTC().Truncate(24 * time.Hour), Label: m.Label, Check: m.Check},
			Before: b, After: a,
			Ratio: RateRatio(a.Events, float64(a.Told), b.Events, float64(b.Told), j.opt.Level),
		})
	}
	return out
}
