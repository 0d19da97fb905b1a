package cmd_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// rooms is the house: for each room, the rooms it may import. Data flows from
// top to bottom; an import that runs against it fails the test.
var rooms = map[string][]string{
	"ingest/span":              {},
	"ingest/unit":              {},
	"ingest/flightdata":        {"ingest/span", "ingest/unit"},
	"ingest/spelling":          {},
	"ingest/profile":           {"ingest/flightdata", "ingest/spelling", "ingest/unit", "ingest/span"},
	"ingest/table":             {},
	"ingest/quality":           {"ingest/flightdata", "ingest/profile", "ingest/span", "ingest/unit"},
	"ingest/guess":             {"ingest/flightdata", "ingest/profile", "ingest/unit"},
	"ingest/sanity":            {"ingest/flightdata", "ingest/profile", "ingest/span", "ingest/unit"},
	"ingest":                   {"ingest/flightdata", "ingest/guess", "ingest/profile", "ingest/quality", "ingest/sanity", "ingest/span", "ingest/spelling", "ingest/table", "ingest/unit"},
	"detect/trigger":           {"ingest/flightdata", "ingest/span"},
	"detect/motion":            {"ingest/flightdata", "ingest/span"},
	"detect/takeoff":           {"detect/motion", "detect/trigger", "ingest/flightdata", "ingest/profile", "ingest/span"},
	"detect/configuration":     {"detect/takeoff", "detect/trigger", "ingest/flightdata", "ingest/profile", "ingest/span"},
	"detect/reject":            {"detect/motion", "detect/takeoff", "detect/trigger", "ingest/flightdata", "ingest/profile", "ingest/span"},
	"detect":                   {"detect/configuration", "detect/reject", "detect/takeoff", "ingest/flightdata", "ingest/profile", "ingest/span"},
	"detect/internal/casefile": {"detect", "detect/configuration", "detect/reject", "detect/takeoff", "ingest/flightdata", "ingest/profile", "ingest/span", "ingest/unit"},
	"report/columnfile":        {},
	"report/archive":           {"detect", "detect/configuration", "detect/reject", "detect/takeoff", "ingest/flightdata", "ingest/profile", "ingest/span", "ingest/unit", "report/columnfile"},
	"report/why":               {"detect", "detect/configuration", "detect/takeoff", "ingest/flightdata", "ingest/profile", "ingest/span"},
	"report/chart":             {},
	"report/evidence":          {"detect", "detect/configuration", "detect/reject", "detect/takeoff", "ingest", "ingest/flightdata", "ingest/profile", "ingest/span", "report/archive"},
	"report/page":              {"detect", "detect/configuration", "detect/takeoff", "ingest/flightdata", "ingest/profile", "ingest/span", "ingest/unit", "report/archive", "report/chart", "report/trend"},
	"report/trend":             {"detect", "detect/configuration", "detect/takeoff", "report/archive"},
	"report/whatif":            {"detect/configuration", "detect/takeoff", "ingest/profile", "ingest/spelling", "report/archive", "report/trend"},
	"sampledata":               {},
	"sampledata/truth":         {"detect/configuration", "detect/reject", "detect/takeoff", "ingest/span"},
	"sampledata/synth":         {"detect/configuration", "detect/takeoff", "ingest/flightdata", "ingest/profile", "ingest/span", "ingest/unit", "sampledata/truth"},
	"sampledata/score":         {"report/archive", "sampledata/truth"},
	"cmd/internal/batch":       {"detect", "ingest", "ingest/profile", "ingest/table", "report/archive", "report/evidence", "report/page"},
	"cmd/rollonset":            {"*"},
}

