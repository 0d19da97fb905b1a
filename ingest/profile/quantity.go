package profile

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/spelling"
	"rollonset/ingest/unit"
)

// numberAndUnit takes a plain decimal number and the rest. Exponents, hex and
// leading zeros are refused: a limit must read the same to every eye.
var (
	numberAndUnit = regexp.MustCompile(`^([+-]?[0-9]+(?:\.[0-9]+)?)\s*(.*)$`)
	leadingZero   = regexp.MustCompile(`^[+-]?0[0-9]`)
	exponent      = regexp.MustCompile(`^[+-]?[0-9.]+[eE][+-]?[0-9]`)
	decimalComma  = regexp.MustCompile(`^[+-]?[0-9]+,[0-9]+`)
)

// split cuts a quantity into its number and the text of its unit.
func (r *reader) split(n *yaml.Node, what, example string) (float64, string, bool) {
	s, ok := r.text(n, what)
	if !ok {
		return 0, "", false
	}
	s = strings.TrimSpace(s)
	// The usual slips first, each with its own remedy; "not a number" is the
	// last resort.
	m := numberAndUnit.FindStringSubmatch(s)
	switch {
	case decimalComma.MatchString(s):
		r.fail(n, fmt.Sprintf("write %q", strings.Replace(s, ",", ".", 1)), "%s: %q has a decimal comma", what, s)
		return 0, "", false
	case exponent.MatchString(s):
		r.fail(n, "write the number out", "%s: %q has an exponent", what, s)
		return 0, "", false
	case m == nil:
		r.fail(n, "write it like "+example, "%s: %q is not a number", what, s)
		return 0, "", false
	case leadingZero.MatchString(s):
		r.fail(n, "leave the zeros out; some readers would take it as octal", "%s: %q has leading zeros", what, s)
		return 0, "", false
	}
	v, err := strconv.ParseFloat(m[1], 64)
	if err != nil || math.Abs(v) > 1e12 {
		r.fail(n, "", "%s: %q is too large a number", what, s)
		return 0, "", false
	}
	return v, strings.TrimSpace(m[2]), true
}

// quantity reads "number unit" and gives the value in the wanted unit. The
// plain number as wanted unit takes a bare number.
func (r *reader) quantity(n *yaml.Node, what string, want unit.Unit) (float64, bool) {
	// A bare number where a unit is needed is never taken as canonical: 30 may
	// be knots to the one who writes and metres per second to the recorder.
	example := strings.TrimSpace("10 " + want.Symbol)
	v, symbol, ok := r.split(n, what, example)
	if !ok {
		return 0, false
	}
	from, err := unit.Parse(symbol)
	switch {
	case want.Dim() == unit.Pure && symbol != "":
		r.fail(n, fitting(unit.Pure), "%s: %q has a unit, and a bare number is needed", what, n.Value)
		return 0, false
	case err != nil:
		r.fail(n, unitProposal(symbol, symbols(want.Dim())), "%s: unknown unit %q", what, symbol)
		return 0, false
	case symbol == "" && want.Dim() != unit.Pure:
		r.fail(n, fmt.Sprintf(`write "%s %s"; %s`, n.Value, want, fitting(want.Dim())), "%s: %q has no unit", what, n.Value)
		return 0, false
	case from.Dim() != want.Dim():
		r.fail(n, fitting(want.Dim()), "%s: %q is a unit of %s, and %s is needed", what, symbol, from.Dim(), want.Dim())
		return 0, false
	}
	c, err := unit.Convert(from, want)
	if err != nil {
		r.fail(n, "", "%s: %v", what, err)
		return 0, false
	}
	return c.Apply(v), true
}

// fitting lists the units of one dimension.
func fitting(d unit.Dimension) string {
	if d == unit.Pure {
		return "write the number without a unit"
	}
	return fmt.Sprintf("units of %s: %s", d, strings.Join(symbols(d), ", "))
}

func symbols(d unit.Dimension) []string {
	var out []string
	for _, u := range unit.Of(d) {
		out = append(out, u.Symbol)
	}
	return out
}

// unitProposal is the nearest of the units that fit, or the list of them.
func unitProposal(wrong string, fit []string) string {
	if near := spelling.DidYouMean(wrong, fit); strings.HasPrefix(near, "did you mean") {
		return near
	}
	return "units: " + strings.Join(fit, ", ")
}

// bounded reads a quantity and demands lo <= value <= hi; otherwise is the
// value for nil.
func (r *reader) bounded(n *yaml.Node, what string, want unit.Unit, otherwise, lo, hi float64) float64 {
	if n == nil {
		return otherwise
	}
	v, ok := r.quantity(n, what, want)
	if !ok {
		return otherwise
	}
	if v < lo || v > hi {
		r.fail(n, reach(lo, hi, want)+" is possible here", "%s: %q is out of reach", what, n.Value)
		return otherwise
	}
	return v
}

// positive is bounded, with zero refused: hint says what to write instead.
func (r *reader) positive(n *yaml.Node, what string, want unit.Unit, otherwise, hi float64, hint string) float64 {
	if n == nil {
		return otherwise
	}
	before := len(r.problems)
	v := r.bounded(n, what, want, otherwise, 0, hi)
	if v == 0 && len(r.problems) == before {
		r.fail(n, hint, "%s must be above 0", what)
		return otherwise
	}
	return v
}

// reach says in words what lies between two bounds; infinite ones are open.
func reach(lo, hi float64, u unit.Unit) string {
	switch {
	case math.IsInf(lo, -1) && math.IsInf(hi, 1):
		return "any value"
	case math.IsInf(lo, -1):
		return "at most " + amount(hi, u)
	case math.IsInf(hi, 1):
		return "at least " + amount(lo, u)
	}
	return plain(lo) + " to " + amount(hi, u)
}

// Bounds of what any profile can sensibly ask for.
const (
	fastest = 400.0     // kt; no aircraft of the trade rolls faster
	longest = 24 * 3600 // s
)

// speed reads a ground speed in kt; otherwise is the value for nil.
func (r *reader) speed(n *yaml.Node, what string, otherwise float64) float64 {
	return r.bounded(n, what, unit.Canonical(unit.Speed), otherwise, 0, fastest)
}

// duration reads a time; otherwise is the value for nil.
func (r *reader) duration(n *yaml.Node, what string, otherwise time.Duration) time.Duration {
	s := r.bounded(n, what, unit.Canonical(unit.Time), otherwise.Seconds(), 0, longest)
	return time.Duration(math.Round(s * 1e9))
}

// number reads a bare number within bounds.
func (r *reader) number(n *yaml.Node, what string, otherwise, lo, hi float64) float64 {
	return r.bounded(n, what, unit.Unit{}, otherwise, lo, hi)
}

// whole reads a bare whole number within bounds.
func (r *reader) whole(n *yaml.Node, what string, otherwise, lo, hi int) int {
	v := r.number(n, what, float64(otherwise), float64(lo), float64(hi))
	if v != math.Trunc(v) {
		r.fail(n, "", "%s: %q is not a whole number", what, n.Value)
		return otherwise
	}
	return int(v)
}

// amount prints a value with its unit.
func amount(v float64, u unit.Unit) string {
	if u.Symbol == "units" && v == 1 {
		return "1 unit"
	}
	return strings.TrimSpace(plain(v) + " " + u.Symbol)
}

// plain prints a value with as many decimals as a person needs to know it
// again: a weight in kg needs fewer than a pressure ratio.
func plain(v float64) string {
	decimals := 4
	switch a := math.Abs(v); {
	case a >= 1000:
		decimals = 1
	case a >= 100:
		decimals = 2
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
