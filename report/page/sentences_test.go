package page_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/report/archive"
	"rollonset/report/page"
)

// changed is an attempt with something changed.
func changed(a archive.AttemptSummary, change func(*archive.AttemptSummary)) archive.AttemptSummary {
	change(&a)
	return a
}

// untold makes a finding that cannot be told.
func untold(f *archive.FindingSummary, reason string) {
	f.State, f.AtOnset, f.Reason, f.Text, f.Value = "cannot be told", "cannot be told", reason, "", nil
}

var sentenceCases = []struct {
	name, headline string
	attempt        archive.AttemptSummary
	want           []string
}{
	{
		name: "rejected with flaps up and warning", headline: "Takeoff rejected at 14 kt; out of limits: flap lever",
		attempt: rejectedAttempt(),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with flap lever (0 deg; limit 10 deg or 20 deg) out of limits; no sign of life of main_gear_steering in this recording.",
			"The takeoff configuration warning was recorded 0.8 s after the condition arose under thrust.",
			"Thrust was cut 3.1 s after the onset (± 0.5 s) at 14 kt ground speed, the first action; takeoff warning precedes the first action by 2.3 s.",
			"The highest ground speed was 15 kt; the aircraft stopped or turned off 38 m after roll start; the next attempt followed 6.2 minutes later.",
		},
	},
	{
		name: "ordinary takeoff", headline: "Takeoff, all checks within limits; no sign of life of main_gear_steering",
		attempt: takeoffAttempt(),
		want: []string{
			"Thrust was advanced at 04:17:11 UTC (± 0.5 s) with all 5 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"No takeoff configuration warning was recorded, and none was due.",
			"Lift-off followed 40.0 s after the onset (± 0.5 s); the highest ground speed up to then was 157 kt.",
		},
	},
	{
		name: "cannot be told is not within", headline: "Takeoff; cannot be told: trim",
		attempt: changed(takeoffAttempt(), func(a *archive.AttemptSummary) {
			untold(&a.Findings[1], "gross_weight not recorded.")
			a.Warning = &archive.WarningSummary{Verdict: "neither", Untold: []string{"trim"}}
		}),
		want: []string{
			"Thrust was advanced at 04:17:11 UTC (± 0.5 s) with 4 of 5 checks within limits at the onset; trim cannot be told (gross_weight not recorded); no sign of life of main_gear_steering in this recording.",
			"No takeoff configuration warning was recorded, and none was due on the checks that could be told.",
			"Lift-off followed 40.0 s after the onset (± 0.5 s); the highest ground speed up to then was 157 kt.",
		},
	},
	{
		name: "went out in the roll, no warning, rolling, no date", headline: "Takeoff; out of limits: flap lever",
		attempt: changed(takeoffAttempt(), func(a *archive.AttemptSummary) {
			a.Rolling, a.ThrustAdvance = true, &archive.Moment{At: 431, Earliest: 430.2, Latest: 431}
			f := &a.Findings[0]
			f.State, f.InRoll, f.Severity = "out of limits", true, "high"
			f.Stretches = []archive.OutOfLimits{{From: *moment(444), To: *moment(472), SpeedFrom: reading(47, 2), Ended: "lift-off"}}
			a.Warning = &archive.WarningSummary{Verdict: "condition only", Due: []string{"flap lever"}}
		}),
		want: []string{
			"Thrust was advanced at 431.0 s after the start of the recording (± 0.8 s) on a rolling takeoff with all 5 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"Out of limits in the roll, from the onset: flap lever from +12.0 s (± 0.5 s, 47 kt) to lift-off +40.0 s (± 0.5 s).",
			"No takeoff configuration warning was recorded although one was due for flap lever.",
			"Lift-off followed 40.0 s after the onset (± 0.5 s); the highest ground speed up to then was 157 kt.",
		},
	},
	{
		name: "rejected before the roll, warning only", headline: "Takeoff rejected before the roll; cannot be told: main-gear steering and trim",
		attempt: changed(rejectedAttempt(), func(a *archive.AttemptSummary) {
			a.Outcome, a.NextMinutes, a.Findings = "rejected before the roll", nil, ordinaryFindings()
			untold(&a.Findings[1], "samples masked")
			untold(&a.Findings[4], "not recorded")
			a.Findings[1], a.Findings[4] = a.Findings[4], a.Findings[1]
			a.Warning = &archive.WarningSummary{Verdict: "warning only", First: moment(60.8), Untold: []string{"trim", "main-gear steering"}, UntoldDue: []string{"trim"}}
			a.Reject = &archive.RejectSummary{Class: "before the roll"}
		}),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with 3 of 5 checks within limits at the onset; main-gear steering and trim cannot be told.",
			"The takeoff configuration warning was recorded 0.8 s after the onset with no condition among the checks that could be told; not told: trim.",
			"Thrust was cut 3.1 s after the onset (± 0.5 s).",
			"No takeoff roll was recorded.",
		},
	},
	{
		name: "rejected after rotation", headline: "Takeoff rejected, all checks within limits; no sign of life of main_gear_steering",
		attempt: changed(rejectedAttempt(), func(a *archive.AttemptSummary) {
			a.NextMinutes, a.Findings, a.Warning, a.PeakSpeed = nil, ordinaryFindings(), nil, nil
			a.Rotation = moment(61)
			a.Reject = &archive.RejectSummary{ToStop: f(1300), CutToStop: f(812), CutToStopTime: f(24.3)}
		}),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with all 5 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"Thrust was cut 3.1 s after the onset (± 0.5 s), 2.1 s after the rotation began.",
			"The highest ground speed cannot be told; the aircraft stopped or turned off 1300 m after roll start, 812 m and 24.3 s after the thrust cut.",
		},
	},
	{
		name: "rejected about the rotation", headline: "Takeoff rejected, all checks within limits; no sign of life of main_gear_steering",
		attempt: changed(rejectedAttempt(), func(a *archive.AttemptSummary) {
			a.NextMinutes, a.Findings, a.Warning, a.PeakSpeed = nil, ordinaryFindings(), nil, nil
			a.Rotation, a.Reject = moment(63), &archive.RejectSummary{}
			a.Stop = nil
		}),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with all 5 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"Thrust was cut 3.1 s after the onset (± 0.5 s), about when a rotation began.",
			"The highest ground speed cannot be told; whether the aircraft stopped cannot be told.",
		},
	},
	{
		name: "orders that the brackets do not carry", headline: "Takeoff rejected, all checks within limits; no sign of life of main_gear_steering",
		attempt: changed(rejectedAttempt(), func(a *archive.AttemptSummary) {
			a.NextMinutes, a.Findings, a.Warning, a.PeakSpeed = nil, ordinaryFindings(), nil, nil
			brakes := archive.Action{What: "brakes", At: *moment(62.6)}
			a.Reject = &archive.RejectSummary{
				FirstAction: &brakes, Actions: []archive.Action{brakes, {What: "thrust", At: *moment(63.1)}},
				Cues: []archive.Action{{What: "master warning", At: *moment(62.0)}}, AgainstV1: "not resolvable", V1: f(128),
			}
		}),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with all 5 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"Thrust was cut 3.1 s after the onset (± 0.5 s); whether before or after V1 of 128 kt is not resolvable; the order of brakes and thrust is not resolvable; the order of master warning and the first action is not resolvable.",
			"The highest ground speed cannot be told; the aircraft stopped or turned off 7.2 s after the onset.",
		},
	},
	{
		name: "brakes first, many checks out", headline: "Takeoff rejected at 14 kt; out of limits: flap lever, trim and 2 more checks",
		attempt: changed(rejectedAttempt(), func(a *archive.AttemptSummary) {
			a.NextMinutes, a.Warning = nil, nil
			for i := range a.Findings[:4] {
				a.Findings[i].State, a.Findings[i].AtOnset, a.Findings[i].Limit, a.Findings[i].Severity = "out of limits", "out of limits", "", "low"
			}
			brakes := archive.Action{What: "brakes", At: *moment(61.1)}
			a.Reject = &archive.RejectSummary{FirstAction: &brakes, GroundAtCut: reading(14, 1), PeakGround: reading(15, 1), AgainstV1: "before V1", V1: f(128)}
			a.Stop = nil
		}),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with flap lever (0 deg), trim (4.80 units), parking brake (released) and 1 more check out of limits; no sign of life of main_gear_steering in this recording.",
			"Thrust was cut 3.1 s after the onset (± 0.5 s) at 14 kt ground speed, before V1 of 128 kt; brakes precede the thrust cut by 2.0 s.",
			"The highest ground speed was 15 kt; whether the aircraft stopped cannot be told.",
		},
	},
	{
		name: "brake released late, flaps never", headline: "Takeoff; out of limits: parking brake and flap lever",
		attempt: changed(takeoffAttempt(), func(a *archive.AttemptSummary) {
			flap, brake := &a.Findings[0], &a.Findings[2]
			brake.State, brake.AtOnset, brake.Text, brake.Limit, brake.Severity = "out of limits", "out of limits", "set", "released", "high"
			brake.Stretches = []archive.OutOfLimits{{From: *moment(432), To: *moment(450.8), SpeedTo: reading(82, 2), Ended: "corrected"}}
			flap.State, flap.AtOnset, flap.Text, flap.Severity = "out of limits", "out of limits", "5 deg", "low"
			flap.Stretches = []archive.OutOfLimits{{From: *moment(432), To: archive.Moment{At: 469, Earliest: 469, Latest: 469}, SpeedTo: reading(148, 2), Ended: "rotation"}}
			a.Warning = nil
		}),
		want: []string{
			"Thrust was advanced at 04:17:11 UTC (± 0.5 s) with parking brake (set; limit released) and flap lever (5 deg; limit 10 deg or 20 deg) out of limits; no sign of life of main_gear_steering in this recording.",
			"Out of limits since the onset: parking brake, until corrected 18.8 s after the onset (± 0.5 s) at 82 kt; flap lever, up to rotation 37.0 s after the onset at 148 kt.",
			"Lift-off followed 40.0 s after the onset (± 0.5 s); the highest ground speed up to then was 157 kt.",
		},
	},
	{
		name: "lever moved in the roll", headline: "Takeoff; out of limits: flap moved, planned flap and 1 more check",
		attempt: changed(takeoffAttempt(), func(a *archive.AttemptSummary) {
			exact := func(at float64) archive.Moment { return archive.Moment{At: at, Earliest: at, Latest: at} }
			end := exact(469)
			lever := &a.Findings[0]
			lever.State, lever.InRoll, lever.Severity, lever.Parameter, lever.Unit, lever.Value = "out of limits", true, "medium", "flap_lever", "deg", f(10)
			lever.Stretches = []archive.OutOfLimits{{From: exact(443), To: archive.Moment{At: 444, Earliest: 443, Latest: 444}, SpeedFrom: reading(54, 2), Ended: "corrected", Value: f(11.9), ValueAt: 443, Margin: f(-1.4)}}
			planned := *lever
			planned.Check, planned.Stretches = "planned flap", []archive.OutOfLimits{{From: exact(443), To: end, SpeedFrom: reading(54, 2), SpeedTo: reading(155, 2), Ended: "rotation", Value: f(20), ValueAt: 444, Margin: f(-9.5)}}
			moved := *lever
			moved.Check, moved.Severity, moved.Stretches = "flap moved", "high", []archive.OutOfLimits{{From: exact(444), To: *moment(472), SpeedFrom: reading(58, 2), Ended: "lift-off", Value: f(20), ValueAt: 444, Margin: f(-8)}}
			a.Findings = append(a.Findings, planned, moved)
			a.Warning = nil
		}),
		want: []string{
			"Thrust was advanced at 04:17:11 UTC (± 0.5 s) with all 7 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"Out of limits in the roll, from the onset: flap lever moved from 10 to 20 deg at +11.0 to +12.0 s, 54 kt; flap moved from +12.0 s (58 kt) to lift-off +40.0 s (± 0.5 s); planned flap from +11.0 s (54 kt) to rotation +37.0 s (155 kt); flap lever from +11.0 s (54 kt), at one sample only.",
			"Lift-off followed 40.0 s after the onset (± 0.5 s); the highest ground speed up to then was 157 kt.",
		},
	},
	{
		name: "brakes end a check before the cut, airspeed beside V1", headline: "Takeoff rejected at 94 kt; out of limits: flap lever",
		attempt: changed(rejectedAttempt(), func(a *archive.AttemptSummary) {
			a.NextMinutes, a.Warning, a.Stop = nil, nil, nil
			lever := &a.Findings[0]
			lever.AtOnset, lever.State, lever.InRoll = "within limits", "out of limits", true
			lever.Stretches = []archive.OutOfLimits{
				{From: archive.Moment{At: 61, Earliest: 61, Latest: 61}, To: archive.Moment{At: 61.5, Earliest: 61.5, Latest: 61.5}, SpeedTo: reading(60, 1), Ended: "thrust cut"},
				{From: archive.Moment{At: 62, Earliest: 62, Latest: 62}, To: *a.ThrustCut, SpeedTo: reading(93.4, 1), Ended: "thrust cut"},
			}
			a.Reject = &archive.RejectSummary{GroundAtCut: reading(94, 1), PeakGround: reading(95, 1), AgainstV1: "not resolvable", V1: f(96), AirAtAction: reading(97, 2)}
		}),
		want: []string{
			"Thrust was advanced at 04:10:59 UTC (± 0.5 s) with all 5 checks within limits at the onset; no sign of life of main_gear_steering in this recording.",
			"Out of limits in the roll, from the onset: flap lever from +1.0 s to the start of the reject +1.5 s (60 kt), again from +2.0 s to thrust cut +3.1 s (± 0.5 s, 94 kt).",
			"Thrust was cut 3.1 s after the onset (± 0.5 s) at 94 kt ground speed; whether before or after V1 of 96 kt is not resolvable (airspeed at the first action 97 kt, between 95 and 99 kt).",
			"The highest ground speed was 95 kt; whether the aircraft stopped cannot be told.",
		},
	},
	{
		name: "touch-and-go", headline: "Touch-and-go, no check judged",
		attempt: archive.AttemptSummary{Outcome: "touch-and-go", Why: "airborne 12 s before", ThrustAdvance: moment(431), Onset: moment(432)},
		want: []string{
			"Thrust was advanced at 04:17:11 UTC (± 0.5 s); the configuration checks do not apply to a touch-and-go.",
			"It was a touch-and-go (airborne 12 s before).",
		},
	},
	{
		name: "nothing known", headline: "Takeoff attempt whose end cannot be told, no check judged",
		attempt: archive.AttemptSummary{Outcome: "undetermined", Why: "the data end in the roll.", Warning: &archive.WarningSummary{Verdict: "cannot be told", Reason: "not recorded"}},
		want: []string{
			"When thrust was advanced cannot be told; no check was judged.",
			"Whether the takeoff configuration warning was given cannot be told (not recorded).",
			"How the attempt ended cannot be told (the data end in the roll).",
		},
	},
}