// borders says where a third-party module may be imported outside tests.
var borders = map[string][]string{
	"github.com/spf13/cobra":           {"cmd/rollonset"},
	"github.com/spf13/pflag":           {"cmd/rollonset"},
	"github.com/gofrs/flock":           {"cmd/rollonset", "cmd/internal/batch"},
	"golang.org/x/term":                {"cmd/rollonset"},
	"golang.org/x/sync":                {"cmd/internal/batch"},
	"go.yaml.in/yaml/v4":               {"ingest/profile"},
	"github.com/parquet-go/parquet-go": {"ingest/table", "report/archive", "report/columnfile", "sampledata/synth"},
	"github.com/apache/arrow/go/v15":   {"ingest/table", "sampledata/synth"},
	"gonum.org/v1/gonum":               {"report/trend"},
	"github.com/klauspost/compress":    {"ingest/table", "sampledata/synth"},
}

// forbidden are standard packages that a group of rooms must do without:
// detection has no files, clock, randomness or log, and nobody below cmd logs.
var forbidden = map[string][]string{
	"detect": {"os", "time/tzdata", "math/rand", "math/rand/v2", "log", "log/slog", "sync", "net", "net/http", "io/fs", "runtime"},
	"ingest": {"log", "log/slog", "net", "net/http", "math/rand", "math/rand/v2", "sync"},
	"report": {"log", "log/slog", "net", "net/http", "math/rand", "math/rand/v2"},
}

// exempt are rooms that may all the same: the readers keep decompressors and
// buffers for the next file, whichever worker reads it.
var exempt = map[string]string{"ingest/table": "sync"}

func TestRooms(t *testing.T) {
	root := ".."
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && p != root || d.IsDir() && d.Name() == "testdata" {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		room := path.Dir(filepath.ToSlash(rel))
		seen[room] = true
		file, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range file.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if why := wrong(room, name); why != "" {
				t.Errorf("%s imports %s: %s", rel, name, why)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for room := range rooms {
		if !seen[room] {
			t.Errorf("the table of rooms names %s, which has no code: mend the table", room)
		}
	}
}

// hashes is the one file of reading and detection that starts goroutines. They
// do nothing but hash, which cannot panic: whatever decodes or judges stays with
// the worker, who turns a panic into the error of one recording.
const hashes = "ingest/table/source.go"

func TestGoroutines(t *testing.T) {
	found := 0
	for _, top := range []string{"ingest", "detect"} {
		err := filepath.WalkDir(filepath.Join("..", top), func(p string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
				return err
			}
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, p, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if g, ok := n.(*ast.GoStmt); ok {
					found++
					if rel, _ := filepath.Rel("..", p); filepath.ToSlash(rel) != hashes {
						t.Errorf("%s starts a goroutine: a panic in it would end the whole run", set.Position(g.Pos()))
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if found == 0 {
		t.Errorf("%s starts no goroutine any more: mend this test", hashes)
	}
}

// wrong says why a room may not import a package, "" when it may.
func wrong(room, name string) string {
	allowed, ok := rooms[room]
	if !ok {
		return "the room is not in the table of rooms: give it a place in the flow"
	}
	if own, ok := strings.CutPrefix(name, "rollonset/"); ok {
		if slices.Contains(allowed, "*") || slices.Contains(allowed, own) {
			return ""
		}
		return "that runs against the flow of data"
	}
	top, _, _ := strings.Cut(room, "/")
	if slices.Contains(forbidden[top], name) && exempt[room] != name {
		return "the " + top + " rooms do without it"
	}
	if first, _, _ := strings.Cut(name, "/"); !strings.Contains(first, ".") {
		return ""
	}
	for module, where := range borders {
		if name == module || strings.HasPrefix(name, module+"/") {
			if slices.Contains(where, room) {
				return ""
			}
			return "it stays inside " + strings.Join(where, ", ")
		}
	}
	return "this module has no border in the table: name the rooms that may use it"
}

// TestTopLevel holds the customer's list of what the top level may hold.
func TestTopLevel(t *testing.T) {
	entries, err := filepath.Glob("../*")
	if err != nil {
		t.Fatal(err)
	}
	may := []string{"cmd", "ingest", "detect", "report", "sampledata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}
	for _, e := range entries {
		name := filepath.Base(e)
		if !strings.HasPrefix(name, ".") && !slices.Contains(may, name) && !strings.HasPrefix(name, "LICENSE") {
			t.Errorf("%s does not belong on the top level", name)
		}
	}
}
