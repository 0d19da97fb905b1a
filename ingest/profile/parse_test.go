package profile

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rollonset/ingest/flightdata"
)

func parsed(t *testing.T, oldNew ...string) *Profile {
	t.Helper()
	p, err := Parse("small.yaml", []byte(small(t, oldNew...)))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestDefaults(t *testing.T) {
	// The numbers stand here once more, so that a default does not change
	// unseen. They are those of the page on detection.
	p := parsed(t, "thrust: {measure: n1, threshold: 70 %, hysteresis: 3 %}", "thrust: {measure: n1}",
		"warning: {parameter: takeoff_warning, within: 3 s}", "warning: {parameter: takeoff_warning}")
	want := AttemptRule{60, time.Second, 2 * time.Second, 5 * time.Second, 10, 5, 30, 20, 15 * time.Second, 15 * time.Minute, time.Minute, 0}
	if d := cmp.Diff(want, p.Attempt); d != "" {
		t.Errorf("attempt (-want +got):\n%s", d)
	}
	thrust := ThrustRule{Measure: "n1", Threshold: 70, Hysteresis: 3, Engines: HalfEngines, Persistence: 2 * time.Second}
	if d := cmp.Diff(thrust, p.Thrust, cmpopts.IgnoreFields(ThrustRule{}, "Line")); d != "" {
		t.Errorf("thrust (-want +got):\n%s", d)
	}
	if p.Reject.HighFrom != 120 || p.Reject.CueWithin != 6*time.Second || !math.IsNaN(p.Reject.BrakesOn) || !math.IsNaN(p.Reject.LeverOut) {
		t.Errorf("reject: %+v", p.Reject)
	}
	if p.Severity != (SeverityRule{MediumFrom: 40, HighFrom: 80}) || p.Warning.Within != 3*time.Second {
		t.Errorf("severity %+v, warning %+v", p.Severity, p.Warning)
	}
	c := p.Checks[3]
	if c.Judged != (Judged{"onset", "rotation"}) || c.Severity != "by speed" || c.Persistence != 0 || c.SpeedFrom != 0 || !math.IsInf(c.SpeedTo, 1) || c.FarOutside != 0 || c.WarningDue {
		t.Errorf("check: %+v", c)
	}
}

func TestCanonicalValues(t *testing.T) {
	// Factors are exact: 1 m/s = 3600/1852 kt and 1 lb = 0.45359237 kg
	// (NIST SP 811, appendix B.8), 1 bar = 100000 Pa, 1 psi = 6894.757… Pa.
	p, err := Load(filepath.Join(fleet, "tj22.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Find("gross_weight").Canonical.Symbol; got != "kg" {
		t.Errorf("weight is worked with in %s", got)
	}
	near := cmpopts.EquateApprox(1e-12, 0)
	want := []float64{90000 * 0.45359237, 120000 * 0.45359237, 150000 * 0.45359237}
	for _, c := range p.Checks {
		if c.Name == "trim" {
			if d := cmp.Diff(want, c.Band.Tables[0].X, near); d != "" {
				t.Error(d)
			}
		}
	}
	if d := cmp.Diff(20*1e5/6894.757293168361, p.Reject.BrakesOn, near); d != "" {
		t.Error(d)
	}
	if got := p.Find("stabilizer_trim").Canonical.Symbol; got != "deg" {
		t.Errorf("a trim in degrees is worked with in %s", got)
	}
}

func TestWildcard(t *testing.T) {
	p := parsed(t, "  flap_lever: {column", "  n1.2: {column: RIGHT_N1, unit: \"%\", rate: 2}\n  flap_lever: {column")
	var got []string
	for _, r := range p.Parameters {
		if r.Parameter.Base() == flightdata.N1 {
			got = append(got, string(r.Parameter)+"="+strings.Join(r.Columns, ","))
		}
	}
	if d := cmp.Diff([]string{"n1.1=N1_1", "n1.2=RIGHT_N1"}, got); d != "" {
		t.Errorf("an entry for one engine overrides the wildcard (-want +got):\n%s", d)
	}
	if p.Find("n1.2").Rate != 2 {
		t.Error("n1.2 lost its rate")
	}
}

func TestOwnParameter(t *testing.T) {
	p := parsed(t, "parameters:", "own_parameters:\n  rudder_lock: {kind: discrete, states: [out, in]}\n  fuel: {kind: continuous, unit: lb, range: [0 lb, 1000 kg]}\nparameters:\n"+
		"  rudder_lock: {column: RL, states: {in: [IN], out: [OUT, OFF]}}\n  fuel: {column: FUEL}",
		"state: {parameter: parking_brake, is: released}", "state: {parameter: rudder_lock, is: out}")
	want := []StateRule{{"out", []string{"OUT", "OFF"}}, {"in", []string{"IN"}}}
	if d := cmp.Diff(want, p.Find("rudder_lock").States); d != "" {
		t.Errorf("states in the order of the definition (-want +got):\n%s", d)
	}
	fuel := p.Find("fuel")
	if fuel.Unit.Symbol != "lb" || fuel.Canonical.Symbol != "kg" || fuel.Lo != 0 || fuel.Hi != 1000 {
		t.Errorf("fuel: %+v", fuel)
	}
}

func TestTextsStayAsWritten(t *testing.T) {
	p := parsed(t, `version: "1"`, "version: 1.10", `{released: ["0"], set: ["1"]}`, "{released: 010, set: [0x1, yes]}")
	if p.Version != "1.10" {
		t.Errorf("version %q", p.Version)
	}
	want := []StateRule{{"released", []string{"010"}}, {"set", []string{"0x1", "yes"}}}
	if d := cmp.Diff(want, p.Find("parking_brake").States); d != "" {
		t.Errorf("cell texts (-want +got):\n%s", d)
	}
}

func TestSourceIsKept(t *testing.T) {
	text := []byte(small(t))
	p, err := Parse("small.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(p.Source, text) || p.Path != "small.yaml" || len(p.SHA256) != 64 {
		t.Error("source, path or hash are not kept")
	}
	text[0] = 'x'
	if p.Source[0] == 'x' {
		t.Error("the source is shared with the caller")
	}
}

func TestLineEndingsAndMark(t *testing.T) {
	want := parsed(t)
	for name, text := range map[string]string{
		"CRLF":            strings.ReplaceAll(small(t), "\n", "\r\n"),
		"byte order mark": "\uFEFF" + small(t),
	} {
		p, err := Parse("small.yaml", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		opt := cmp.Options{cmpopts.IgnoreFields(Profile{}, "Source", "SHA256"), cmpopts.EquateNaNs(), cmp.AllowUnexported(want.Parameters[0].Unit)}
		if d := cmp.Diff(want, p, opt); d != "" {
			t.Errorf("%s changes the profile:\n%s", name, d)
		}
	}
}

func TestTooLarge(t *testing.T) {
	path := filepath.Join(t.TempDir(), "large.yaml")
	if err := os.WriteFile(path, bytes.Repeat([]byte("# a recording?\n"), maxBytes/10), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := Load(path)
	if err == nil || !strings.Contains(err.Error(), "is this the right file?") {
		t.Errorf("got %v", err)
	}
	if _, err := Load(filepath.Join(t.TempDir(), "none.yaml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing file gives %v", err)
	}
}

func TestRubbishIsBounded(t *testing.T) {
	for name, text := range map[string]string{
		"keys":        strings.Repeat("k: 1\n", 20000),
		"other keys":  manyKeys(40000),
		"lists":       "types: [" + strings.Repeat("a, ", 200000) + "b]\n",
		"texts":       "types: [" + manyTexts(60000) + "]\n",
		"own":         "own_parameters: {" + manyOwn(10000) + "}\n",
		"long":        "name: " + strings.Repeat("x", 500000) + "\n",
		"nested":      "a: " + strings.Repeat("[", 5000) + strings.Repeat("]", 5000) + "\n",
		"not nested":  strings.Repeat("[", 500000),
		"block lists": strings.Repeat("- ", 100000) + "x\n",
	} {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			_, err := Parse("rubbish.yaml", []byte(text))
			if err == nil {
				t.Fatal("rubbish is read")
			}
			if n := len(err.Error()); n > maxProblems*3*(maxText+sourceWidth) {
				t.Errorf("%d bytes of message", n)
			}
			// A hang; how busy the machine is must not matter.
			if d := time.Since(start); d > time.Minute {
				t.Errorf("took %v", d)
			}
		})
	}
}

func manyKeys(n int) string  { return many(n, "key%: 1\n") }
func manyTexts(n int) string { return many(n, "t%, ") + "t" }
func manyOwn(n int) string {
	return many(n, "own%: {kind: discrete, states: [a, b]}, ") + "own: {}"
}

// many writes a text n times, with the number for its %.
func many(n int, text string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Replace(text, "%", string(rune('a'+i%26))+strings.Repeat("i", i/26%20)+string(rune('a'+i/520%26))+string(rune('a'+i/13520%26)), 1))
	}
	return b.String()
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestExplainGivesTheErrorOfTheWriter(t *testing.T) {
	if err := Explain(failing{}, parsed(t)); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("got %v", err)
	}
}

func TestEnginesNeeded(t *testing.T) {
	for _, c := range []struct{ n, any, half, all int }{{1, 1, 1, 1}, {2, 1, 1, 2}, {3, 1, 2, 3}, {4, 1, 2, 4}} {
		if AnyEngine.Need(c.n) != c.any || HalfEngines.Need(c.n) != c.half || AllEngines.Need(c.n) != c.all {
			t.Errorf("of %d engines: any %d, half %d, all %d", c.n, AnyEngine.Need(c.n), HalfEngines.Need(c.n), AllEngines.Need(c.n))
		}
	}
}
