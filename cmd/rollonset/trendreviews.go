package main

import (
	"rollonset/report/archive"
	"rollonset/report/trend"
)

// reviewsOf looks up what persons decided about events, by the attempt under
// which each is now known.
func reviewsOf(a *archive.Archive) (trend.Reviews, error) {
	reviews, err := a.Reviews()
	if err == nil {
		err = reviews.Whole()
	}
	if err != nil || len(reviews.Lines) == 0 {
		return nil, err
	}
	v, err := a.View()
	if err != nil {
		return nil, err
	}
	places := map[string]archive.EventPlace{}
	for t, err := range v.Attempts() {
		if err != nil {
			return nil, err
		}
		if t.Events > 0 && reviews.Any(t.Where) {
			places[t.ID] = t.Where
		}
	}
	return func(attempt, kind, check string) trend.Review {
		place, ok := places[attempt]
		if !ok {
			return trend.Unreviewed
		}
		return trend.Review(reviews.Decision(place, kind, check))
	}, nil
}
