package trend

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
)

// ReadMarkers reads dated actions from CSV with a head: date (2031-03-07, the
// first day in force), text, and, if wanted, check (the check or class of
// rejects that it concerns, empty for all). Other columns are not read. name
// stands for the file in errors, which carry the line.
func ReadMarkers(r io.Reader, name string) ([]Marker, error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	head, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s is empty; its first line is \"date,text\"", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	column := map[string]int{}
	for i, h := range head {
		column[strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))] = i
	}
	date, okDate := column["date"]
	label, okText := column["text"]
	if !okDate || !okText {
		return nil, fmt.Errorf("%s:1: the columns \"date\" and \"text\" are needed; the head is %q", name, strings.Join(head, ","))
	}
	var out []Marker
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := in.FieldPos(0)
		if len(row) <= max(date, label) {
			return nil, fmt.Errorf("%s:%d: the line has %d columns, the head %d; a text with a comma stands in quotes", name, line, len(row), len(head))
		}
		day, err := time.Parse(time.DateOnly, strings.TrimSpace(row[date]))
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %q is no date; write it as 2031-03-07", name, line, row[date])
		}
		m := Marker{Date: day, Label: strings.TrimSpace(row[label]), Line: line}
		if k, ok := column["check"]; ok && k < len(row) {
			m.Check = strings.TrimSpace(row[k])
		}
		out = append(out, m)
	}
}

// ParseMonth reads a month written 2031-03.
func ParseMonth(text string) (Month, error) {
	t, err := time.Parse("2006-01", text)
	if err != nil || t.Year() < 1 {
		return 0, fmt.Errorf("%q is no month; write it as 2031-03", text)
	}
	return MonthOf(t), nil
}
