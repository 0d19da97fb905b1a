package archive

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// No cell of a worklist begins with what a spreadsheet runs; what is read back
// is what was written.
func TestWorklist(t *testing.T) {
	items := []WorkItem{
		{Event: "a-1", Kind: "configuration", Check: "trim", Severity: "high", What: "trim, \"9.45\" units", Decision: "valid", Reason: "=1+1", Role: "+analyst", Line: 2},
		{Event: "b-1", Kind: "reject", Check: "low-speed", What: "-x", Tail: "@tail", Decision: "nuisance", Reason: "-3", Line: 3},
		{Event: "c-1", Kind: "reject", Check: "low-speed"},
	}
	var b bytes.Buffer
	if err := WriteWorklist(&b, items); err != nil {
		t.Fatal(err)
	}
	for _, cell := range []string{",'=1+1,'+analyst", ",'-x,", ",'@tail,", ",-3,"} {
		if !strings.Contains(b.String(), cell) {
			t.Errorf("%s is not in\n%s", cell, b.String())
		}
	}
	got, err := ReadWorklist(&b, "w.csv")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(items[:2], got); diff != "" {
		t.Error(diff)
	}
}

// Spreadsheets save with other separators, a byte order mark, fewer cells, and
// people write a decision as they like.
func TestReadWorklistAsSpreadsheetsSaveIt(t *testing.T) {
	want := []WorkItem{{Event: "a-1", Kind: "reject", Check: "low-speed", Decision: DataFault, Reason: "x", Line: 2}}
	for name, text := range map[string]string{
		"semicolons and a mark": "\ufeffEvent;Kind;Check;Decision;Reason\r\na-1;reject;low-speed;Data-Fault;x\r\nb-1;reject\r\n",
		"tabs":                  "reason\tdecision\tcheck\tkind\tevent\nx\tdata_fault\tlow-speed\treject\ta-1\n",
		"UTF-16, little end":    string([]byte{0xff, 0xfe}) + wide("event\tkind\tcheck\tdecision\treason\r\na-1\treject\tlow-speed\tdata fault\tx\r\n", 0),
		"UTF-16, big end":       string([]byte{0xfe, 0xff}) + wide("event;kind;check;decision;reason\na-1;reject;low-speed;data fault;x\n", 1),
		"old line ends":         "event;kind;check;decision;reason\ra-1;reject;low-speed;data fault;x\r",
		"commas":                "event,kind,check,state,decision,reason\na-1,reject,low-speed,,DATA FAULT,x\n,,,,,\n",
	} {
		got, err := ReadWorklist(strings.NewReader(text), name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
	got, err := ReadWorklist(strings.NewReader("sep=;\r\nevent;kind;check;decision;reason\r\na-1;reject;low-speed;valid;a, b, c, d, e, f\r\n"), "w.csv")
	if err != nil || len(got) != 1 || got[0].Reason != "a, b, c, d, e, f" || got[0].Line != 3 {
		t.Errorf("a named separator: %+v, %v", got, err)
	}
	for text, want := range map[string]string{
		"": "there is no header line", "event,kind,check,reason\n": `no column "decision"`, "event,kind,check,decision,reason\na,\"b\nc": "save it as CSV again",
	} {
		if _, err := ReadWorklist(strings.NewReader(text), "w.csv"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// wide is ASCII text in two bytes a letter, the letter in the first or the
// second.
func wide(text string, at int) string {
	out := make([]byte, 2*len(text))
	for i := range len(text) {
		out[2*i+at] = text[i]
	}
	return string(out)
}

// Whatever is read can be written and is read again the same.
func FuzzReadWorklist(f *testing.F) {
	f.Add("event,kind,check,decision,reason\na-1,reject,low-speed,valid,'=x\n")
	f.Add("sep=,\n\xff\xfe")
	f.Add("\ufeffEvent;Kind;Check;Decision;Reason;role\r\na;b;c;\"d\ne\";-1;+\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		items, err := ReadWorklist(strings.NewReader(text), "w.csv")
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := WriteWorklist(&b, items); err != nil {
			t.Fatal(err)
		}
		cells, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, cell := range slices.Concat(cells...) {
			if _, err := strconv.ParseFloat(cell, 64); err != nil && harmless(cell) != cell {
				t.Fatalf("a cell begins as a formula: %q", cell)
			}
		}
		again, err := ReadWorklist(&b, "again.csv")
		if err != nil {
			t.Fatal(err)
		}
		for i := range again {
			again[i].Line = items[i].Line
		}
		if diff := cmp.Diff(items, again); diff != "" {
			t.Fatal(diff)
		}
	})
}
