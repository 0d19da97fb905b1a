package archive

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"rollonset/detect/configuration"
	"rollonset/detect/takeoff"
)

func flightColumns(s *Summary) FlightColumns {
	return FlightColumns{
		Key: s.Key, Folder: s.Flight.Folder, Tail: s.Flight.Tail, Type: s.Flight.Type, Flight: s.Flight.Flight,
		Aerodrome: s.Flight.Aerodrome, Runway: s.Flight.Runway, Date: dayCount(s.Flight.Date),
		StartUTC: microseconds(s.Flight.StartUTC), File: s.Recording.File, RecordingSHA256: s.Recording.SHA256,
		Profile: s.Profile.Name, ProfileVersion: s.Profile.Version, ProfileSHA256: s.Profile.SHA256, Detection: s.Versions.Detection,
	}
}

// dayCount is a date of the summary in days since 1970-01-01, microseconds a
// UTC of it since then, as Parquet stores them; nil for one that is not known.
// A de-identified flight has only a month, which counts as its first day, so
// that queries by month go on working.
func dayCount(date string) *int32 {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		t, err = time.Parse("2006-01", date)
	}
	if err != nil {
		return nil
	}
	days := int32(t.Unix() / 86400) // a date is a whole number of days
	return &days
}

func microseconds(utc string) *int64 {
	t, err := time.Parse(time.RFC3339Nano, utc)
	if err != nil {
		return nil
	}
	micro := t.UnixMicro()
	return &micro
}

func atOf(m *Moment) *float64 {
	if m == nil {
		return nil
	}
	return &m.At
}

func utcOf(m *Moment) *int64 {
	if m == nil {
		return nil
	}
	return microseconds(m.UTC)
}

func value(r *Reading) *float64 {
	if r == nil {
		return nil
	}
	return &r.Value
}

func attemptRow(f FlightColumns, a *AttemptSummary) AttemptRow {
	row := AttemptRow{
		FlightColumns: f, Attempt: int32(a.Number), ID: a.ID, Outcome: a.Outcome, Why: a.Why, Rolling: a.Rolling,
		ThrustAdvance: atOf(a.ThrustAdvance), Onset: atOf(a.Onset), OnsetUTC: utcOf(a.Onset),
		RollStart: atOf(a.RollStart), Rotation: atOf(a.Rotation), LiftOff: atOf(a.LiftOff), ThrustCut: atOf(a.ThrustCut),
		Peak: atOf(a.Peak), Stop: atOf(a.Stop), Next: a.NextMinutes,
		PeakSpeed: value(a.PeakSpeed), OnsetSpeed: value(a.OnsetSpeed), GroundBy: a.GroundBy, ThrustBy: a.ThrustBy,
		Events: int32(len(a.Events)),
	}
	if a.Onset != nil {
		row.OnsetEarliest, row.OnsetLatest = &a.Onset.Earliest, &a.Onset.Latest
	}
	for _, finding := range a.Findings {
		switch finding.State {
		case string(configuration.Within):
			row.Within++
		case string(configuration.Outside):
			row.Outside++
		default:
			row.Untold++
		}
	}
	if w := a.Warning; w != nil {
		row.Verdict, row.WarningReason, row.WarningFirst, row.WarningEnded = w.Verdict, w.Reason, atOf(w.First), atOf(w.Ended)
		row.WarningDelay, row.Reaction = w.Delay, w.Reaction
	}
	if a.Reject != nil {
		row.RejectColumns = rejectColumns(a.Reject)
	}
	if len(a.Events) > 0 { // worst first
		row.Severity, row.Rule = a.Events[0].Severity, a.Events[0].Rule
	}
	return row
}

