package archive

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
)

// The table in the comment of TablesVersion has every column with its type, in
// the order of the files, and says what each means.
func TestContractHasEveryColumn(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "contract.go", nil, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	doc := file.Decls[0].(*ast.GenDecl).Doc.Text()
	var got []string
	for line := range strings.Lines(doc) {
		if !strings.HasPrefix(line, "\t") {
			continue
		}
		words := strings.Fields(line)
		meaning := words[2:]
		null := words[2] == "null"
		if null {
			meaning = words[3:]
		}
		if len(meaning) == 0 {
			t.Errorf("%s has no meaning", words[0])
		}
		got = append(got, describe(words[0], words[1], null))
	}
	var want []string
	for i, model := range []any{AttemptRow{}, FindingRow{}, RecordingRow{}, SightingRow{}} {
		fields := parquet.SchemaOf(model).Fields()
		common := len(parquet.SchemaOf(FlightColumns{}).Fields())
		if i > 0 && i < 3 { // the columns of the flight are told once
			fields = fields[common:]
		}
		for _, f := range fields {
			want = append(want, describe(f.Name(), typeWord(f), f.Optional()))
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the comment is not the schema (-schema +comment):\n%s", diff)
	}
}

func describe(name, kind string, null bool) string {
	if null {
		kind += " null"
	}
	return name + " " + kind
}

// typeWord is the type of a column as the comment calls it.
func typeWord(f parquet.Field) string {
	switch name := f.Type().String(); {
	case strings.HasPrefix(name, "DATE"):
		return "date"
	case strings.HasPrefix(name, "TIMESTAMP"):
		return "UTC"
	}
	switch f.Type().Kind() {
	case parquet.ByteArray:
		return "text"
	case parquet.Boolean:
		return "flag"
	case parquet.Double:
		return "number"
	default:
		return "integer"
	}
}