func TestSentences(t *testing.T) {
	for _, c := range sentenceCases {
		t.Run(c.name, func(t *testing.T) {
			got := page.Sentences(c.attempt)
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("sentences (-want +got):\n%s", diff)
			}
			if h := page.Headline(c.attempt); h != c.headline {
				t.Errorf("headline %q, want %q", h, c.headline)
			}
		})
	}
}

// TestSentenceManners: two to five sentences, each with its full stop, and
// none that names a cause.
func TestSentenceManners(t *testing.T) {
	cause := regexp.MustCompile(`\b(because of|caused?|due to|led to|therefore|blame)\b`)
	for _, c := range sentenceCases {
		got := page.Sentences(c.attempt)
		if len(got) < 2 || len(got) > 5 {
			t.Errorf("%s: %d sentences", c.name, len(got))
		}
		for _, s := range got {
			if !strings.HasSuffix(s, ".") || strings.Contains(s, "..") || strings.Contains(s, "  ") {
				t.Errorf("%s: %q", c.name, s)
			}
			if cause.MatchString(s) {
				t.Errorf("%s: names a cause: %q", c.name, s)
			}
		}
	}
}

func TestEventText(t *testing.T) {
	a := rejectedAttempt()
	for want, e := range map[string]archive.EventSummary{
		"flap lever: out of limits at the onset (0 deg; limit 10 deg or 20 deg)": {Kind: "configuration", Check: "flap lever"},
		"No takeoff configuration warning recorded although one was due":         {Kind: "warning", Check: "condition only"},
		"Takeoff configuration warning with no condition that requires it":       {Kind: "warning", Check: "warning only"},
		"Reject, low-speed, thrust cut at 14 kt":                                 {Kind: "reject", Check: "low-speed"},
		"something else":                                                         {Kind: "something", Check: "else"},
	} {
		if got := page.EventText(e, a); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// An event in the roll names the state or value that was reached there, not
// that of the onset, which was within limits.
func TestEventTextOfTheRoll(t *testing.T) {
	state := archive.FindingSummary{
		Check: "main-gear steering", State: "out of limits", AtOnset: "within limits", InRoll: true, Text: "centered", Limit: "centered",
		Stretches: []archive.OutOfLimits{{Text: "not centered", Limit: "centered"}},
	}
	value, margin, onset := 12.65, -2.35, 10.0
	number := archive.FindingSummary{
		Check: "flaps", State: "out of limits", AtOnset: "within limits", InRoll: true, Text: "10 deg", Value: &onset, Unit: "deg", Limit: "10 deg",
		Stretches: []archive.OutOfLimits{{Text: "12.7 deg", Value: &value, Margin: &margin, Limit: "10 deg"}},
	}
	a := archive.AttemptSummary{Findings: []archive.FindingSummary{state, number}}
	for check, want := range map[string]string{
		"main-gear steering": "main-gear steering: went out of limits in the roll (reached not centered; limit centered)",
		"flaps":              "flaps: went out of limits in the roll (reached 12.7 deg; limit 10 deg)",
	} {
		if got := page.EventText(archive.EventSummary{Kind: "configuration", Check: check}, a); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
