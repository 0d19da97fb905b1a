package archive

import (
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// validator checks a value against the published schema. It knows the
// keywords that the schema uses and fails on any other, so that none is
// silently passed over.
type validator struct{ defs map[string]any }

func loadSchema(t *testing.T) (map[string]any, validator) {
	t.Helper()
	var schema map[string]any
	if err := json.Unmarshal([]byte(schemaText), &schema); err != nil {
		t.Fatal(err)
	}
	return schema, validator{schema["$defs"].(map[string]any)}
}

// check lists what is wrong with the value at a path.
func (v validator) check(schema map[string]any, value any, at string) (wrong []string) {
	bad := func(format string, args ...any) { wrong = append(wrong, at+": "+fmt.Sprintf(format, args...)) }
	object, _ := value.(map[string]any)
	for key, arg := range schema {
		switch key {
		case "$schema", "$id", "$defs", "title", "description":
		case "$ref":
			name, _ := strings.CutPrefix(arg.(string), "#/$defs/")
			def, ok := v.defs[name].(map[string]any)
			if !ok {
				bad("no definition %s", arg)
				continue
			}
			wrong = append(wrong, v.check(def, value, at)...)
		case "type":
			if !isType(arg, value) {
				bad("%v is not of type %v", value, arg)
			}
		case "const":
			if value != arg {
				bad("%v is not %v", value, arg)
			}
		case "enum":
			if !slices.Contains(arg.([]any), value) {
				bad("%q is none of %v", value, arg)
			}
		case "pattern":
			if text, ok := value.(string); ok && !regexp.MustCompile(arg.(string)).MatchString(text) {
				bad("%q does not match %s", text, arg)
			}
		case "minimum":
			if number, ok := value.(float64); ok && number < arg.(float64) {
				bad("%v is below %v", number, arg)
			}
		case "required":
			for _, name := range arg.([]any) {
				if _, ok := object[name.(string)]; object != nil && !ok {
					bad("%s is missing", name)
				}
			}
		case "properties":
			for name, sub := range arg.(map[string]any) {
				if member, ok := object[name]; ok {
					wrong = append(wrong, v.check(sub.(map[string]any), member, at+"."+name)...)
				}
			}
		case "additionalProperties":
			properties, _ := schema["properties"].(map[string]any)
			for name, member := range object {
				if _, named := properties[name]; named {
					continue
				}
				if sub, ok := arg.(map[string]any); ok {
					wrong = append(wrong, v.check(sub, member, at+"."+name)...)
				} else if arg == false {
					bad("%s is not in the schema", name)
				}
			}
		case "items":
			list, _ := value.([]any)
			for i, item := range list {
				wrong = append(wrong, v.check(arg.(map[string]any), item, fmt.Sprintf("%s[%d]", at, i))...)
			}
		case "anyOf":
			fits := slices.ContainsFunc(arg.([]any), func(sub any) bool { return len(v.check(sub.(map[string]any), value, at)) == 0 })
			if !fits {
				bad("%v fits none of the alternatives", value)
			}
		default:
			bad("keyword %s is not known to this test", key)
		}
	}
	return wrong
}

func isType(want, value any) bool {
	if list, ok := want.([]any); ok {
		return slices.ContainsFunc(list, func(one any) bool { return isType(one, value) })
	}
	switch x := value.(type) {
	case nil:
		return want == "null"
	case string:
		return want == "string"
	case bool:
		return want == "boolean"
	case float64:
		return want == "number" || want == "integer" && x == float64(int64(x))
	case []any:
		return want == "array"
	case map[string]any:
		return want == "object"
	}
	return false
}

func generic(t *testing.T, s Summary) map[string]any {
	t.Helper()
	var value map[string]any
	if err := json.Unmarshal([]byte(summaryText(t, s)), &value); err != nil {
		t.Fatal(err)
	}
	return value
}

func TestSummariesFitTheSchema(t *testing.T) {
	schema, v := loadSchema(t)
	bare := testAssessment()
	bare.Attempts, bare.Recording.Series = nil, nil
	clipped := Summarise(testAssessment(), versions)
	clipped.Clip = &FileHash{File: ClipFile, SHA256: strings.Repeat("0", 64)}
	for name, s := range map[string]Summary{
		"two attempts": Summarise(testAssessment(), versions), "none": Summarise(bare, versions), "with a clip": clipped,
	} {
		for _, wrong := range v.check(schema, generic(t, s), name) {
			t.Error(wrong)
		}
	}
}

// The validator must be able to fail, once for every keyword.
func TestSchemaRefuses(t *testing.T) {
	schema, v := loadSchema(t)
	for name, spoil := range map[string]func(map[string]any){
		"another layout":     func(s map[string]any) { s["schema"] = 2.0 },
		"a field missing":    func(s map[string]any) { delete(s, "notes") },
		"a field too many":   func(s map[string]any) { s["mood"] = "good" },
		"a null list":        func(s map[string]any) { s["attempts"] = nil },
		"a key of no hash":   func(s map[string]any) { s["key"] = "../.." },
		"a clip of no kind":  func(s map[string]any) { s["clip"] = "clip.parquet" },
		"a note of no text":  func(s map[string]any) { s["notes"] = []any{1.0} },
		"an unknown outcome": func(s map[string]any) { s["attempts"].([]any)[0].(map[string]any)["outcome"] = "fine" },
		"an attempt zero":    func(s map[string]any) { s["attempts"].([]any)[0].(map[string]any)["number"] = 0.0 },
		"a mask of text": func(s map[string]any) {
			s["sensors"].([]any)[0].(map[string]any)["masked"] = map[string]any{"spike": "many"}
		},
	} {
		s := generic(t, Summarise(testAssessment(), versions))
		spoil(s)
		if len(v.check(schema, s, name)) == 0 {
			t.Errorf("%s passed", name)
		}
	}
}

// Every field of the structs is in the schema, required, and nothing else is.
func TestSchemaHasEveryField(t *testing.T) {
	schema, v := loadSchema(t)
	left := map[string]bool{}
	for name := range v.defs {
		left[name] = true
	}
	var compare func(t reflect.Type, def map[string]any)
	seen := map[reflect.Type]bool{}
	compare = func(typ reflect.Type, def map[string]any) {
		if seen[typ] {
			return
		}
		seen[typ] = true
		delete(left, typ.Name())
		var tags, properties, required []string
		for i := range typ.NumField() {
			field := typ.Field(i)
			tags = append(tags, field.Tag.Get("json"))
			inner := field.Type
			for inner.Kind() == reflect.Pointer || inner.Kind() == reflect.Slice {
				inner = inner.Elem()
			}
			if inner.Kind() == reflect.Struct {
				sub, ok := v.defs[inner.Name()].(map[string]any)
				if !ok {
					t.Errorf("%s is not defined in the schema", inner.Name())
					continue
				}
				compare(inner, sub)
			}
		}
		for name := range def["properties"].(map[string]any) {
			properties = append(properties, name)
		}
		for _, name := range def["required"].([]any) {
			required = append(required, name.(string))
		}
		slices.Sort(tags)
		slices.Sort(properties)
		slices.Sort(required)
		if !slices.Equal(tags, properties) || !slices.Equal(tags, required) {
			t.Errorf("%s: fields %v, properties %v, required %v", typ.Name(), tags, properties, required)
		}
		if def["additionalProperties"] != false {
			t.Errorf("%s: additionalProperties is not false", typ.Name())
		}
	}
	compare(reflect.TypeFor[Summary](), schema)
	for name := range left {
		t.Errorf("the schema defines %s, which no field uses", name)
	}
}
