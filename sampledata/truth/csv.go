package truth

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

var nan = math.NaN()

// column is one column of truth.csv: its name, how a cell is written and how
// it is read back into the row.
type column struct {
	name  string
	write func(a *Attempt) string
	read  func(a *Attempt, cell string) error
}

func text(name string, field func(*Attempt) *string) column {
	return column{
		name,
		func(a *Attempt) string { return *field(a) },
		func(a *Attempt, cell string) error { *field(a) = cell; return nil },
	}
}

// number writes at most the given decimals and drops trailing zeros: times
// are multiples of the simulator's step and come out exactly.
func number(name string, decimals int, field func(*Attempt) *float64) column {
	return column{
		name,
		func(a *Attempt) string { return formatNumber(*field(a), decimals) },
		func(a *Attempt, cell string) (err error) { *field(a), err = parseNumber(cell); return err },
	}
}

func flag(name string, field func(*Attempt) *bool) column {
	return column{
		name,
		func(a *Attempt) string {
			if *field(a) {
				return "yes"
			}
			return ""
		},
		func(a *Attempt, cell string) error {
			*field(a) = cell == "yes"
			if cell != "yes" && cell != "" {
				return fmt.Errorf("%q is neither \"yes\" nor empty", cell)
			}
			return nil
		},
	}
}

func list(name string, field func(*Attempt) *[]string) column {
	return column{
		name,
		func(a *Attempt) string { return strings.Join(*field(a), separator) },
		func(a *Attempt, cell string) error { *field(a) = split(cell); return nil },
	}
}

const separator = "; "

func split(cell string) []string {
	if cell == "" {
		return nil
	}
	return strings.Split(cell, separator)
}

// columns lists the columns of truth.csv in the order of the file.
var columns = []column{
	text("file", func(a *Attempt) *string { return &a.File }),
	{"attempt", writeCount, readCount},
	flag("optional", func(a *Attempt) *bool { return &a.Optional }),
	text("outcome", func(a *Attempt) *string { return &a.Outcome }),
	flag("rolling", func(a *Attempt) *bool { return &a.Rolling }),
	number("t_thrust_advance", 6, func(a *Attempt) *float64 { return &a.ThrustAdvance }),
	number("t_onset", 6, func(a *Attempt) *float64 { return &a.Onset }),
	number("t_roll_start", 6, func(a *Attempt) *float64 { return &a.RollStart }),
	number("t_rotation", 6, func(a *Attempt) *float64 { return &a.Rotation }),
	number("t_lift_off", 6, func(a *Attempt) *float64 { return &a.LiftOff }),
	number("t_thrust_cut", 6, func(a *Attempt) *float64 { return &a.ThrustCut }),
	number("t_first_action", 6, func(a *Attempt) *float64 { return &a.FirstAction }),
	text("first_action", func(a *Attempt) *string { return &a.FirstActionBy }),
	number("t_peak", 6, func(a *Attempt) *float64 { return &a.Peak }),
	number("t_stop", 6, func(a *Attempt) *float64 { return &a.Stop }),
	number("peak_ground_speed_kt", 3, func(a *Attempt) *float64 { return &a.PeakGroundSpeed }),
	number("ground_speed_at_cut_kt", 3, func(a *Attempt) *float64 { return &a.GroundSpeedAtCut }),
	number("distance_to_cut_m", 2, func(a *Attempt) *float64 { return &a.DistanceToCut }),
	number("distance_to_stop_m", 2, func(a *Attempt) *float64 { return &a.DistanceToStop }),
	list("out", func(a *Attempt) *[]string { return &a.Out }),
	list("out_at_onset", func(a *Attempt) *[]string { return &a.OutAtOnset }),
	list("untold", func(a *Attempt) *[]string { return &a.Untold }),
	list("open", func(a *Attempt) *[]string { return &a.Open }),
	text("warning", func(a *Attempt) *string { return &a.Warning }),
	text("reject_class", func(a *Attempt) *string { return &a.RejectClass }),
	text("against_v1", func(a *Attempt) *string { return &a.AgainstV1 }),
	{"look_alikes", writeLookAlikes, readLookAlikes},
	text("scenario", func(a *Attempt) *string { return &a.Scenario }),
	text("notes", func(a *Attempt) *string { return &a.Notes }),
}

