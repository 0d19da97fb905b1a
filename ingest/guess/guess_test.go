package guess_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollonset/ingest/flightdata"
	. "rollonset/ingest/guess"
	"rollonset/ingest/profile"
)

// named guesses one column that could be anything by what it holds.
func named(name string, words ...string) Guess {
	c := Column{Name: name, Samples: 100, Period: time.Second, Lo: 0, Hi: 1, Words: words}
	return All([]Column{c}, 0, "")[0]
}

// TestNames: names as recorders and ground stations write them, and what they
// must not be taken for.
func TestNames(t *testing.T) {
	for name, want := range map[string]flightdata.Parameter{
		"GS": "ground_speed", "Ground Speed (kt)": "ground_speed", "GSPD_FMS1": "ground_speed", "groundSpeed": "ground_speed",
		"SEL_GS": "", "Ground Spoiler": "spoiler_position",
		"CAS": "airspeed", "Computed Airspeed": "airspeed", "IAS_ADC2": "airspeed", "SELECTED_AIRSPEED": "",
		"N1_2": "n1.2", "ENG3_N1": "n1.3", "N1 Engine 4 (%)": "n1.4", "N12": "n1.2", "N2_1": "", "N1": "", "N1_LIMIT_1": "",
		"EPR1": "epr.1", "trq_2_pct": "torque.2", "Engine 1 Torque": "torque.1",
		"TLA2": "thrust_lever.2", "Thrust Lever 1 (deg)": "thrust_lever.1", "PowerLeverAngle_2": "thrust_lever.2",
		"RADALT": "radio_height", "Radio Height": "radio_height", "ra_m": "radio_height",
		"ALT_STD": "pressure_altitude", "Pressure Altitude (ft)": "pressure_altitude", "SEL_ALT": "", "Cabin Altitude": "",
		"long_accel_g": "longitudinal_acceleration", "nx_g": "longitudinal_acceleration", "lat_accel_g": "", "vert_accel_g": "",
		"Pitch": "pitch", "THETA": "pitch", "PITCH_RATE": "", "PITCH TRIM": "stabilizer_trim",
		"hdg_mag_deg": "heading", "PSI_MAG": "heading", "SEL_HDG": "", "brake_press_l_psi": "brake_pressure.left",
		"FLAP_LVR": "flap_lever", "Flap Handle (deg)": "flap_lever", "FLAP_R": "flap_position.right", "Flap Position": "flap_position",
		"SLAT_POS": "slat_position", "THS": "stabilizer_trim", "STAB": "stabilizer_trim", "rtrim_deg": "rudder_trim", "Aileron Trim": "aileron_trim",
		"SPD_BRK": "speedbrake_lever", "SB_HANDLE": "speedbrake_lever", "Spoiler Handle": "speedbrake_lever", "SPOILER": "spoiler_position",
		"BRK_L": "brake_pressure.left", "Brake Temp 1": "", "GW": "gross_weight", "Gross Weight (lb)": "gross_weight", "fuel_lb": "",
		"CG_MAC": "center_of_gravity", "Latitude (deg)": "latitude", "lon_deg": "longitude", "sat_degc": "outside_air_temperature",
		"roll_deg": "", "FRAME_COUNT": "", "gear_lever_down": "", "elevator_norm": "", "": "", "???": "", "Wind Speed": "wind_speed",
	} {
		if got := named(name); got.Parameter != want {
			t.Errorf("%q is guessed to be %q, want %q", name, got.Parameter, want)
		}
	}
}

// TestDiscretes: which cell means which state, by the words, by the name, and
// with nothing to go by.
func TestDiscretes(t *testing.T) {
	for _, c := range []struct{ name, words, want string }{
		{"PARK_BRK", "REL SET", "parking_brake (sure): released=REL set=SET"},
		{"PARK_BRK", "SET", "parking_brake (perhaps): released=FILL IN released set=SET"},
		{"park_brake_set", "0 1", "parking_brake (sure): released=0 set=1"},
		{"pbrk", "0 1", "parking_brake (perhaps): released=0 set=1"},
		{"pbrk", "1", "parking_brake (perhaps): released=0 set=1"},
		{"WOW", "GND AIR", "air_ground (sure): ground=GND air=AIR"},
		{"on_ground", "0 1", "air_ground (sure): ground=1 air=0"},
		{"Air/Ground (1=air)", "0 1", "air_ground (sure): ground=0 air=1"},
		{"Air/Ground (1=ground)", "0 1", "air_ground (sure): ground=1 air=0"},
		{"wow_nose", "0 1", "air_ground (perhaps): ground=1 air=0"},
		{"ENG1_REV", "STOW TRANS DEPL", "thrust_reverser.1 (sure): stowed=STOW transit=TRANS deployed=DEPL"},
		{"REV2", "0 1 2", "thrust_reverser.2 (perhaps): stowed=0 transit=1 deployed=2"},
		{"CONFIG_WARN", "NORM WARN", "takeoff_warning (sure): off=NORM on=WARN"},
		{"TO_WARN", "0 1", "takeoff_warning (perhaps): off=0 on=1"},
		{"ABRK", "OFF RTO LO HI", "autobrake (sure): off=OFF rto=RTO other=LO,HI"},
		{"MG_STEER", "0 1", "main_gear_steering (perhaps): centered=0 not centered=1"},
		{"PARK_BRK", "", " "}, // a number with many values is no discrete
	} {
		g := named(c.name, strings.Fields(c.words)...)
		got := g.String() + ":"
		for _, r := range g.States {
			got += fmt.Sprintf(" %s=%s", r.State, strings.Join(r.Cells, ","))
		}
		if strings.TrimSpace(strings.Trim(got, ":")) != strings.TrimSpace(c.want) {
			t.Errorf("%s holding %s: got %s, want %s", c.name, c.words, got, c.want)
		}
	}
}

