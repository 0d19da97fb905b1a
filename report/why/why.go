// Package why prints the chain from samples to verdict: which samples, which
// rule with its line in the profile, which instants with their brackets, and
// what would have changed the verdict. It is made from an assessment, usually
// that of the clip in the archive, and adds no verdict of its own.
package why

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"rollonset/detect"
	"rollonset/detect/configuration"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/span"
)

// Attempt writes the chain for one attempt of the assessment, by its number.
// An attempt that the assessment does not have is an error.
func Attempt(w io.Writer, a *detect.Assessment, number int) error {
	for i := range a.Attempts {
		if a.Attempts[i].Number == number {
			c := chain{out: &strings.Builder{}, asm: a, at: &a.Attempts[i]}
			c.thrust()
			c.outcome()
			for _, f := range c.at.Findings {
				c.finding(f)
			}
			c.warning()
			c.events()
			_, err := io.WriteString(w, c.out.String())
			return err
		}
	}
	return fmt.Errorf("the assessment of %s has no attempt %d", a.Recording.Source.Path, number)
}

// chain writes the parts of one explanation.
type chain struct {
	out *strings.Builder
	asm *detect.Assessment
	at  *detect.Attempt
}

func (c *chain) printf(format string, args ...any) { fmt.Fprintf(c.out, format, args...) }

// rel is an instant from the onset, in seconds with sign.
func (c *chain) rel(t span.Instant) string {
	return signed(t.Sub(c.at.Onset.At).Seconds()) + " s"
}

func signed(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	if !strings.HasPrefix(s, "-") {
		return "+" + s
	}
	return s
}

func (c *chain) moment(name string, m span.Moment) {
	if m.Known {
		c.printf("  %s at %s, between %s and %s\n", name, c.rel(m.At), c.rel(m.Earliest), c.rel(m.Latest))
	}
}

// thrust shows what armed the attempt: the samples of each engine around the
// crossing.
func (c *chain) thrust() {
	rule := c.asm.Profile.Thrust
	need := rule.Engines.Need(c.asm.Profile.Engines)
	c.printf("Thrust (%s)\n", c.line(rule.Line))
	threshold := number(rule.Threshold)
	if r := c.asm.Profile.Find(rule.Measure.Engine(1)); r != nil {
		threshold = strings.TrimSpace(threshold + " " + r.Canonical.Symbol)
	}
	c.printf("  %s at or above %s on at least %d of %d engines for %g s.\n", rule.Measure, threshold, need, c.asm.Profile.Engines, rule.Persistence.Seconds())
	for n := 1; n <= c.asm.Profile.Engines; n++ {
		s := c.asm.Recording.Get(rule.Measure.Engine(n))
		c.printf("  engine %d: %s\n", n, c.around(s, c.at.ThrustAdvance.At))
	}
	c.moment("thrust advance", c.at.ThrustAdvance)
	c.printf("  the onset, from which the configuration is judged, is %g s later\n", c.asm.Profile.Attempt.OnsetAfter.Seconds())
	c.printf("  a threshold above %s would have armed later or not at all\n\n", threshold)
}

// around lists the two samples before and the two after an instant.
func (c *chain) around(s *flightdata.Series, t span.Instant) string {
	if s.Len() == 0 {
		return flightdata.WhyMissing
	}
	reach := s.MaxAge()
	var words []string
	for p := range s.Good(span.Span{From: t.Add(-reach), To: t.Add(reach)}) {
		words = append(words, fmt.Sprintf("%s at %s", value(s, p.Value), c.rel(p.At)))
	}
	if len(words) == 0 {
		return flightdata.WhyGap + c.masked(s, t)
	}
	return strings.Join(words, ", ") + c.masked(s, t)
}

// masked says which samples near an instant were not believed.
func (c *chain) masked(s *flightdata.Series, t span.Instant) string {
	part := s.Slice(span.Span{From: t.Add(-5 * time.Second), To: t.Add(5 * time.Second)})
	var words []string
	for m, n := range part.MaskCounts() {
		if m > 0 && n > 0 {
			words = append(words, fmt.Sprintf("%d masked as %s", n, flightdata.Mask(m)))
		}
	}
	if len(words) == 0 {
		return ""
	}
	return " (within 5 s: " + strings.Join(words, ", ") + ")"
}

func (c *chain) outcome() {
	c.printf("Outcome: %s\n  %s; ground and air told by %s\n", c.at.Outcome, c.at.Why, c.at.GroundBy)
	c.moment("roll start", c.at.RollStart)
	c.moment("rotation", c.at.Rotation)
	c.moment("lift-off", c.at.LiftOff)
	c.moment("thrust cut", c.at.ThrustCut)
	c.moment("stop", c.at.Stop)
	c.printf("\n")
}

