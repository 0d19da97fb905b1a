package evidence

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"rollonset/detect/configuration"
	"rollonset/ingest/flightdata"
	"rollonset/report/archive"
)

// Shared is an archive on its way to others: its tables, covered.
type Shared struct {
	From     *archive.Archive
	Cover    Cover
	Versions archive.Versions
	// LeftOut is called with every flight that cannot be covered and is
	// therefore not in the tables.
	LeftOut func(folder string, err error)
}

// SharedRun is the name of the one run in shared tables. Those of the archive
// tell when it was made.
const SharedRun = "shared"

// Write makes the tables in another archive, which should be empty.
func (s Shared) Write(ctx context.Context, to *archive.Archive) (archive.TableCounts, error) {
	list, err := s.list()
	if err != nil {
		return archive.TableCounts{}, err
	}
	return to.WriteTables(SharedRun, s.copies(ctx, list))
}

// sharedPart is a part of a flight in the order in which it is written.
type sharedPart struct {
	name   string // the folder that its copy will be given begins with this
	folder string
	part   int
}

// list sorts all parts by their pseudonyms, so that the order of the rows
// tells nothing of the order of the flights.
func (s Shared) list() ([]sharedPart, error) {
	var out []sharedPart
	for folder, err := range s.From.Folders() {
		if err != nil {
			return nil, err
		}
		sum, err := s.From.Read(folder)
		if err != nil {
			s.LeftOut(folder, err)
			continue
		}
		for i := range s.Cover.parts(&sum) {
			out = append(out, sharedPart{s.Cover.recordingName(&sum, i), folder, i})
		}
	}
	slices.SortFunc(out, func(a, b sharedPart) int {
		return cmp.Or(strings.Compare(a.name, b.name), strings.Compare(a.folder, b.folder), a.part-b.part)
	})
	return out, nil
}

// copies yields the summaries of the copies, one flight in memory at a time.
func (s Shared) copies(ctx context.Context, list []sharedPart) iter.Seq2[archive.Summary, error] {
	return func(yield func(archive.Summary, error) bool) {
		for _, p := range list {
			if err := ctx.Err(); err != nil {
				yield(archive.Summary{}, err)
				return
			}
			sum, err := s.copy(p)
			if err != nil {
				s.LeftOut(p.folder, err)
				continue
			}
			if !yield(sum, nil) {
				return
			}
		}
	}
}

func (s Shared) copy(p sharedPart) (archive.Summary, error) {
	sum, err := s.From.Read(p.folder)
	if err != nil {
		return archive.Summary{}, err
	}
	if sum.Clip == nil && len(sum.Attempts) > 0 {
		return archive.Summary{}, fmt.Errorf("%s has attempts and no clip; process the recording again", p.folder)
	}
	if sum.Clip == nil {
		return s.Cover.bare(sum, s.Versions, archive.ProfileInfo{Name: s.Cover.Groups.Of(&sum).Type}), nil
	}
	f, err := Load(s.From, sum)
	if err != nil {
		return archive.Summary{}, err
	}
	prof, err := s.Cover.profile(f)
	if err != nil {
		return archive.Summary{}, err
	}
	copied, err := s.Cover.copy(f, prof, s.Versions, p.part)
	if err != nil {
		return archive.Summary{}, err
	}
	unweigh(&copied.Summary, prof)
	if !s.Cover.Places {
		unplace(&copied.Summary)
	}
	if s.Cover.Groups.Of(&sum).Type == Other {
		generalise(&copied.Summary)
	}
	words := &Words{}
	words.Add(sum)
	text, err := jsonOf(copied.Summary)
	if err != nil {
		return archive.Summary{}, err
	}
	if found := words.In(text); len(found) > 0 {
		return archive.Summary{}, fmt.Errorf("the copy would show %s; look for it in the titles of the profile's checks", strings.Join(found, ", "))
	}
	return copied.Summary, nil
}

