package evidence

import (
	"path"

	"rollonset/detect"
	"rollonset/report/archive"
)

// Replayed is what came of deriving the findings of one flight again.
type Replayed struct {
	// Differences are what is not as the summary says, nil when all is equal.
	Differences []Difference
	// Nothing is why there was nothing to replay, "" when there was.
	Nothing  string
	Attempts int // that were compared
	Findings int
}

// Replay runs the detection over the clip of a flight with the stored copy of
// its profile and compares the result with the summary: not the findings
// alone but every entry of it, every instant and bracket, each note. With a
// number other than 0 only that attempt is compared. The clip is held to its
// hash first; a clip or profile that cannot be read is an error.
//
// A result of another detection version is replayed by this one, which is the
// only one there is; that is told as a difference of the versions.
func Replay(a *archive.Archive, s archive.Summary, number int) (Replayed, error) {
	if s.Clip == nil {
		return Replayed{Nothing: "no takeoff attempt was found, so there is no clip"}, nil
	}
	f, err := Load(a, s)
	if err != nil {
		return Replayed{}, err
	}
	return f.Replay(number)
}

// Replay is Replay for a flight that has been loaded, from an archive or a
// bundle.
func (f Flight) Replay(number int) (Replayed, error) {
	s := f.Summary
	versions := s.Versions
	versions.Detection = detect.Version
	again := archive.Summarise(f.Assess(), versions)
	var what []string
	var err error
	out := Replayed{}
	if number == 0 {
		what, err = compareSummaries(s, again)
	} else {
		what, err = compareAttempt(s, again, number)
	}
	for i := range s.Attempts {
		if number == 0 || s.Attempts[i].Number == number {
			out.Attempts++
			out.Findings += len(s.Attempts[i].Findings)
		}
	}
	for _, w := range what {
		out.Differences = append(out.Differences, Difference{path.Join(s.Flight.Folder, archive.SummaryFile), w})
	}
	return out, err
}

// compareAttempt compares one attempt, and the version that judged it.
func compareAttempt(was, is archive.Summary, number int) ([]string, error) {
	one := func(s archive.Summary) map[string]any {
		out := map[string]any{"detection": s.Versions.Detection, "key": s.Key}
		for i := range s.Attempts {
			if s.Attempts[i].Number == number {
				out["attempt"] = s.Attempts[i]
			}
		}
		return out
	}
	return compare(one(was), one(is))
}
