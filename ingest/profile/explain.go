package profile

import (
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/unit"
)

// Explain writes the whole profile in plain words: what it is for, how a
// recording is read, what counts as a takeoff attempt, each check as a
// sentence with its limits, and what cannot be told with it. It prints the
// very values the program runs on, in the units the program works in, so that
// a person who approves the page approves what will happen. Lines are at most
// 80 characters wide. The error is the writer's.
func Explain(w io.Writer, p *Profile) error {
	e := &explainer{p: p}
	e.head()
	e.doubts()
	e.reading()
	e.mapped()
	e.arming()
	e.attempts()
	e.checks()
	e.warning()
	e.rejects()
	e.grades()
	e.untold()
	e.heading("Caution")
	e.para("", "This profile supports a safety-management process. It releases no aircraft, judges no crew, and replaces neither the operator's procedures, the approved flight manual, the rules nor licensed engineers and analysts.")
	_, err := io.WriteString(w, e.out.String())
	return err
}

// pageWidth is the width of the page in characters.
const pageWidth = 80

// explainer lays out the page.
type explainer struct {
	p   *Profile
	out strings.Builder
}

func (e *explainer) heading(s string) {
	fmt.Fprintf(&e.out, "\n%s\n%s\n", s, strings.Repeat("-", utf8.RuneCountInString(s)))
}

// para writes a paragraph under a lead such as "  - "; further lines are
// indented by the width of the lead.
func (e *explainer) para(lead, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	line, width := lead, utf8.RuneCountInString(lead)
	empty := true
	for _, word := range glued(text) {
		n := utf8.RuneCountInString(word)
		if !empty && width+1+n > pageWidth {
			e.out.WriteString(line + "\n")
			line, width, empty = indent, len(indent), true
		}
		if !empty {
			line, width = line+" ", width+1
		}
		line, width, empty = line+word, width+n, false
	}
	e.out.WriteString(strings.TrimRight(line, " ") + "\n")
}

// bareNumber is a word that needs the next one: its unit or its noun.
var bareNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// glued cuts a text into words and keeps a number together with the word
// after it, so that no line ends between a limit and its unit.
func glued(text string) []string {
	var out []string
	open := false
	for _, w := range strings.Fields(text) {
		if open {
			out[len(out)-1] += " " + w
		} else {
			out = append(out, w)
		}
		open = !open && bareNumber.MatchString(w)
	}
	return out
}

func (e *explainer) head() {
	p := e.p
	e.para("", fmt.Sprintf("Profile %s, version %s", p.Name, p.Version))
	e.para("", p.Title)
	e.para("", "Why this version was made: "+p.Reason)
	e.heading("For which aircraft")
	e.para("", fmt.Sprintf("%s %s; %s %s (* stands for any characters, ? for one); %s.",
		plural(len(p.Types), "Type", "Types"), listed(p.Types, "and"),
		plural(len(p.Tails), "tail", "tails"), listed(p.Tails, "and"), counted(p.Engines, "engine")))
}

// doubts goes before everything else: who approves the page has to know that
// parts of it are nobody's decision.
func (e *explainer) doubts() {
	all := Doubts(e.p)
	if len(all) == 0 {
		return
	}
	e.heading("In doubt")
	for _, d := range all {
		e.para("  - ", fmt.Sprintf("%s; %s.", d.Text, d.Hint))
	}
}

func (e *explainer) reading() {
	p := e.p
	e.heading("How a recording is read")
	e.times()
	e.layout()
	if p.File.Pattern == "" {
		e.para("  - ", "Nothing is read off the file name.")
	} else {
		e.para("  - ", fmt.Sprintf("The file name, without its extensions, reads %s.", p.File.Pattern))
	}
	e.identity()
	texts := append([]string{"Blank cells", "NaN"}, quoted(p.NoSample)...)
	e.para("  - ", listed(texts, "and")+" are no sample.")
}

// mapped lists the parameter map with what the recorder is expected to give.
// Engines that differ in the recorded name only share a line.
func (e *explainer) mapped() {
	e.heading("Parameters")
	rules := e.p.Parameters
	for i := 0; i < len(rules); {
		j := i + 1
		for j < len(rules) && alike(&rules[i], &rules[j]) {
			j++
		}
		name, columns := string(rules[i].Parameter), sources(&rules[i])
		for _, r := range rules[i+1 : j] {
			name += ", " + string(r.Parameter)
			columns += ", " + preferred(r.Columns)
		}
		e.para("  - ", fmt.Sprintf("%s: from %s%s%s%s.", name, columns, ofWord(&rules[i]), e.expected(&rules[i]), lying(&rules[i])))
		i = j
	}
}