// bare is the copy of a flight without attempts: that there was one, and that
// it was read, with the copy of its profile.
func (c Cover) bare(s archive.Summary, v archive.Versions, prof archive.ProfileInfo) archive.Summary {
	mark := recordingMark(&s, 0)
	out := archive.Summary{
		Schema: archive.SchemaVersion, Caution: archive.Caution, Versions: v,
		Recording: archive.RecordingInfo{File: c.recordingName(&s, 0), SHA256: c.Key.Hash("recording", mark), Format: s.Recording.Format},
		Profile:   prof,
		Attempts:  []archive.AttemptSummary{}, LookAlike: []archive.LookAlike{}, Coverage: []archive.CheckCoverage{}, Sensors: []archive.Sensor{}, Notes: []string{},
	}
	out.Key = archive.Key(out.Recording.SHA256, prof.SHA256, v.Detection)
	out.Flight = flightOf(c.identity(&s, 0))
	out.Flight.Folder = "flights/undated/" + out.Recording.File + "-" + out.Key[:8]
	return out
}

func flightOf(id flightdata.Identity) archive.Flight {
	return archive.Flight{Tail: id.Tail, Type: id.Type, Flight: id.Flight, Aerodrome: id.Aerodrome, Runway: id.Runway, Date: id.Date, From: id.From}
}

// generalise takes from a flight of a rare type what would tell the type: its
// checks by name and number, their limits and values, weights and energies,
// sensors. Kept is the worst that any check came to.
func generalise(s *archive.Summary) {
	s.Profile = archive.ProfileInfo{Name: Other}
	s.Coverage, s.Sensors, s.LookAlike = []archive.CheckCoverage{}, []archive.Sensor{}, []archive.LookAlike{}
	for i := range s.Attempts {
		a := &s.Attempts[i]
		a.ThrustBy, a.GroundBy, a.Engines = "", "", []int{}
		a.Findings = worst(a.Findings)
		for j := range a.Events {
			a.Events[j].Check, a.Events[j].Rule = "", ""
		}
		if w := a.Warning; w != nil {
			w.Reason, w.Rule, w.DelayOf = "", "", ""
			w.Due, w.NotRequired, w.Untold, w.UntoldDue = []string{}, []string{}, []string{}, []string{}
		}
		if r := a.Reject; r != nil {
			r.EnergyWhy, r.RunwayLeft, r.RunwayLeftIf, r.Rule = "", nil, "", ""
		}
	}
}

// worst is one finding for all: out of limits if any check was, else not told
// if any could not be. Nil of none.
func worst(all []archive.FindingSummary) []archive.FindingSummary {
	if len(all) == 0 {
		return nil
	}
	rank := func(f archive.FindingSummary) int {
		return slices.Index([]string{string(configuration.Outside), string(configuration.Unknown), string(configuration.Within)}, f.State)
	}
	f := slices.MinFunc(all, func(a, b archive.FindingSummary) int { return rank(a) - rank(b) })
	return []archive.FindingSummary{{Check: "all checks", State: f.State, AtOnset: f.AtOnset, InRoll: f.InRoll, Severity: f.Severity}}
}

// SharedNote is the text that goes with shared tables.
func SharedNote(w io.Writer, n archive.TableCounts, smallest int, c Cover) error {
	where := "Aerodromes and runways are left out: how often each occurs in a month is in any\ntimetable, and would give a pseudonym away."
	if c.Places {
		where = "Aerodromes and runways have pseudonyms. Whoever has the timetable of the month\ncan tell an aerodrome by how often it occurs: give these tables to nobody who\nmust not know where."
	}
	who := "Aircraft are left out: how often each flew in a month is in public records of\ntraffic, and would give a pseudonym away."
	if !c.NoTails {
		who = "Aircraft have pseudonyms. Whoever knows how often each flew in the month can tell\nan aircraft by it: give these tables to nobody who must not know which."
	}
	_, err := fmt.Fprintf(w, `De-identified tables: %d recordings, %d takeoff attempts, %d findings.

tables/attempts, tables/findings and tables/recordings are Parquet, for any
query engine. Flights, recordings and keys are pseudonyms under a key that only
the operator has. The date is the first of the month. Times count from the
onset of the first attempt; flights with attempts more than half an hour apart
are cut into recordings of their own. Months, types and aircraft with fewer than
%d flights are "other" or null.

%s

%s

What remains: speeds, distances and margins are as recorded. Whoever holds the
recordings, the load sheets or the tracks of the flights, second by second, can
find a flight by them. A rejected takeoff of which the press told the month and
the type is known as soon as it is the only one of that month and type.

%s
`, n.Recordings, n.Attempts, n.Findings, smallest, where, who, archive.Caution)
	return err
}
