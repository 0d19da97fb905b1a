package archive

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
)

// WorkItem is a row of a worklist: an event, what was decided about it so far,
// and the three cells that a person fills in.
type WorkItem struct {
	Event, Kind, Check     string // name of the attempt, kind and check of the event
	Severity, What         string // What is the event in words
	Date, Tail, Flight     string
	State                  string // the decision so far, "" for none
	Decision, Reason, Role string // to be filled in; a row without a decision is passed over
	Line                   int    // in the file that was read
}

// workColumns are the columns of a worklist; the first three tell the event.
var workColumns = []string{"event", "kind", "check", "severity", "what", "date", "tail", "flight", "state", "decision", "reason", "role"}

func (w *WorkItem) cells() []*string {
	return []*string{&w.Event, &w.Kind, &w.Check, &w.Severity, &w.What, &w.Date, &w.Tail, &w.Flight, &w.State, &w.Decision, &w.Reason, &w.Role}
}

// needed are the columns without which a worklist says nothing.
var needed = []string{"event", "kind", "check", "decision", "reason"}

// WriteWorklist writes a worklist as CSV for a spreadsheet. Text that one would
// run as a formula gets an apostrophe in front; ReadWorklist takes it off.
func WriteWorklist(w io.Writer, items []WorkItem) error {
	rows := [][]string{workColumns}
	for i := range items {
		var row []string
		for _, c := range items[i].cells() {
			row = append(row, *c)
		}
		rows = append(rows, row)
	}
	return WriteSheet(w, rows)
}

// WriteSheet writes rows as CSV for a spreadsheet: text that one would run as
// a formula gets an apostrophe in front, numbers stay as they are.
func WriteSheet(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = cell
			if _, err := strconv.ParseFloat(cell, 64); err != nil {
				safe[i] = harmless(cell)
			}
		}
		if err := out.Write(safe); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// mostWork bounds a worklist; a spreadsheet takes no more rows than a million.
const mostWork = 64 << 20

// ReadWorklist reads a worklist as a spreadsheet saves it: with commas,
// semicolons or tabs between the cells, which a first line "sep=;" may name, as
// UTF-8 with or without a byte order mark or as UTF-16 with one, with line ends
// of any system, columns in any order. Rows without a decision are left out. An error names
// file and line.
func ReadWorklist(r io.Reader, name string) ([]WorkItem, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostWork+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(text) > mostWork {
		return nil, fmt.Errorf("%s: larger than %d MiB, which no worklist is", name, mostWork>>20)
	}
	text = asUTF8(text)
	skipped := 0
	comma := separator(text)
	if first, rest, ok := bytes.Cut(text, []byte("\n")); ok && sepLine.Match(first) {
		text, skipped, comma = rest, 1, rune(first[len("sep=")])
	}
	in := csv.NewReader(bytes.NewReader(text))
	in.Comma = comma
	in.FieldsPerRecord = -1 // trailing empty cells are left out by some
	at, err := workHeader(in, name)
	if err != nil {
		return nil, err
	}
	var out []WorkItem
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w; save it as CSV again", name, err)
		}
		item := workItem(row, at)
		item.Line, _ = in.FieldPos(0)
		item.Line += skipped
		if item.Decision != "" {
			out = append(out, item)
		}
	}
}

// sepLine is a first line by which some spreadsheets name the separator.
var sepLine = regexp.MustCompile(`^(?i:sep=)[,;\t]\r?$`)

// asUTF8 is a text without its byte order mark and with line ends that csv
// knows. A text of UTF-16 begins with a mark; one that has no line feed at all
// has the line ends of older systems.
func asUTF8(text []byte) []byte {
	for mark, order := range map[string]binary.ByteOrder{"\xff\xfe": binary.LittleEndian, "\xfe\xff": binary.BigEndian} {
		if rest, ok := bytes.CutPrefix(text, []byte(mark)); ok {
			units := make([]uint16, len(rest)/2)
			for i := range units {
				units[i] = order.Uint16(rest[2*i:])
			}
			text = []byte(string(utf16.Decode(units)))
		}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if !bytes.ContainsRune(text, '\n') {
		text = bytes.ReplaceAll(text, []byte("\r"), []byte("\n"))
	}
	return text
}

// separator is the one that the first line has most of.
func separator(text []byte) rune {
	first, _, _ := bytes.Cut(text, []byte("\n"))
	best := ','
	for _, c := range ";\t" {
		if bytes.Count(first, []byte(string(c))) > bytes.Count(first, []byte(string(best))) {
			best = c
		}
	}
	return best
}

// workHeader is where each column of workColumns stands, -1 for one that is
// not there.
func workHeader(in *csv.Reader, name string) ([]int, error) {
	head, err := in.Read()
	if err != nil {
		return nil, fmt.Errorf("%s: there is no header line; export a worklist and fill it in", name)
	}
	for i := range head {
		head[i] = strings.ToLower(strings.TrimSpace(head[i]))
	}
	var at []int
	for _, c := range workColumns {
		i := slices.Index(head, c)
		if i < 0 && slices.Contains(needed, c) {
			return nil, fmt.Errorf("%s:1: there is no column %q; keep the columns %s", name, c, strings.Join(needed, ", "))
		}
		at = append(at, i)
	}
	return at, nil
}

func workItem(row []string, at []int) WorkItem {
	var w WorkItem
	for i, c := range w.cells() {
		if at[i] >= 0 && at[i] < len(row) {
			*c = strings.TrimSpace(plainCell(row[at[i]]))
		}
	}
	w.Decision = DecisionOf(w.Decision)
	return w
}

// plainCell takes off the apostrophe of harmless.
func plainCell(text string) string {
	if rest, ok := strings.CutPrefix(text, "'"); ok && harmless(rest) != rest {
		return rest
	}
	return text
}

// DecisionOf is a decision as it was typed: in any case, with a hyphen or a
// blank. What is none is given back as it is, for the message.
func DecisionOf(text string) string {
	word := strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), " ")
	if slices.Contains(Decisions(), word) {
		return word
	}
	return text
}
