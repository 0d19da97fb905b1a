package unit_test

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	. "rollonset/ingest/unit"
)

func convert(t testing.TB, from, to string) Conversion {
	t.Helper()
	c, err := Convert(Must(from), Must(to))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestPublishedFactors compares every factor with a published figure. "B.8"
// is a row of NIST Special Publication 811, appendix B.8: exact where the row
// gives the definition in full, else rounded to the digits it prints.
// "computed" follows from such rows, "definition" from the definition of the
// unit itself; neither is cited from a page.
func TestPublishedFactors(t *testing.T) {
	for _, c := range []struct {
		from, to string
		factor   float64
		within   float64 // half a unit of the last printed digit, 0 for exact
		source   string
	}{
		{"ft", "m", 3.048e-1, 0, "B.8 foot, exact"},
		{"NM", "m", 1852, 0, "B.8 mile, nautical, exact"},
		{"km", "m", 1000, 0, "definition"},
		{"kt", "m/s", 5.144444e-1, 5e-8, "B.8 knot, rounded"},
		{"kt", "m/s", 1852.0 / 3600, 0, "computed: one nautical mile per hour"},
		{"m/s", "kt", 1.94384449244, 5e-12, "computed"},
		{"kt", "ft/s", 1.68780985710, 5e-12, "computed"},
		{"ft/s", "m/s", 3.048e-1, 0, "B.8 foot per second, exact"},
		{"ft/min", "m/s", 5.08e-3, 0, "computed: 0.3048/60"},
		{"mph", "m/s", 4.4704e-1, 0, "B.8 mile per hour, exact"},
		{"km/h", "m/s", 1000.0 / 3600, 0, "definition"},
		{"km/h", "m/s", 1.0 / 3.6, 1e-16, "definition, in one rounding"},
		{"kt", "km/h", 1.852, 0, "computed: 1852/1000"},
		{"lb", "kg", 4.535924e-1, 5e-8, "B.8 pound (avoirdupois), rounded"},
		{"lb", "kg", 0.45359237, 0, "definition of the international pound"},
		{"kg", "lb", 2.20462262185, 5e-12, "computed"},
		{"klb", "kg", 453.59237, 0, "computed"},
		{"t", "kg", 1000, 0, "definition"},
		{"g", "m/s2", 9.80665, 0, "standard gravity, exact (CGPM)"},
		{"g", "ft/s2", 32.17404855643, 5e-12, "computed"},
		{"ft/s2", "m/s2", 3.048e-1, 0, "computed: the foot"},
		{"psi", "Pa", 6.894757e3, 5e-4, "B.8 psi, rounded"},
		{"psi", "Pa", 6894.757293168, 5e-10, "computed"},
		{"bar", "Pa", 1e5, 0, "definition"},
		{"hPa", "Pa", 100, 0, "definition"},
		{"kPa", "Pa", 1000, 0, "definition"},
		{"deg", "rad", 1.745329e-2, 5e-9, "B.8 degree, rounded"},
		{"rad", "deg", 180 / math.Pi, 0, "definition"},
		{"%", "fraction", 0.01, 0, "definition"},
		{"min", "s", 60, 0, "definition"},
		{"h", "s", 3600, 0, "definition"},
		{"ms", "s", 0.001, 0, "definition"},
		{"degF", "degC", 5.0 / 9, 0, "definition"},
		{"K", "degC", 1, 0, "definition"},
	} {
		t.Run(c.from+" to "+c.to+", "+c.source, func(t *testing.T) {
			if got := convert(t, c.from, c.to).Factor; math.Abs(got-c.factor) > c.within {
				t.Errorf("factor %.17g, published %.17g within %g", got, c.factor, c.within)
			}
		})
	}
}

// TestEveryUnitHasAPublishedFactor fails when a unit is added to the table
// and no row above or below says where its factor comes from.
func TestEveryUnitHasAPublishedFactor(t *testing.T) {
	named := "kt m/s km/h mph ft/s ft/min ft m km NM deg kg lb t klb g m/s2 ft/s2 psi bar kPa hPa Pa % fraction degC K degF s ms min h units EPR rad"
	if got := strings.Join(Symbols(), " "); got != named {
		t.Errorf("the table holds\n%s\nand the published factors are checked for\n%s", got, named)
	}
}

// TestKnotIsExact holds the knot against rational arithmetic: 1852 m in
// 3600 s, each way and the one the inverse of the other.
func TestKnotIsExact(t *testing.T) {
	there, back := big.NewRat(1852, 3600), big.NewRat(3600, 1852)
	for _, c := range []struct {
		from, to string
		exact    *big.Rat
	}{{"kt", "m/s", there}, {"m/s", "kt", back}} {
		want, _ := c.exact.Float64()
		if got := convert(t, c.from, c.to); got != (Conversion{Factor: want}) {
			t.Errorf("%s to %s = %+v, the nearest float64 is %.17g", c.from, c.to, got, want)
		}
	}
	if got := new(big.Rat).Mul(there, back); got.Cmp(big.NewRat(1, 1)) != 0 {
		t.Errorf("%v times %v = %v", there, back, got)
	}
}

func TestTemperature(t *testing.T) {
	for _, c := range []struct {
		from     string
		v        float64
		to       string
		want     float64
		within   float64
		whatItIs string
	}{
		{"degC", 0, "K", 273.15, 0, "ice"},
		{"degC", 15, "K", 288.15, 0, "the standard day"},
		{"K", 273.15, "degC", 0, 0, "ice"},
		{"degF", 32, "degC", 0, 2e-14, "ice"},
		{"degF", 212, "degC", 100, 3e-14, "steam"},
		{"degC", 100, "degF", 212, 6e-14, "steam"},
		{"degF", -40, "degC", -40, 2e-14, "where both scales meet"},
		{"degC", -40, "degF", -40, 2e-14, "where both scales meet"},
		{"degF", -459.67, "K", 0, 6e-14, "absolute zero"},
	} {
		if got := convert(t, c.from, c.to).Apply(c.v); math.Abs(got-c.want) > c.within {
			t.Errorf("%s: %g %s = %.17g %s, want %g", c.whatItIs, c.v, c.from, got, c.to, c.want)
		}
	}
}

// TestApplyRoundsEachStep: the language lets a processor fuse a product and
// a sum into one rounding; then the same file would give other bytes on
// another machine. Where this processor cannot fuse, the test still holds the
// values.
func TestApplyRoundsEachStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Conversion{Factor: rapid.Float64Range(0.1, 10).Draw(t, "factor"), Shift: rapid.Float64Range(-300, 300).Draw(t, "shift")}
		v := rapid.Float64Range(-1e4, 1e4).Draw(t, "v")
		// Exact product in 2048 bits, rounded to a float64, then the sum.
		exact := new(big.Float).SetPrec(2048).Mul(big.NewFloat(v), big.NewFloat(c.Factor))
		product, _ := exact.Float64()
		sum, _ := new(big.Float).SetPrec(2048).Add(big.NewFloat(product), big.NewFloat(c.Shift)).Float64()
		if got := c.Apply(v); got != sum {
			t.Fatalf("%+v.Apply(%g) = %.17g, in two roundings %.17g", c, v, got, sum)
		}
	})
}

