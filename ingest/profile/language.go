package profile

import (
	_ "embed"
	"fmt"
	"strings"
)

// The language is described in two package comments, which go doc prints and
// whose examples the tests run. The program carries these very files, so that
// who has no source reads the same words.
var (
	//go:embed doc.go
	languageMain string
	//go:embed docreading.go
	languageReading string
)

// Language is the description of the profile language in plain text, lines of
// at most 80 characters: every key with its unit and default, with examples
// that start at a tab.
func Language() string {
	_, main, _ := strings.Cut(commentOf(languageMain), "\n# ")
	return fmt.Sprintf(`The language of aircraft profiles, version %d

A profile is one YAML file per aircraft type or subfleet. It says what every
recorded name means, when thrust counts as advanced, and which checks are made
with which limits. All limits below are invented; an operator enters its own
approved figures. An example that says "wrong:" shows what is refused, and how.

# %s
# %s`, LanguageVersion, main, commentOf(languageReading))
}

// commentOf is the text of a file's comment block.
func commentOf(file string) string {
	_, text, _ := strings.Cut(file, "/*\n")
	text, _, _ = strings.Cut(text, "*/")
	return text
}
