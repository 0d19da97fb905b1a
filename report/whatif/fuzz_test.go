package whatif_test

import (
	"math"
	"testing"

	"rollonset/report/whatif"
)

// FuzzParseChange: a change that is read has a check, an edge and a number.
func FuzzParseChange(f *testing.F) {
	for _, s := range []string{"trim.margin=0.5", "speedbrake lever.max=3", "a.b.min=-1e3", "=", "x.max=0x1p-2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := whatif.ParseChange(text)
		if err != nil {
			return
		}
		known := c.Edge == whatif.Min || c.Edge == whatif.Max || c.Edge == whatif.Margin
		if !known || math.IsNaN(c.Value) || math.IsInf(c.Value, 0) {
			t.Errorf("%q is read as %+v", text, c)
		}
	})
}
