package page

import (
	"encoding/json"
	"html/template"
	"strconv"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/span"
	"rollonset/report/archive"
)

// embedded writes the samples of the window as JSON for the cursor: all of
// them, at the rate at which they were recorded. A cursor over thinned-out
// points would show numbers that nobody recorded.
//
//	{"id", "zero": ns, "from": ns, "to": ns, "utc": ms of the zero or null,
//	 "roll": [from, to], "marks": [[ns, name], …],
//	 "series": [{"p": parameter, "u": unit, "d": decimals, "age": ns,
//	   "s": states, "t": [first, step, count, step, count, …],
//	   "v": [values; null for NaN], "m": [from, to, reason, …]}, …]}
//
// Times are nanoseconds since the start of the recording.
func embedded(id string, a archive.AttemptSummary, clip *flightdata.Recording, series []*flightdata.Series, zero span.Instant, whole span.Span) template.JS {
	roll := rollWindow(a).And(whole)
	b := append([]byte(nil), `{"id":`...)
	b = quoted(b, id)
	b = integers(b, `,"zero":`, int64(zero))
	b = integers(b, `,"from":`, int64(whole.From))
	b = integers(b, `,"to":`, int64(whole.To))
	if at, ok := clip.UTC(zero); ok {
		b = integers(b, `,"utc":`, at.UnixMilli())
	} else {
		b = append(b, `,"utc":null`...)
	}
	b = append(integers(b, `,"roll":[`, int64(roll.From), int64(roll.To)), `],"marks":[`...)
	for i, m := range instants(a) {
		b = comma(b, i)
		b = append(integers(b, "[", int64(span.Sec(m.At))), ',')
		b = append(quoted(b, m.name), ']')
	}
	b = append(b, `],"series":[`...)
	for i, s := range series {
		b = embedSeries(comma(b, i), s)
	}
	return template.JS(append(b, "]}"...))
}

func embedSeries(b []byte, s *flightdata.Series) []byte {
	b = quoted(append(b, `{"p":`...), string(s.Parameter))
	b = quoted(append(b, `,"u":`...), s.Unit.Symbol)
	b = integers(b, `,"d":`, int64(Decimals(s.Unit.Symbol)))
	b = integers(b, `,"age":`, int64(s.MaxAge()))
	if s.Kind == flightdata.Discrete {
		b = append(b, `,"s":[`...)
		for i, state := range s.States {
			b = quoted(comma(b, i), state)
		}
		b = append(b, ']')
	}
	b = append(embedTimes(append(b, `,"t":[`...), s.Times), `],"v":[`...)
	for i, v := range s.Values {
		b = comma(b, i)
		if v != v { // NaN, which JSON does not have
			b = append(b, "null"...)
			continue
		}
		b = strconv.AppendFloat(b, significant(v), 'g', -1, 64)
	}
	return append(embedMasks(append(b, `],"m":[`...), s), "]}"...)
}

// embedTimes writes sample times as runs of equal steps: a recorder's clock
// is regular for long stretches.
func embedTimes(b []byte, times []span.Instant) []byte {
	b = strconv.AppendInt(b, int64(times[0]), 10)
	for i := 1; i < len(times); {
		step, n := times[i]-times[i-1], 0
		for i < len(times) && times[i]-times[i-1] == step {
			i, n = i+1, n+1
		}
		b = integers(b, ",", int64(step), int64(n))
	}
	return b
}

// embedMasks writes runs of masked samples: first index, index after the last,
// reason.
func embedMasks(b []byte, s *flightdata.Series) []byte {
	first := true
	for i := 0; i < len(s.Masks); {
		from, m := i, s.Masks[i]
		for i < len(s.Masks) && s.Masks[i] == m {
			i++
		}
		if m == flightdata.Good {
			continue
		}
		if !first {
			b = append(b, ',')
		}
		first = false
		b = append(integers(b, "", int64(from), int64(i)), ',')
		b = quoted(b, m.String())
	}
	return b
}

// quoted appends a JSON string. encoding/json escapes < > & as well, so that
// no text of the data can end the script element around it.
func quoted(b []byte, s string) []byte {
	q, err := json.Marshal(s)
	if err != nil { // a string always encodes
		return append(b, `""`...)
	}
	return append(b, q...)
}

func integers(b []byte, before string, values ...int64) []byte {
	b = append(b, before...)
	for i, v := range values {
		b = strconv.AppendInt(comma(b, i), v, 10)
	}
	return b
}

// comma separates all but the first of a list.
func comma(b []byte, i int) []byte {
	if i > 0 {
		return append(b, ',')
	}
	return b
}

// readoutTable is the table that the cursor writes to. Without a script it
// stands at the onset.
func readoutTable(id string, series []*flightdata.Series, zero span.Instant) table {
	t := table{ID: id + "-readout", Caption: "All values at the cursor", Head: []head{
		{Text: "Parameter"}, {Text: "Sample", Num: true}, {Text: "Taken at", Unit: "s", Num: true},
	}}
	for _, s := range series {
		value, at := readout(s, zero)
		t.Rows = append(t.Rows, []cell{rowHead(name(s.Parameter)), {Text: value, Num: true, Series: string(s.Parameter)}, num(at)})
	}
	return t
}

// readout is the sample that stands at an instant, the last one at or before
// it, and when it was taken relative to that instant's zero. The script has
// the same rule; a browser test holds one against the other.
func readout(s *flightdata.Series, zero span.Instant) (value, at string) {
	i := -1
	for k, t := range s.Times {
		if t > zero {
			break
		}
		i = k
	}
	if i < 0 || zero.Sub(s.Times[i]) > s.MaxAge() {
		return "no sample", ""
	}
	at = signed(float64(s.Times[i]-zero)/1e9, 2)
	switch {
	case masked(s, i):
		return "masked: " + s.Masks[i].String(), at
	case s.Kind == flightdata.Discrete:
		return known(s.State(s.Values[i]), Number(s.Values[i], 0)), at
	}
	return With(s.Values[i], s.Unit.Symbol), at
}
