package page

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"sync"
)

//go:embed assets/*.html
var templateFiles embed.FS

//go:embed assets/page.css
var pageStyle string

//go:embed assets/flight.js
var flightScript string

//go:embed assets/night.js
var nightScript string

// templates parses the embedded templates once; a mistake in them is a
// mistake of the source and shows in the first test.
var templates = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{"whole": whole}).ParseFS(templateFiles, "assets/*.html"))
})

// policy is the content security policy of a page: nothing may be fetched
// from anywhere, and only the inlined style and script, named by their hashes,
// may act. A hostile name in the data could not run even if it got through.
func policy(style, script string) string {
	return "default-src 'none'; img-src data:; base-uri 'none'; form-action 'none'; style-src " +
		source(style) + "; script-src " + source(script)
}

func source(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