// drawPair gives a unit and another of the same dimension.
func drawPair(t *rapid.T) (a, b Unit) {
	a = Must(rapid.SampledFrom(Symbols()).Draw(t, "a"))
	return a, rapid.SampledFrom(Of(a.Dim())).Draw(t, "b")
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawPair(t)
		there, err := Convert(a, b)
		if err != nil {
			t.Fatal(err)
		}
		back, err := Convert(b, a)
		if err != nil {
			t.Fatal(err)
		}
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		if v != 0 && math.Abs(v) < 1e-290 {
			// So near to zero the other unit's value may have fewer digits than a
			// double has elsewhere. Nothing measured is that small.
			t.Skip("the conversion may lose digits to the end of the range")
		}
		got := back.Apply(there.Apply(v))
		// A factor each way and a product each way round once: two units in the
		// last place. A shift adds the last place of the largest value on the way.
		largest := max(math.Abs(v), math.Abs(there.Shift*back.Factor), math.Abs(back.Shift))
		if ulp := math.Nextafter(largest, math.Inf(1)) - largest; math.Abs(got-v) > 3*ulp {
			t.Fatalf("%g %s = %g %s = %.17g %s, off by %g last places", v, a, there.Apply(v), b, got, a, (got-v)/ulp)
		}
	})
}

func TestIdentityIsExact(t *testing.T) {
	for _, s := range append(Symbols(), "") {
		u := Must(s)
		c, err := Convert(u, u)
		if err != nil || !c.Identity() {
			t.Errorf("%s to itself: %+v, %v", u, c, err)
		}
		for _, v := range []float64{0, -1, 0.1, math.MaxFloat64, math.SmallestNonzeroFloat64, math.Inf(1)} {
			if c.Apply(v) != v {
				t.Errorf("%g %s becomes %g", v, u, c.Apply(v))
			}
		}
	}
	if convert(t, "K", "degC").Identity() {
		t.Error("a shift alone is no identity")
	}
}

