package sanity

import (
	"fmt"
	"strings"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// Check masks what must not be believed in rec, sets rec.Doubted, and returns
// a note for each contradiction found. It is for a recording after
// quality.Mask and before its proof of life is taken; a clip carries the
// result and is not checked again.
func Check(rec *flightdata.Recording, prof *profile.Profile) []flightdata.Note {
	s := newScene(rec, prof)
	if s.clock() { // nothing else can be judged by a wrong clock
		return s.notes
	}
	for _, check := range []func(){
		s.ranges, s.speeds, s.heights, s.airGround, s.parkingBrake, s.reversers, s.usualState,
		s.speedbrake, s.fractions, s.thrust, s.threshold, s.engines, s.weight, s.angles, s.levers, s.heading,
	} {
		check()
	}
	return s.notes
}

// doubt takes the parameters out of use and notes why. why is a sentence part
// that follows the names; remedy says what a person should look at.
func (s *scene) doubt(why, remedy string, params ...flightdata.Parameter) {
	var names []string
	for _, p := range params {
		if !s.usable(p) {
			continue
		}
		names = append(names, string(p))
		if s.rec.Doubted == nil {
			s.rec.Doubted = map[flightdata.Parameter]string{}
		}
		s.rec.Doubted[p] = why
		maskAll(s.rec.Get(p))
		delete(s.held, p)
		delete(s.means, p)
		delete(s.extents, p)
	}
	if len(names) == 0 {
		return
	}
	verb := "is"
	if len(names) > 1 {
		verb = "are"
	}
	s.notes = append(s.notes, flightdata.Note{
		Text: fmt.Sprintf("%s %s not believed: %s; %s", strings.Join(names, ", "), verb, why, remedy),
	})
}

// maskAll marks every good sample; what quality has masked keeps its reason.
func maskAll(s *flightdata.Series) {
	masks := make([]flightdata.Mask, s.Len())
	copy(masks, s.Masks)
	for i, m := range masks {
		if m == flightdata.Good {
			masks[i] = flightdata.Doubted
		}
	}
	s.Masks = masks
}

// column names where the profile maps a parameter, for a remedy.
func (s *scene) column(p flightdata.Parameter) string {
	r := s.prof.Find(p)
	if r == nil {
		return string(p)
	}
	return fmt.Sprintf("%s (line %d of the profile)", p, r.Line)
}