func rejectColumns(r *RejectSummary) RejectColumns {
	out := RejectColumns{
		Class: r.Class, Order: r.Order, GroundAtAction: value(r.GroundAtAction), AirAtAction: value(r.AirAtAction),
		GroundAtCut: value(r.GroundAtCut), AirAtCut: value(r.AirAtCut), PeakGround: value(r.PeakGround), PeakAir: value(r.PeakAir),
		AgainstV1: r.AgainstV1, V1: r.V1, MeanDeceleration: r.MeanDeceleration, PeakDeceleration: r.PeakDeceleration,
		ToCut: r.ToCut, ToPeak: r.ToPeak, ToStop: r.ToStop, PositionToStop: r.PositionToStop,
		Energy: r.Energy, EnergyPerWheel: r.EnergyPerWheel, HeadingDeviation: r.HeadingDeviation,
		LateralDeviation: r.LateralDeviation, RunwayLeft: r.RunwayLeft, RejectSeverity: r.Severity,
	}
	if r.FirstAction != nil {
		out.FirstAction, out.FirstActionAt = r.FirstAction.What, &r.FirstAction.At.At
	}
	if len(r.Cues) > 0 {
		out.Cue = r.Cues[0].What
	}
	return out
}

func findingRow(flight FlightColumns, a *AttemptSummary, f *FindingSummary) FindingRow {
	row := FindingRow{
		FlightColumns: flight, Attempt: int32(a.Number), ID: a.ID, Outcome: a.Outcome, OnsetUTC: utcOf(a.Onset),
		Check: f.Check, State: f.State, AtOnset: f.AtOnset, InRoll: f.InRoll, Reason: f.Reason,
		JudgedFrom: f.JudgedFrom, JudgedTo: f.JudgedTo, Parameter: f.Parameter, Unit: f.Unit,
		Value: f.Value, Text: f.Text, Age: f.Age, Limit: f.Limit, LimitLow: f.LimitLow, LimitHigh: f.LimitHigh,
		Margin: f.Margin, Worst: f.WorstMargin, Share: f.MarginShare, Stretches: int32(len(f.Stretches)),
		Life: f.Life, LifeWhy: f.LifeWhy, Severity: f.Severity, Rule: f.Rule, ProfileLine: int32(f.ProfileLine),
	}
	if n := len(f.Stretches); n > 0 {
		first, last := &f.Stretches[0], &f.Stretches[n-1]
		row.OutFrom, row.OutTo, row.Ended = &first.From.At, &last.To.At, last.Ended
		row.OutSpeed, row.OutSpeedTo = value(first.SpeedFrom), value(last.SpeedTo)
	}
	return row
}

// maskCount is a member of RecordingRow.Masks.
type maskCount struct {
	Parameter string `json:"parameter"`
	Reason    string `json:"reason"`
	Samples   int    `json:"samples"`
}

func recordingRow(flight FlightColumns, s *Summary) (RecordingRow, error) {
	r := &s.Recording
	row := RecordingRow{
		FlightColumns: flight, Bytes: r.Bytes, Format: r.Format, Rows: r.Rows, Columns: int32(r.Columns), ColumnsUsed: int32(r.Used),
		Duration: r.Duration, Attempts: int32(len(s.Attempts)), LookAlikes: int32(len(s.LookAlike)), Notes: int32(len(s.Notes)),
	}
	for i := range s.Attempts {
		switch takeoff.Outcome(s.Attempts[i].Outcome) {
		case takeoff.Airborne:
			row.Airborne++
		case takeoff.Rejected, takeoff.RejectedNoRoll:
			row.Rejected++
		}
		row.Events += int32(len(s.Attempts[i].Events))
	}
	for _, c := range s.Coverage {
		row.Told, row.Due = row.Told+int32(c.Told), row.Due+int32(c.Attempts)
	}
	masks := []maskCount{}
	for _, sensor := range s.Sensors {
		row.Samples += int64(sensor.Samples)
		for _, reason := range slices.Sorted(maps.Keys(sensor.Masked)) {
			masks = append(masks, maskCount{sensor.Parameter, reason, sensor.Masked[reason]})
			row.Masked += int64(sensor.Masked[reason])
		}
	}
	if s.Clip != nil {
		row.ClipSHA256 = s.Clip.SHA256
	}
	var err error
	if row.Coverage, err = jsonText(s.Coverage); err != nil {
		return row, err
	}
	row.Masks, err = jsonText(masks)
	return row, err
}

func jsonText(v any) (string, error) {
	text, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("as JSON: %w", err)
	}
	return string(text), nil
}
