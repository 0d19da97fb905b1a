package detect_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"rollonset/detect"
	"rollonset/detect/internal/casefile"
)

// stopCase is the constructed accelerate-stop of check-values 7.4: 140 kt at
// 0.20 g in 36.7211 s, 2 s at V1 (14 CFR 25.109), a stop at 0.30 g in 24.4807 s.
// The roll starts at 60 s; thrust is cut after the two seconds.
const stopCase = `case: accelerate-stop
profile: quad
length: 200s
ground_speed       %[1]s Hz  0 until 60s, ..140 in 36.7211s, 140 for 2s, ..0 in 24.4807s, 0 rest
longitudinal_acceleration 8 Hz  0 until 60s, 0.2 for 36.7211s, 0 for 2s, -0.3 for 24.4807s, 0 rest
n1.*               %[1]s Hz  25 until 57s, ..95 in 4s, 95 until 98.7211s, ..25 in 3s, rest
air_ground         1 Hz  ground rest
heading            1 Hz  90 rest
flap_lever         1 Hz  10 rest
gross_weight       0.25 Hz  300000 rest
expect attempt 1: rejected
  class: high-speed
`

// TestAccelerateStop compares the distances with 1322.3681 + 144.0444 +
// 881.5787 = 2347.9913 m, within 1 % or 5 m at 1 Hz and much closer at 8 Hz.
func TestAccelerateStop(t *testing.T) {
	for _, c := range []struct {
		rate string
		most float64 // m
	}{{"1", 5}, {"2", 3}, {"8", 1}} {
		t.Run(c.rate+" Hz", func(t *testing.T) {
			cases, err := casefile.Parse("testdata/stop", fmt.Sprintf(stopCase, c.rate))
			if err != nil {
				t.Fatal(err)
			}
			rec, prof := cases[0].Build(t, os.ReadFile)
			asm := detect.Assess(rec, prof)
			for _, p := range cases[0].Check(asm) {
				t.Fatal(p)
			}
			r := asm.Attempts[0].Reject
			for _, d := range []struct {
				what           string
				got, want, off float64
			}{
				{"to the stop, m", r.ToStop, 2347.9913, c.most},
				// 1 s at 140 kt is 72 m: the cut is told to a sample, at 1 Hz.
				{"to the cut, m", r.ToCut, 1466.4125, 36 / map[string]float64{"1": 1, "2": 2, "8": 8}[c.rate]},
				{"peak, kt", r.PeakGround.Value, 140, 0.5},
				{"mean deceleration, g", r.MeanDeceleration, 0.30, 0.015},
				{"peak deceleration, g", r.PeakDeceleration, 0.30, 0.02},
				{"energy, MJ", r.Energy, 778.108, 0.01 * 778.108}, // 0.5 · 300 t · (140 kt)²
			} {
				if !(math.Abs(d.got-d.want) <= d.off) {
					t.Errorf("%s: %.4f, want %.4f ± %g", d.what, d.got, d.want, d.off)
				}
			}
		})
	}
}
