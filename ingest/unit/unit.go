// Package unit holds units of measure and the exact conversions between
// them. A unit belongs to one dimension; only units of the same dimension
// convert. Trim units, EPR and counts are dimensions of their own, because
// nothing that a recording holds turns them into anything else.
//
// Factors are exact definitions: the international foot and pound, the
// nautical mile, standard gravity. Source: NIST SP 811 appendix B.8; the
// unit tests name the row of each. Composite factors are formed in rational
// arithmetic and rounded once.
package unit

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// Dimension is what a unit measures.
type Dimension string

// The dimensions that recordings and profiles use.
const (
	Speed        Dimension = "speed"
	Length       Dimension = "length"
	Angle        Dimension = "angle"
	Mass         Dimension = "mass"
	Acceleration Dimension = "acceleration"
	Pressure     Dimension = "pressure"
	Ratio        Dimension = "ratio"
	Temperature  Dimension = "temperature"
	Time         Dimension = "time"
	Trim         Dimension = "trim units"
	EPR          Dimension = "engine pressure ratio"
	Pure         Dimension = "plain number"
)

// Unit is one unit of measure. The zero value is the plain number: no unit.
type Unit struct {
	Symbol string // as it is printed, e.g. "kt"
	dim    Dimension
	index  int // position in the table, 1-based; 0 is the plain number
}

// Dim is the dimension of the unit.
func (u Unit) Dim() Dimension {
	if u.index == 0 {
		return Pure
	}
	return u.dim
}

// String is the symbol, "" for the plain number.
func (u Unit) String() string { return u.Symbol }

// entry is a row of the table: value in base unit = value × num/den + shift.
type entry struct {
	symbol string
	names  []string // other spellings that are accepted, lower case
	dim    Dimension
	factor *big.Rat
	shift  *big.Rat
}

func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("unit: bad factor " + s) // a table entry below, never data
	}
	return r
}

func row(symbol string, dim Dimension, factor string, names ...string) entry {
	return entry{symbol: symbol, names: names, dim: dim, factor: rat(factor), shift: new(big.Rat)}
}

// table lists every unit. The first of each dimension with factor 1 is not
// special: the base is SI (or 1), and conversions go through it exactly.
var table = buildTable()

func buildTable() []entry {
	t := []entry{
		row("kt", Speed, "1852/3600", "kn", "kts", "knot", "knots"),
		row("m/s", Speed, "1", "mps"),
		row("km/h", Speed, "1000/3600", "kmh", "kph"),
		row("mph", Speed, "0.44704"),
		row("ft/s", Speed, "0.3048", "fps"),
		row("ft/min", Speed, "0.00508", "fpm"),
		row("ft", Length, "0.3048", "feet", "foot"),
		row("m", Length, "1", "metre", "metres", "meter", "meters"),
		row("km", Length, "1000"),
		row("NM", Length, "1852", "nm", "nmi"),
		row("deg", Angle, "1", "°", "degree", "degrees"),
		row("kg", Mass, "1"),
		row("lb", Mass, "0.45359237", "lbs", "pound", "pounds"),
		row("t", Mass, "1000", "tonne", "tonnes"),
		row("klb", Mass, "453.59237"),
		row("g", Acceleration, "9.80665"),
		row("m/s2", Acceleration, "1", "m/s²", "m/s^2"),
		row("ft/s2", Acceleration, "0.3048", "ft/s²", "ft/s^2"),
		row("psi", Pressure, "44482216152605/6451600000"),
		row("bar", Pressure, "100000"),
		row("kPa", Pressure, "1000", "kpa"),
		row("hPa", Pressure, "100", "hpa", "mbar"),
		row("Pa", Pressure, "1", "pa"),
		row("%", Ratio, "0.01", "pct", "percent", "%rpm", "% rpm"),
		row("fraction", Ratio, "1", "ratio"),
		row("degC", Temperature, "1", "°c", "c", "deg c"),
		row("K", Temperature, "1", "kelvin"),
		row("degF", Temperature, "5/9", "°f", "f", "deg f"),
		row("s", Time, "1", "sec", "second", "seconds"),
		row("ms", Time, "1/1000"),
		row("min", Time, "60", "minute", "minutes"),
		row("h", Time, "3600", "hour", "hours"),
		row("units", Trim, "1", "unit"),
		row("EPR", EPR, "1", "epr"),
	}
	for i := range t {
		switch t[i].symbol { // offsets to the kelvin
		case "degC":
			t[i].shift = rat("273.15")
		case "degF":
			t[i].shift = rat("45967/180") // 273.15 - 32*5/9
		}
	}
	// The radian is not rational; this is pi/180 to 40 digits, far below one
	// unit in the last place of a float64.
	t = append(t, row("rad", Angle, "57.2957795130823208767981548141051703324054", "radian", "radians"))
	return t
}

