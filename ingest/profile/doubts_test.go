package profile

import (
	"slices"
	"strings"
	"testing"
)

func TestDoubts(t *testing.T) {
	const thrust = "thrust: {measure: n1, threshold: 70 %, hysteresis: 3 %}"
	for _, c := range []struct {
		name, from, to, want string // want "" is no doubt
	}{
		{"nothing odd", thrust, thrust, ""},
		{"the lowest usual", thrust, "thrust: {measure: n1, threshold: 45 %, hysteresis: 3 %}", ""},
		{"the highest usual", thrust, "thrust: {measure: n1, threshold: 95 %, hysteresis: 3 %}", ""},
		{"below idle", thrust, "thrust: {measure: n1, threshold: 7 %, hysteresis: 3 %}", "threshold: 7 % is an unusual threshold of n1: idle or taxi thrust may pass it"},
		{"a fraction of the number meant", thrust, "thrust: {measure: n1, threshold: 0.7 %, hysteresis: 0.1 %}", "usual is 45 to 95 %; common practice, no published source"},
		{"above every takeoff", thrust, "thrust: {measure: n1, threshold: 99 %, hysteresis: 3 %}", "a reduced takeoff may not reach it"},
		{"one mark", thrust, thrust + " # CONFIRM: the threshold", "1 line is of a draft not confirmed by anybody, in line "},
		{"the word in a text", "title: ", "title: to CONFIRM later ", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Doubts(parsed(t, c.from, c.to))
			if c.want == "" && got != nil {
				t.Errorf("doubts where there is nothing to doubt:\n%v", got)
			}
			if c.want != "" && !strings.Contains(got.Error(), c.want) {
				t.Errorf("got %v, want %q", got, c.want)
			}
		})
	}
}

// TestUnconfirmedLines counts lines from 1 and every line once.
func TestUnconfirmedLines(t *testing.T) {
	p := &Profile{Source: []byte("a: 1 # CONFIRM: x # CONFIRM y\nb: 2\n  # CONFIRM z\n\n#CONFIRM\nc: \"x#CONFIRM\" # CONFIRMED\n")}
	if got := p.Unconfirmed(); !slices.Equal(got, []int{1, 3, 5}) {
		t.Errorf("lines %v, want 1, 3 and 5", got)
	}
}

// TestDoubtsOfOtherMeasures knows the unit in which each is worked with.
func TestDoubtsOfOtherMeasures(t *testing.T) {
	for _, c := range []struct{ unit, threshold, usual string }{
		{"deg", "4 deg", "usual is 10 to 90 deg"},
		{"deg", "40 deg", ""},
		{"%", "4 %", "usual is 25 to 95 %"},
		{"fraction", "0.04 fraction", "usual is 25 to 95 %"},
		{"fraction", "0.5 fraction", ""},
	} {
		p := parsed(t, "  n1.*: {column: \"N1_*\", unit: \"%\"", "  thrust_lever.*: {column: \"N1_*\", unit: \""+c.unit+"\"",
			"thrust: {measure: n1, threshold: 70 %, hysteresis: 3 %}", "thrust: {measure: thrust_lever, threshold: "+c.threshold+"}")
		if got := Doubts(p).Error(); (c.usual == "") != (got == "") || !strings.Contains(got, c.usual) {
			t.Errorf("%s: got %q, want %q", c.threshold, got, c.usual)
		}
	}
}