func TestConvertRefusesOtherDimensions(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"kt", "ft", "cannot convert kt (speed) to ft (length)"},
		{"units", "deg", "cannot convert units (trim units) to deg (angle)"},
		{"%", "", "cannot convert % (ratio) to a plain number (plain number)"},
		{"", "EPR", "cannot convert a plain number (plain number) to EPR (engine pressure ratio)"},
	} {
		if _, err := Convert(Must(c.from), Must(c.to)); err == nil || err.Error() != c.want {
			t.Errorf("%q to %q: %v, want %s", c.from, c.to, err, c.want)
		}
	}
	// Exactly the units of one dimension convert, whatever the pair.
	for _, a := range Symbols() {
		for _, b := range Symbols() {
			if _, err := Convert(Must(a), Must(b)); (err == nil) != (Must(a).Dim() == Must(b).Dim()) {
				t.Errorf("%s to %s: %v", a, b, err)
			}
		}
	}
}

func TestParse(t *testing.T) {
	for text, want := range map[string]string{
		"kt": "kt", "KT": "kt", "kts": "kt", "Knots": "kt", " kn ": "kt",
		"m/s": "m/s", "M/S": "m/s", "fpm": "ft/min", "km/h": "km/h", "kph": "km/h",
		"ft": "ft", "FEET": "ft", "nm": "NM", "NM": "NM", "nmi": "NM",
		"m": "m", "M": "m", "metres": "m", "min": "min", "ms": "ms",
		"deg": "deg", "DEG": "deg", "°": "deg", "rad": "rad", "RAD": "rad", "Radians": "rad",
		"g": "g", "G": "g", "m/s²": "m/s2", "m/s^2": "m/s2",
		"kg": "kg", "LBS": "lb", "t": "t", "T": "t", "klb": "klb",
		"PSI": "psi", "mbar": "hPa", "hpa": "hPa", "kPa": "kPa", "Pa": "Pa",
		"%": "%", "pct": "%", "%RPM": "%", "% rpm": "%", "fraction": "fraction",
		"°C": "degC", "DEG C": "degC", "C": "degC", "K": "K", "°F": "degF",
		"units": "units", "UNIT": "units", "EPR": "EPR", "epr": "EPR",
		"s": "s", "SEC": "s", "h": "h",
		"": "", "1": "", "  ": "",
	} {
		if u, err := Parse(text); err != nil || u.String() != want {
			t.Errorf("Parse(%q) = %q, %v; want %q", text, u, err, want)
		}
	}
	for _, text := range []string{"furlong", "kt/s", "mach", "0", "k t", "m/", "deg\x00"} {
		if u, err := Parse(text); err == nil {
			t.Errorf("Parse(%q) = %q, want an error", text, u)
		}
	}
}

func TestParseNamesWhatExists(t *testing.T) {
	_, err := Parse("furlong")
	want := `unknown unit "furlong"; known units: kt m/s km/h mph ft/s ft/min ft m km NM deg kg lb t klb g m/s2 ft/s2 psi bar kPa hPa Pa % fraction degC K degF s ms min h units EPR rad`
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
}

// TestSymbolsDoNotFold: spellings are taken in any case, which is safe only
// while no two symbols differ in case alone.
func TestSymbolsDoNotFold(t *testing.T) {
	seen := map[string]string{}
	for _, s := range Symbols() {
		low := strings.ToLower(s)
		if other, ok := seen[low]; ok {
			t.Errorf("%s and %s differ in case only", s, other)
		}
		seen[low] = s
		for _, spelling := range []string{s, low, strings.ToUpper(s), " " + s + "\t"} {
			if u, err := Parse(spelling); err != nil || u.Symbol != s {
				t.Errorf("Parse(%q) = %q, %v; want %s", spelling, u, err, s)
			}
		}
	}
}

func TestMustPanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("Must took a unit that does not exist")
		}
	}()
	Must("furlong")
}

func TestCanonical(t *testing.T) {
	for dim, want := range map[Dimension]string{
		Speed: "kt", Length: "ft", Angle: "deg", Mass: "kg", Acceleration: "g", Pressure: "psi", Ratio: "%",
		Temperature: "degC", Time: "s", Trim: "units", EPR: "EPR", Pure: "",
	} {
		if got := Canonical(dim); got.Symbol != want || got.Dim() != dim {
			t.Errorf("Canonical(%s) = %q of %s, want %q", dim, got, got.Dim(), want)
		}
	}
	for _, s := range Symbols() { // no dimension is forgotten
		if c := Canonical(Must(s).Dim()); c == (Unit{}) {
			t.Errorf("%s: its dimension %s has no canonical unit", s, Must(s).Dim())
		}
	}
	if Of(Pure) != nil {
		t.Error("the plain number has no row in the table")
	}
}
