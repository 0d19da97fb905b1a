package page

import (
	"html/template"
	"regexp"
	"strings"
)

// unbroken is what must not be torn apart at the end of a line: a date or a
// month, the tail of an aircraft, a figure and its per cent sign. A line may
// end after any hyphen, and "2033-" is no date.
var unbroken = regexp.MustCompile(`\b\d{4}-\d\d(?:-\d\d)?\b|\b[A-Z0-9]{1,3}-[A-Z0-9]{2,6}\b|\b\d[\d.]* %`)

// whole is the text for a page, with what must not be torn apart marked for
// the style sheet. The characters stay as they are, for whoever copies them.
func whole(s string) template.HTML {
	var b strings.Builder
	at := 0
	for _, m := range unbroken.FindAllStringIndex(s, -1) {
		b.WriteString(template.HTMLEscapeString(s[at:m[0]]))
		b.WriteString(`<span class="whole">` + template.HTMLEscapeString(s[m[0]:m[1]]) + `</span>`)
		at = m[1]
	}
	b.WriteString(template.HTMLEscapeString(s[at:]))
	return template.HTML(b.String())
}