func writeCount(a *Attempt) string { return strconv.Itoa(a.Number) }

func readCount(a *Attempt, cell string) error {
	n, err := strconv.Atoi(cell)
	if err != nil || n < 0 {
		return fmt.Errorf("%q is not an attempt number", cell)
	}
	a.Number = n
	return nil
}

func formatNumber(v float64, decimals int) string {
	if math.IsNaN(v) {
		return ""
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

func parseNumber(cell string) (float64, error) {
	if cell == "" {
		return nan, nil
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return nan, fmt.Errorf("%q is not a number", cell)
	}
	return v, nil
}

func writeLookAlikes(a *Attempt) string {
	parts := make([]string, len(a.LookAlikes))
	for i, l := range a.LookAlikes {
		parts[i] = l.Kind + " " + formatNumber(l.From, 3) + "-" + formatNumber(l.To, 3)
	}
	return strings.Join(parts, separator)
}

// readLookAlikes takes the cell apart from its right end, because the kind
// may hold blanks and a hyphen.
func readLookAlikes(a *Attempt, cell string) error {
	a.LookAlikes = nil
	for _, part := range split(cell) {
		blank := strings.LastIndexByte(part, ' ')
		if blank < 0 {
			return fmt.Errorf("look-alike %q is not \"kind from-to\"", part)
		}
		from, to, ok := strings.Cut(part[blank+1:], "-")
		f, err1 := parseNumber(from)
		t, err2 := parseNumber(to)
		if !ok || err1 != nil || err2 != nil {
			return fmt.Errorf("look-alike %q is not \"kind from-to\"", part)
		}
		a.LookAlikes = append(a.LookAlikes, LookAlike{Kind: part[:blank], From: f, To: t})
	}
	return nil
}

// Write writes the header and a row per attempt, in the order given.
func Write(w io.Writer, attempts []Attempt) error {
	out := csv.NewWriter(w)
	row := make([]string, len(columns))
	for i, c := range columns {
		row[i] = c.name
	}
	if err := out.Write(row); err != nil {
		return fmt.Errorf("truth: %w", err)
	}
	for i := range attempts {
		for j, c := range columns {
			row[j] = c.write(&attempts[i])
		}
		if err := out.Write(row); err != nil {
			return fmt.Errorf("truth: %w", err)
		}
	}
	out.Flush()
	return out.Error()
}

// Read reads what Write wrote. Columns may come in any order; an unknown or a
// missing one is an error, because a truth read by half proves nothing. name
// stands for the file in errors.
func Read(r io.Reader, name string) ([]Attempt, error) {
	in := csv.NewReader(r)
	header, err := in.Read()
	if err != nil {
		return nil, fmt.Errorf("%s: no header row: %w", name, err)
	}
	order, err := matchColumns(header)
	if err != nil {
		return nil, fmt.Errorf("%s:1: %w", name, err)
	}
	var out []Attempt
	for {
		row, err := in.Read()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		var a Attempt
		for i, c := range order {
			if err := c.read(&a, row[i]); err != nil {
				line, _ := in.FieldPos(i)
				return nil, fmt.Errorf("%s:%d: column %s: %w", name, line, c.name, err)
			}
		}
		out = append(out, a)
	}
}

// matchColumns finds the column behind each header cell.
func matchColumns(header []string) ([]column, error) {
	order := make([]column, len(header))
	seen := map[string]bool{}
	for i, name := range header {
		for _, c := range columns {
			if c.name == name {
				order[i] = c
			}
		}
		if order[i].read == nil {
			return nil, fmt.Errorf("unknown column %q; name the truth.csv that synth wrote beside its recordings", name)
		}
		if seen[name] {
			return nil, fmt.Errorf("column %q comes twice", name)
		}
		seen[name] = true
	}
	for _, c := range columns {
		if !seen[c.name] {
			return nil, fmt.Errorf("column %q is missing", c.name)
		}
	}
	return order, nil
}
