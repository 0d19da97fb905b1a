package trend_test

import (
	"strings"
	"testing"

	"rollonset/report/trend"
)

// FuzzReadMarkers: any text gives markers with a date or an error that names
// the file, and never a panic.
func FuzzReadMarkers(f *testing.F) {
	for _, s := range []string{"date,text\n2031-03-07,x\n", "text,date,check\n\"a,b\",2031-03-07,flaps\n", "\ufeffdate,text\n", "date,text\n\"", "date\ttext"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		markers, err := trend.ReadMarkers(strings.NewReader(text), "m.csv")
		if err != nil && !strings.Contains(err.Error(), "m.csv") {
			t.Errorf("the error does not name the file: %v", err)
		}
		for _, m := range markers {
			if m.Date.IsZero() && !strings.Contains(text, "0001-01-01") {
				t.Errorf("a marker without date: %+v", m)
			}
		}
	})
}
