package detect_test

import (
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
)

// drawMessy draws an hour on the ground and in the air in which thrust, speed,
// air state, levers and dropouts follow no flight at all: whatever is told of
// it, it must be told again from the clip.
func drawMessy(t *rapid.T) string {
	var b strings.Builder
	b.WriteString("case: messy\nprofile: quad\nlength: 1800s\n")
	terms := func(name, rate string, values []string) {
		var list []string
		at := 0
		last := "" // a ramp needs a value before it
		for range rapid.IntRange(1, 12).Draw(t, name) {
			at += rapid.SampledFrom([]int{1, 2, 4, 8, 20, 45, 90, 150, 400}).Draw(t, name+" for")
			v := rapid.SampledFrom(values).Draw(t, name+" value")
			switch kind := rapid.IntRange(0, 9).Draw(t, name+" kind"); {
			case kind == 0:
				list, last = append(list, fmt.Sprintf("gap until %ds", at)), ""
			case kind < 5 && last != "" && rate[0] != '!':
				list, last = append(list, fmt.Sprintf("..%s until %ds", v, at)), v
			default:
				list, last = append(list, fmt.Sprintf("%s until %ds", v, at)), v
			}
		}
		v := rapid.SampledFrom(values).Draw(t, name+" rest")
		fmt.Fprintf(&b, "%s %s %s, %s rest\n", name, strings.TrimPrefix(rate, "!"), strings.Join(list, ", "), v)
	}
	maybe := func(name, rate string, values ...string) {
		if rapid.IntRange(0, 9).Draw(t, name+" recorded") > 0 {
			terms(name, rate, values)
		}
	}
	maybe("ground_speed", "1 Hz", "0", "3", "12", "40", "80", "130", "160")
	maybe("airspeed", "1 Hz from 400ms", "30", "60", "120", "160")
	maybe("n1.*", "1 Hz from 100ms", "25", "60", "69", "72", "95")
	maybe("n1.3", "1 Hz", "20", "75", "95")
	maybe("n1.4", "1 Hz", "20", "75", "95")
	maybe("thrust_lever.*", "1 Hz", "5", "40", "60")
	maybe("thrust_reverser.2", "!1 Hz", "stowed", "transit", "deployed")
	maybe("air_ground", "!1 Hz", "ground", "air")
	// Not in ramps: an aircraft does not hang for minutes between the heights at
	// which it counts as off and as on the ground, where a clip can begin.
	maybe("radio_height", "!1 Hz", "0", "8", "30", "500", "2500")
	maybe("longitudinal_acceleration", "4 Hz", "0", "0.02", "0.2", "-0.3")
	maybe("pitch", "4 Hz", "0", "1", "4", "12")
	maybe("heading", "1 Hz", "350", "355", "10", "30")
	maybe("flap_lever", "0.5 Hz", "0", "5", "10", "20")
	maybe("flap_position.*", "0.25 Hz", "0", "10", "20")
	maybe("stabilizer_trim", "1 Hz", "1", "4", "5", "7", "10")
	maybe("parking_brake", "!1 Hz", "set", "released")
	maybe("speedbrake_lever", "1 Hz", "0", "2", "50")
	maybe("brake_pressure.left", "1 Hz", "0", "200", "1500")
	maybe("takeoff_warning", "!1 Hz", "off", "on")
	maybe("master_warning", "!1 Hz", "off", "on")
	maybe("gross_weight", "0.25 Hz", "210000", "300000", "500000")
	maybe("center_of_gravity", "0.25 Hz", "15", "20", "40")
	maybe("rigging", "1 Hz", "0", "6")
	maybe("v1", "1 Hz", "0", "110", "140")
	return b.String()
}

func messy(t *rapid.T) (*flightdata.Recording, *profile.Profile, string) {
	text := drawMessy(t)
	cases, err := casefile.Parse("testdata/messy", text)
	if err != nil {
		t.Fatal(err)
	}
	prof, err := cases[0].Load(os.ReadFile)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := cases[0].Recording(prof)
	if err != nil {
		t.Fatal(err)
	}
	return rec, prof, text
}

// TestLawsOnMessyData: the clip, the clock and a second run, on data that
// nobody has thought of; and every instant that is told lies in its bracket
// and in the recording.
func TestLawsOnMessyData(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rec, prof, text := messy(t)
		whole := detect.Assess(rec, prof)
		want := tell(whole)
		if diff := same(want, tell(detect.Assess(rec, prof))); diff != "" {
			t.Fatalf("%s\na second run:\n%s", text, diff)
		}
		if diff := same(want, tell(detect.Assess(rec.Clip(whole.Windows), prof))); diff != "" {
			t.Fatalf("%s\nthe clip of %v (-whole +clip):\n%s", text, whole.Windows, diff)
		}
		for i := range want.Attempts {
			a := &want.Attempts[i]
			if a.ThrustAdvance.At < rec.Span.From || a.End > rec.Span.To+1 || a.End < a.ThrustAdvance.At {
				t.Fatalf("%s\nattempt from %v to %v", text, a.ThrustAdvance.At, a.End)
			}
			if i > 0 && a.ThrustAdvance.At < want.Attempts[i-1].End {
				t.Fatalf("%s\nattempt %d begins before the one before has ended", text, a.Number)
			}
		}
		d := 12345678901 * time.Nanosecond
		got := tell(detect.Assess(later(rec, d), prof))
		back(reflect.ValueOf(&want).Elem(), 0)
		back(reflect.ValueOf(&got).Elem(), -d)
		if diff := same(want, got); diff != "" {
			t.Fatalf("%s\n%v later:\n%s", text, d, diff)
		}
	})
}