// TestUnits: what the file states counts; what the range cannot be is doubted.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		name, unit string
		lo, hi     float64
		want       string
	}{
		{"GS", "m/s", 0, 85, "ground_speed in m/s (sure)"},
		{"GS (km/h)", "", 0, 300, "ground_speed in km/h (sure)"},
		{"GS", "", 0, 165, "ground_speed in kt (perhaps)"},
		{"GS (kt)", "", 0, 200000, ""}, // in no unit possible
		{"GS (kt)", "", 0, 2000, "ground_speed in kt (perhaps)"},
		{"ACC_LONG", "", -4, 5, "longitudinal_acceleration in m/s2 (likely)"},
		{"ACC_LONG", "", -0.4, 0.5, "longitudinal_acceleration in g (likely)"},
		{"N1_1", "", 0, 1, "n1.1 in fraction (likely)"},
		{"GW", "", 120000, 140000, "gross_weight in kg (perhaps)"},
		{"GW", "t", 60, 70, "gross_weight in t (sure)"},
		{"BRK_PRESS", "", 0, 3000, "brake_pressure in psi (likely)"},
		{"BRK_PRESS", "", 0, 200, "brake_pressure in bar (likely)"},
		{"THS", "", -6, 0, "stabilizer_trim in units (perhaps)"},
		{"HDG", "", 0, 6.27, "heading in rad (likely)"},
		{"EPR1", "", 1, 1.5, "epr.1 in EPR (sure)"},
	} {
		got := All([]Column{{Name: c.name, Unit: c.unit, Samples: 500, Lo: c.lo, Hi: c.hi}}, 0, "")[0].String()
		if got != c.want {
			t.Errorf("%s [%s] from %g to %g: got %s, want %s", c.name, c.unit, c.lo, c.hi, got, c.want)
		}
	}
}

// TestAnyDraftIsAProfile: whatever a file calls its columns and holds in them,
// a draft with a speed and thrust is read without a mistake: no name can break
// out of its quotes or its comment.
func TestAnyDraftIsAProfile(t *testing.T) {
	words := []string{"FLAP", "LEVER", "STAB", "TRIM", "PARK", "BRK", "SLAT", "SPOILER", "AIR", "GND", "1", "2", "L", "R", "(deg)", "(%)", "\"", "\n", "#", ": ", "*", "é", "\x00", "'", "{", "[0]", "TO", "WARN", "REV", "TLA", "GW", "IAS"}
	rapid.Check(t, func(t *rapid.T) {
		columns := []Column{
			{Name: "T", Samples: 9, Lo: 0, Hi: 9},
			{Name: "GS (kt)", Samples: 9, Lo: 0, Hi: 160},
			{Name: "N1_1 (%)", Samples: 9, Lo: 20, Hi: 99},
		}
		seen := map[string]bool{"T": true, "GS (kt)": true, "N1_1 (%)": true}
		for range rapid.IntRange(0, 12).Draw(t, "columns") {
			name := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 1, 5).Draw(t, "words"), rapid.SampledFrom([]string{"", "_", " "}).Draw(t, "joint"))
			if seen[name] {
				continue // the profile language refuses one column for two parameters
			}
			seen[name] = true
			lo := rapid.Float64Range(-20, 50).Draw(t, "lo")
			c := Column{Name: name, Samples: 9, Period: time.Duration(rapid.IntRange(0, 4e9).Draw(t, "period")), Lo: lo, Hi: lo + rapid.Float64Range(0, 40).Draw(t, "range")}
			if rapid.Bool().Draw(t, "discrete") {
				c.Words = rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"0", "1", "2", "SET", "REL", "a\"b", "GND", "AIR", "x\ny", "{"}), 1, 4, rapid.ID[string]).Draw(t, "cells")
			}
			if rapid.Bool().Draw(t, "words only") {
				c.Lo, c.Hi = math.NaN(), math.NaN()
			}
			columns = append(columns, c)
		}
		guesses := All(columns, 0, "T")
		text := Draft(&Recording{Name: "a\nb: c", Time: profile.TimeRule{Columns: []string{"T"}, Form: profile.TimeSeconds}, Columns: columns, Guesses: guesses})
		if _, err := profile.Parse("draft.yaml", text); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
	})
}