// alike says whether two rules are of engines of one quantity and differ in
// one recorded name only.
func alike(a, b *ParameterRule) bool {
	return a.Parameter.EngineNumber() > 0 && a.Parameter.Base() == b.Parameter.Base() &&
		len(a.Columns) == 1 && len(b.Columns) == 1 && a.Unit == b.Unit && a.Rate == b.Rate &&
		a.InRow == b.InRow && a.Filled == b.Filled && a.Bits == b.Bits && same(a.AgreeWithin, b.AgreeWithin) &&
		same(a.Lo, b.Lo) && same(a.Hi, b.Hi) && same(a.Floor, b.Floor) &&
		slices.EqualFunc(a.States, b.States, func(x, y StateRule) bool { return slices.Equal(x.Cells, y.Cells) })
}

// same compares bounds, of which a missing one is not a number.
func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

func (e *explainer) expected(rule *ParameterRule) string {
	s := e.measuredIn(rule)
	if rule.Kind == flightdata.Discrete {
		s = "; " + strings.Join(stateTexts(rule), ", ")
	}
	if rule.Rate > 0 {
		return s + "; expected " + rateText(rule.Rate)
	}
	return s + "; no rate is expected"
}

func (e *explainer) measuredIn(rule *ParameterRule) string {
	var s strings.Builder
	switch {
	case rule.Unit.Symbol == "":
		s.WriteString(", a plain number")
	case rule.Unit == rule.Canonical:
		fmt.Fprintf(&s, " in %s", rule.Unit)
	default:
		fmt.Fprintf(&s, " in %s, worked with in %s", rule.Unit, rule.Canonical)
	}
	if lo, hi := possible(rule); !math.IsInf(lo, 0) || !math.IsInf(hi, 0) {
		fmt.Fprintf(&s, "; possible is %s", reach(lo, hi, rule.Canonical))
	}
	if !math.IsNaN(rule.Floor) {
		fmt.Fprintf(&s, "; not valid at or below %s", amount(rule.Floor, rule.Canonical))
	}
	return s.String()
}

func stateTexts(rule *ParameterRule) []string {
	out := make([]string, 0, len(rule.States))
	for _, st := range rule.States {
		if len(st.Cells) == 0 {
			out = append(out, st.State+" is never recorded")
			continue
		}
		out = append(out, listed(quoted(st.Cells), "or")+" means "+st.State)
	}
	return out
}

func rateText(rate float64) string {
	if rate >= 1 {
		return plain(rate) + " a second"
	}
	return "every " + amount(1/rate, unit.Canonical(unit.Time))
}

func (e *explainer) arming() {
	t := e.p.Thrust
	e.heading("When thrust counts as advanced")
	u := e.canonical(t.Measure.Engine(1))
	who := map[Engines]string{AnyEngine: "any one engine", HalfEngines: "at least half of the engines", AllEngines: "all engines"}[t.Engines]
	need := t.Engines.Need(e.p.Engines)
	e.para("", fmt.Sprintf("Thrust is advanced when %s of %s (here %d of %d) reaches %s or more for %s. An engine counts as reduced again below %s.",
		t.Measure, who, need, e.p.Engines, amount(t.Threshold, u), lasting(t.Persistence), amount(t.Threshold-t.Hysteresis, u)))
}

func (e *explainer) attempts() {
	a, kt := e.p.Attempt, unit.Canonical(unit.Speed)
	e.heading("What counts as a takeoff attempt")
	for _, s := range []string{
		fmt.Sprintf("An attempt starts when thrust is advanced on the ground at a ground speed below %s.", amount(a.StartBelow, kt)),
		fmt.Sprintf("The configuration is first judged at the onset, %s after the thrust advance.", lasting(a.OnsetAfter)),
		fmt.Sprintf("Lift-off is the first air state that lasts %s.", lasting(a.AirborneFor)),
		fmt.Sprintf("A reject loses at least %s or stops, with no new advance within %s.", amount(a.SpeedFall, kt), lasting(a.NoAdvance)),
		fmt.Sprintf("Below a peak of %s the aircraft did not roll.", amount(a.RolledFrom, kt)),
		fmt.Sprintf("A burst of thrust with a peak below %s and a turn of %s or more is taxi.", amount(a.TaxiBelow, kt), amount(a.TaxiTurn, unit.Canonical(unit.Angle))),
		fmt.Sprintf("Standing thrust for longer than %s is a run-up, unless a warning was recorded or a takeoff follows within %s.", lasting(a.RunUpFrom), lasting(a.RetryWithin)),
		fmt.Sprintf("An aircraft that was airborne within the last %s is landing or making a touch-and-go.", lasting(a.AirborneSince)),
	} {
		e.para("  - ", s)
	}
}