// finding shows one check: its rule, its samples, its verdict.
func (c *chain) finding(f configuration.Finding) {
	check := c.check(f.Check)
	if check == nil {
		return
	}
	c.printf("%s: %s (%s)\n", f.Check, f.State, c.line(f.ProfileLine))
	c.printf("  judged from %s to %s\n", c.rel(f.Judged.From), c.rel(f.Judged.To))
	for _, p := range check.Reads() {
		c.printf("  %s%s: %s\n", p, raw(c.asm.Recording.Get(p)), c.around(c.asm.Recording.Get(p), f.Judged.From))
	}
	c.printf("  limit as it applied: %s; state at the onset: %s\n", f.Limit, f.AtOnset)
	for _, s := range f.Stretches {
		c.printf("  out of limits from %s to %s, ended by %s%s\n", c.place(s.From, s.SpeedFrom), c.place(s.To, s.SpeedTo), c.ended(s), farthest(s))
	}
	if f.Reason != "" {
		c.printf("  because %s\n", f.Reason)
	}
	if !f.Life {
		c.printf("  no proof of life: %s\n", f.LifeWhy)
	}
	c.printf("  %s\n\n", c.otherwise(check, f))
}

// ended is how a stretch ended; before the thrust cut a reject ended it with
// another action.
func (c *chain) ended(s configuration.Stretch) string {
	if s.Ended == configuration.ByCut && c.at.ThrustCut.Known && s.To.At < c.at.ThrustCut.Earliest {
		return "the start of the reject"
	}
	return string(s.Ended)
}

// place is an instant with its bracket, where the samples leave one, and the
// ground speed there.
func (c *chain) place(m span.Moment, speed flightdata.Reading) string {
	out := c.rel(m.At)
	if m.Latest > m.Earliest {
		out += " (between " + c.rel(m.Earliest) + " and " + c.rel(m.Latest) + ")"
	}
	if speed.OK {
		out += " at " + strconv.FormatFloat(math.Round(speed.Value), 'f', 0, 64) + " kt"
	}
	return out
}

func raw(s *flightdata.Series) string {
	if s == nil || len(s.Origin.Names) == 0 {
		return ""
	}
	return " (recorded as " + strings.Join(s.Origin.Names, ", ") + ")"
}

func farthest(s configuration.Stretch) string {
	if math.IsNaN(s.Margin) {
		return ""
	}
	return fmt.Sprintf("; farthest %s, %s outside", number(s.Value), number(-s.Margin))
}

// otherwise says what would have changed the verdict.
func (c *chain) otherwise(check *profile.Check, f configuration.Finding) string {
	switch {
	case f.State == configuration.Unknown:
		return "with samples that tell it at the onset and through the roll there would be a verdict"
	case math.IsNaN(f.Worst) && f.State == configuration.Within:
		return fmt.Sprintf("any other state for %s or longer would be out of limits", atLeast(check.Persistence))
	case math.IsNaN(f.Worst):
		return fmt.Sprintf("%s at the onset and after would be within limits", f.Limit)
	case f.State == configuration.Within:
		return fmt.Sprintf("a value more than %s farther towards the nearest limit would be out of limits", number(f.Worst))
	}
	return fmt.Sprintf("a value %s nearer to the limit, or a limit that much wider, would be within limits", number(-f.Worst))
}

func atLeast(d time.Duration) string {
	if d <= 0 {
		return "two samples"
	}
	return d.String()
}

func (c *chain) warning() {
	w := c.at.Warning
	if w.Verdict == "" {
		return
	}
	c.printf("Takeoff warning against condition: %s\n", w.Verdict)
	if w.Verdict == configuration.WarnNeither && len(w.NotRequired) > 0 {
		c.printf("  no warning; none required\n")
	}
	if rule := c.asm.Profile.Warning; rule != nil {
		c.printf("  %s: %s (%s)\n", rule.Parameter, c.around(c.asm.Recording.Get(rule.Parameter), c.at.Onset.At), c.line(rule.Line))
	}
	c.moment("first recorded warning", w.First)
	if len(w.Due) > 0 {
		c.printf("  due for: %s\n", strings.Join(w.Due, ", "))
	}
	if len(w.NotRequired) > 0 {
		c.printf("  out of limits, and the certification basis requires no warning: %s\n", strings.Join(w.NotRequired, ", "))
	}
	for _, f := range c.at.Findings {
		if f.State == configuration.Unknown {
			c.printf("  could not be told: %s, because %s\n", f.Check, f.Reason)
		}
	}
	if d := w.Delay; d != nil {
		c.printf("  %s to %s s from %s under thrust to the warning\n", signed(d.Earliest.Seconds()), signed(d.Latest.Seconds()), d.Check)
	}
	if w.Reason != "" {
		c.printf("  because %s\n", w.Reason)
	}
	c.printf("\n")
}

func (c *chain) events() {
	if len(c.at.Events) == 0 {
		c.printf("No event.\n")
		return
	}
	c.printf("Events\n")
	for _, e := range c.at.Events {
		c.printf("  %s: %s, %s: %s\n", e.Severity, e.Kind, e.Check, e.Rule)
	}
}

func (c *chain) check(name string) *profile.Check {
	for i := range c.asm.Profile.Checks {
		if c.asm.Profile.Checks[i].Name == name {
			return &c.asm.Profile.Checks[i]
		}
	}
	return nil
}

func (c *chain) line(n int) string {
	return fmt.Sprintf("profile %s %s, line %d", c.asm.Profile.Name, c.asm.Profile.Version, n)
}

func value(s *flightdata.Series, v float64) string {
	if s.Kind == flightdata.Discrete {
		return s.State(v)
	}
	return strings.TrimSpace(number(v) + " " + s.Unit.Symbol)
}

// number prints a figure with at most three decimals.
func number(v float64) string {
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}
