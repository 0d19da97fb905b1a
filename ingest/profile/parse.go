package profile

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"

	"go.yaml.in/yaml/v4"

	"rollonset/ingest/spelling"
)

// Load reads one profile file. Mistakes in the text give Errors with every
// mistake at once; anything else is an error of the file system.
func Load(path string) (*Profile, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, noProfile(path, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s is a folder: name the profile in it", path)
	}
	// One byte beyond the bound is enough to know that there is too much.
	text, err := io.ReadAll(io.LimitReader(f, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("cannot read the profile: %w", err)
	}
	return Parse(path, text)
}

// noProfile says in our own words what each system words in its own.
func noProfile(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("cannot read the profile: %w", missing{path, "file", err})
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("cannot read the profile: %w; check who may read it", err)
	}
	return fmt.Errorf("cannot read the profile: %w", err)
}

// missing is a path that leads nowhere.
type missing struct {
	path, what string
	err        error
}

func (m missing) Error() string {
	return fmt.Sprintf("there is no %s %s; check the path", m.what, m.path)
}

// Unwrap is the error of the file system.
func (m missing) Unwrap() error { return m.err }

// Parse reads the text of one profile; path only names it in messages. The
// error is of type Errors and holds every mistake. The profile is nil then.
func Parse(path string, text []byte) (*Profile, error) {
	r := &reader{path: path}
	p := r.profile(text)
	if len(r.problems) > 0 {
		return nil, r.problems.sorted()
	}
	sum := sha256.Sum256(text)
	p.Path, p.SHA256, p.Source = path, hex.EncodeToString(sum[:]), slices.Clone(text)
	return p, nil
}

// profile reads the top of the file, section by section. Later sections refer
// to the parameter map, so that comes before them.
func (r *reader) profile(text []byte) *Profile {
	top := r.section(r.document(text), "the profile",
		"rollonset", "name", "title", "version", "reason", "types", "tails", "engines", "file_name",
		"time", "csv", "long", "identity", "no_sample", "own_parameters", "parameters", "thrust", "attempt", "checks", "warning", "reject", "severity")
	p := &Profile{}
	r.head(top, p)
	r.recording(top, p)
	m := r.parameters(top, p)
	p.Thrust = r.thrust(top, m, p.Engines)
	p.Attempt = r.attempt(top)
	p.Warning = r.warning(top, m)
	p.Reject = r.reject(top, m)
	p.Severity = r.severity(top)
	p.Checks = r.checks(top, m)
	return p
}

var shortName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,39}$`)

// maxEngines bounds the expansion of "n1.*"; the nouns of the trade end at
// eight.
const maxEngines = 8

// head reads who the profile is for.
func (r *reader) head(top section, p *Profile) {
	if n := top.need("rollonset", "rollonset: 1"); n != nil {
		if v := r.whole(n, "rollonset", LanguageVersion, 1, 1<<20); v != LanguageVersion {
			r.fail(n, "", "the profile language is version %d; this program reads version %d", v, LanguageVersion)
		}
	}
	n := top.need("name", "name: QX40")
	if s, ok := r.text(n, "name"); ok {
		if !shortName.MatchString(s) {
			r.fail(n, "letters, digits, - and _, at most 40; put words into title", "name: %q cannot be part of a file name", s)
		}
		p.Name = s
	}
	p.Title = r.prose(top.need("title", "title: twin jet of our northern base"), "title")
	p.Version, _ = r.text(top.need("version", `version: "2031-1"`), "version")
	p.Reason = r.prose(top.need("reason", "reason: first issue"), "reason")
	p.Types = r.texts(top.need("types", "types: [QX40]"), "types", false)
	tails := top.need("tails", `tails: ["ZZ-Q*"]`)
	p.Tails = r.texts(tails, "tails", false)
	r.checkTails(tails)
	p.Engines = r.whole(top.need("engines", "engines: 2"), "engines", 0, 1, maxEngines)
}

// checkTails refuses what other pattern languages have beside * and ?; taken
// as plain characters, they would quietly match no aircraft.
func (r *reader) checkTails(n *yaml.Node) {
	if n == nil || n.Kind != yaml.SequenceNode {
		return // told already
	}
	for _, c := range n.Content {
		if c.Kind == yaml.ScalarNode && strings.ContainsAny(c.Value, `[]{}\/`) {
			r.fail(c, "list the tails; in a pattern * stands for any characters and ? for one", "tails: %q cannot be a tail", c.Value)
		}
	}
}

// recording reads how a recording is named, timed and marked.
func (r *reader) recording(top section, p *Profile) {
	if n := top.get("file_name"); n != nil {
		if s, ok := r.text(n, "file_name"); ok {
			r.checkPattern(n, s)
			p.File.Pattern = s
		}
	}
	p.Time = r.clock(top)
	r.shape(top, p)
	p.NoSample = r.texts(top.get("no_sample"), "no_sample", false)
}

// placeholders are what a file-name pattern can read.
var placeholders = []string{"tail", "type", "flight", "date", "time", "aerodrome", "runway", "any"}

var (
	placeholder = regexp.MustCompile(`\{([^{}]*)\}`)
	touching    = regexp.MustCompile(`\{(tail|type|flight|aerodrome|runway|any)\}\{(tail|type|flight|aerodrome|runway|any)\}`)
)

// checkPattern checks a file-name pattern.
func (r *reader) checkPattern(n *yaml.Node, s string) {
	seen := map[string]bool{}
	for _, m := range placeholder.FindAllStringSubmatch(s, -1) {
		name := m[1]
		switch {
		case !slices.Contains(placeholders, name):
			r.fail(n, spelling.DidYouMean(name, placeholders), "file_name: unknown placeholder {%s}", name)
		case name != "any" && seen[name]:
			r.fail(n, "use {any} for the second", "file_name: {%s} stands twice", name)
		}
		seen[name] = true
	}
	rest := placeholder.ReplaceAllString(s, "")
	switch {
	case strings.ContainsAny(rest, "{}"):
		r.fail(n, "every { needs its }", "file_name: the braces in %q do not match", s)
	case len(seen) == 0:
		r.fail(n, "for example {tail}_{date}_{flight}", "file_name: %q reads nothing", s)
	case touching.MatchString(s):
		r.fail(n, "put a character such as _ between them", "file_name: in %q nothing tells where one placeholder ends and the next begins", s)
	case strings.ContainsAny(rest, `/\`):
		r.fail(n, "leave the folder out", "file_name: %q names a folder", s)
	}
}
