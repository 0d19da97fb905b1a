package profile

import (
	"errors"
	"go/ast"
	"go/doc/comment"
	"go/parser"
	"go/token"
	"regexp"
	"strings"
	"testing"
)

// examples are the preformatted blocks of the package comment.
func examples(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, c := range comments(t) {
		out = append(out, blocks(c)...)
	}
	return out
}

// comments are the parts of the package comment, which is long.
func comments(t *testing.T) []*ast.CommentGroup {
	t.Helper()
	var out []*ast.CommentGroup
	for _, file := range []string{"doc.go", "docreading.go"} {
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ParseComments|parser.PackageClauseOnly)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, f.Doc)
	}
	return out
}

func blocks(c *ast.CommentGroup) []string {
	var out []string
	for _, b := range new(comment.Parser).Parse(c.Text()).Content {
		if code, ok := b.(*comment.Code); ok {
			out = append(out, code.Text)
		}
	}
	return out
}

var topKey = regexp.MustCompile(`^[a-z_]+:`)

// sections cuts a profile at its top-level keys. Comments above the first
// key belong to "".
func sections(text string) (order []string, parts map[string]string) {
	parts = map[string]string{}
	key := ""
	for _, line := range strings.SplitAfter(text, "\n") {
		if k := topKey.FindString(line); k != "" {
			key = k
			order = append(order, key)
		}
		parts[key] += line
	}
	return order, parts
}

// over lays an example over the whole profile: its keys replace those there.
func over(whole, example string) string {
	order, parts := sections(whole)
	added, news := sections(example)
	var b strings.Builder
	for _, k := range order {
		if _, replaced := news[k]; !replaced {
			b.WriteString(parts[k])
		}
	}
	for _, k := range added {
		b.WriteString(news[k])
	}
	return b.String()
}

var wrong = regexp.MustCompile(`(?m)^# wrong: (.*)$`)

// TestExamplesOfTheLanguage reads every example of the documentation. One
// that says "wrong:" must give those messages and no other.
func TestExamplesOfTheLanguage(t *testing.T) {
	all := examples(t)
	if len(all) < 15 {
		t.Fatalf("found %d examples in doc.go", len(all))
	}
	for i, example := range all {
		text := example
		if i > 0 {
			text = over(all[0], example)
		}
		_, err := Parse("example.yaml", []byte(text))
		want := wrong.FindAllStringSubmatch(example, -1)
		var mistakes Errors
		errors.As(err, &mistakes)
		if len(mistakes) != len(want) {
			t.Errorf("example %d gives %d mistakes, its text says %d:\n%s\n%v", i+1, len(mistakes), len(want), example, err)
			continue
		}
		for _, w := range want {
			if !strings.Contains(err.Error(), w[1]) {
				t.Errorf("example %d does not say %q but:\n%v", i+1, w[1], err)
			}
		}
	}
}

// TestEveryKeyIsDocumented finds the keys of the language in the code and
// demands each in the documentation.
func TestEveryKeyIsDocumented(t *testing.T) {
	doc := ""
	for _, c := range comments(t) {
		doc += c.Text()
	}
	n := 0
	for _, file := range []string{"clock.go", "shape.go", "sampling.go", "parse.go", "parameters.go", "own.go", "rules.go", "checks.go", "band.go"} {
		src, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(src, func(node ast.Node) bool {
			call, ok := node.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return true
			}
			sel, ok := call.Fun.(*ast.SelectorExpr)
			lit, isText := call.Args[0].(*ast.BasicLit)
			if !ok || !isText || sel.Sel.Name != "get" && sel.Sel.Name != "need" {
				return true
			}
			n++
			if key := strings.Trim(lit.Value, `"`); !regexp.MustCompile(`\b` + key + `\b`).MatchString(doc) {
				t.Errorf("%s reads the key %q, which the package comment does not explain", file, key)
			}
			return true
		})
	}
	if n < 50 {
		t.Errorf("found %d keys in the code", n)
	}
}