func (e *explainer) warning() {
	e.heading("The recorded warning")
	w := e.p.Warning
	if w == nil {
		e.para("", "The profile names no recorded takeoff configuration warning. Whether a warning that was due was given cannot be told on these aircraft.")
		return
	}
	e.para("", fmt.Sprintf("The takeoff configuration warning is recorded as %s. It counts as given when it is seen within %s of the onset, or of the moment at which the condition arose. A condition without it is a possible warning fault where a warning is due; a warning without a condition is listed with the checks that could not be told.", w.Parameter, lasting(w.Within)))
}

func (e *explainer) rejects() {
	j, kt := e.p.Reject, unit.Canonical(unit.Speed)
	e.heading("Rejected takeoffs")
	lines := []string{
		fmt.Sprintf("Below %s a reject is low-speed, at or above it high-speed; from %s on its severity is high.", amount(j.Boundary, kt), amount(j.HighFrom, kt)),
		fmt.Sprintf("What precedes the first action is looked for in the %s before it; a warning that was still on then counts from when it came on.", lasting(j.CueWithin)),
	}
	if !math.IsNaN(j.BrakesOn) {
		lines = append(lines, fmt.Sprintf("Brakes count as applied from %s.", amount(j.BrakesOn, e.sided(flightdata.BrakePressure))))
	}
	if !math.IsNaN(j.LeverOut) {
		lines = append(lines, fmt.Sprintf("The speedbrake lever counts as out from %s.", amount(j.LeverOut, e.sided(flightdata.SpeedbrakeLever))))
	}
	if j.BrakedWheels > 0 {
		lines = append(lines, fmt.Sprintf("The brake energy is also given per wheel, for %s.", counted(j.BrakedWheels, "braked wheel")))
	}
	for _, s := range lines {
		e.para("  - ", s)
	}
}

func (e *explainer) grades() {
	v, kt := e.p.Severity, unit.Canonical(unit.Speed)
	e.heading("Severity by speed")
	e.para("", fmt.Sprintf("By the highest ground speed at which a condition still held: below %s low, from %s medium, from %s or airborne high. A warning that was due and not given is high.",
		amount(v.MediumFrom, kt), amount(v.MediumFrom, kt), amount(v.HighFrom, kt)))
}

// canonical is the unit in which the program works with a parameter.
func (e *explainer) canonical(name flightdata.Parameter) unit.Unit {
	if rule := e.p.Find(name); rule != nil {
		return rule.Canonical
	}
	if d, known := flightdata.Define(name); known && len(d.Dims) > 0 {
		return unit.Canonical(d.Dims[0])
	}
	return unit.Unit{}
}

// sided is the unit of a parameter that may be mapped whole or by side.
func (e *explainer) sided(base flightdata.Parameter) unit.Unit {
	for _, name := range []flightdata.Parameter{base, base.Left(), base.Right()} {
		if e.p.Find(name) != nil {
			return e.canonical(name)
		}
	}
	return unit.Unit{}
}

func lasting(d time.Duration) string {
	if d >= 2*time.Minute && d%time.Minute == 0 {
		return fmt.Sprintf("%d min", d/time.Minute)
	}
	return amount(d.Seconds(), unit.Canonical(unit.Time))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func counted(n int, noun string) string {
	return fmt.Sprintf("%d %s", n, plural(n, noun, noun+"s"))
}

func quoted(words []string) []string {
	out := slices.Clone(words)
	for i := range out {
		out[i] = fmt.Sprintf("%q", out[i])
	}
	return out
}

// listed joins words as a sentence does: a, b and c.
func listed(words []string, and string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " " + and + " " + words[last]
}

// preferred names recorded names in their order of preference.
func preferred(columns []string) string {
	return strings.Join(columns, ", else ")
}
