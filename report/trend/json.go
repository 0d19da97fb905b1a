package trend

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"time"
	"unicode"
)

// WriteJSON writes the trends as JSON: every field of Trends under its name in
// small letters with underscores, in their order. What cannot be told (NaN)
// and ends without bound are null, lists are never null, dates of a day are
// written 2031-03-07.
func WriteJSON(w io.Writer, t *Trends) error {
	var compact, out bytes.Buffer
	if err := encode(&compact, reflect.ValueOf(t).Elem()); err != nil {
		return fmt.Errorf("trends as JSON: %w", err)
	}
	if err := json.Indent(&out, compact.Bytes(), "", "  "); err != nil {
		return fmt.Errorf("trends as JSON: %w", err)
	}
	out.WriteByte('\n')
	_, err := w.Write(out.Bytes())
	return err
}

// encode writes one value. encoding/json cannot: it refuses NaN and knows no
// way to write it as null.
func encode(b *bytes.Buffer, v reflect.Value) error {
	switch x := v.Interface().(type) {
	case time.Time:
		if x.IsZero() {
			b.WriteString("null")
			return nil
		}
		return plain(b, x.UTC().Format(time.DateOnly))
	case Month:
		return plain(b, x.String())
	}
	switch v.Kind() {
	case reflect.Struct:
		b.WriteByte('{')
		first := true
		if err := fields(b, v, &first); err != nil {
			return err
		}
		b.WriteByte('}')
		return nil
	case reflect.Slice:
		b.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := encode(b, v.Index(i)); err != nil {
				return err
			}
		}
		b.WriteByte(']')
		return nil
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			b.WriteString("null")
			return nil
		}
	}
	return plain(b, v.Interface())
}

// fields writes the fields of a struct; those of an embedded one stand beside
// them.
func fields(b *bytes.Buffer, v reflect.Value, first *bool) error {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if !f.IsExported() {
			continue
		}
		if f.Anonymous && f.Type.Kind() == reflect.Struct {
			if err := fields(b, v.Field(i), first); err != nil {
				return err
			}
			continue
		}
		if !*first {
			b.WriteByte(',')
		}
		*first = false
		if err := plain(b, snake(f.Name)); err != nil {
			return err
		}
		b.WriteByte(':')
		if err := encode(b, v.Field(i)); err != nil {
			return err
		}
	}
	return nil
}

func plain(b *bytes.Buffer, v any) error {
	text, err := json.Marshal(v)
	b.Write(text)
	return err
}

// snake turns PerThousand into per_thousand, SPI into spi, P05 into p05.
func snake(name string) string {
	var b strings.Builder
	runes := []rune(name)
	for i, r := range runes {
		small := i > 0 && unicode.IsLower(runes[i-1])
		next := i > 0 && i+1 < len(runes) && unicode.IsUpper(r) && unicode.IsLower(runes[i+1])
		if unicode.IsUpper(r) && (small || next) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}