// Parse finds the unit with that symbol or spelling, in any case: no two units
// differ in case alone. "" and "1" are the plain number. The error lists the
// units that exist.
func Parse(s string) (Unit, error) {
	name := strings.TrimSpace(s)
	if name == "" || name == "1" {
		return Unit{}, nil
	}
	for i, e := range table {
		if e.symbol == name {
			return Unit{e.symbol, e.dim, i + 1}, nil
		}
	}
	low := strings.ToLower(name)
	for i, e := range table {
		if strings.ToLower(e.symbol) == low || slices.Contains(e.names, low) {
			return Unit{e.symbol, e.dim, i + 1}, nil
		}
	}
	return Unit{}, fmt.Errorf("unknown unit %q; known units: %s", s, strings.Join(Symbols(), " "))
}

// Must is Parse for units that the program itself names; it panics on a
// mistake in the source.
func Must(s string) Unit {
	u, err := Parse(s)
	if err != nil {
		panic(err)
	}
	return u
}

// Symbols lists the symbols of all units in the order of the table.
func Symbols() []string {
	out := make([]string, len(table))
	for i, e := range table {
		out[i] = e.symbol
	}
	return out
}

// Of lists the units of one dimension in the order of the table.
func Of(d Dimension) []Unit {
	var out []Unit
	for i, e := range table {
		if e.dim == d {
			out = append(out, Unit{e.symbol, e.dim, i + 1})
		}
	}
	return out
}

// Conversion turns values of one unit into another: v*Factor + Shift, each
// rounded once from the exact value. The identity has Factor 1, Shift 0.
type Conversion struct {
	Factor float64
	Shift  float64
}

// Apply converts one value. The product is rounded before the sum, because a
// processor may fuse the two otherwise and give other bits than its neighbour.
func (c Conversion) Apply(v float64) float64 { return float64(v*c.Factor) + c.Shift }

// Identity says whether the conversion changes nothing.
func (c Conversion) Identity() bool { return c.Factor == 1 && c.Shift == 0 }

// Convert is the conversion from one unit to another. Units of different
// dimensions give an error that names both.
func Convert(from, to Unit) (Conversion, error) {
	if from.Dim() != to.Dim() {
		return Conversion{}, fmt.Errorf("cannot convert %s (%s) to %s (%s)", orPlain(from), from.Dim(), orPlain(to), to.Dim())
	}
	if from.index == to.index {
		return Conversion{Factor: 1}, nil
	}
	a, b := table[from.index-1], table[to.index-1]
	factor := new(big.Rat).Quo(a.factor, b.factor)
	shift := new(big.Rat).Quo(new(big.Rat).Sub(a.shift, b.shift), b.factor)
	f, _ := factor.Float64()
	s, _ := shift.Float64()
	return Conversion{Factor: f, Shift: s}, nil
}

func orPlain(u Unit) string {
	if u.index == 0 {
		return "a plain number"
	}
	return u.Symbol
}

// Canonical is the unit of that dimension in which the program works and
// reports: kt, ft, deg, kg, g, psi, %, degC, s. Dimensions with one unit
// give that unit.
func Canonical(d Dimension) Unit {
	switch d {
	case Speed:
		return Must("kt")
	case Length:
		return Must("ft")
	case Angle:
		return Must("deg")
	case Mass:
		return Must("kg")
	case Acceleration:
		return Must("g")
	case Pressure:
		return Must("psi")
	case Ratio:
		return Must("%")
	case Temperature:
		return Must("degC")
	case Time:
		return Must("s")
	case Trim:
		return Must("units")
	case EPR:
		return Must("EPR")
	}
	return Unit{}
}
