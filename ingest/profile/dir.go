package profile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// LoadDir reads every profile of a folder (*.yaml and *.yml, not those whose
// name begins with a dot) in the order of their names. The error is of type
// Errors and holds the mistakes of all files; two profiles with one name, or
// with tails that both would take, are mistakes too, because a recording must
// belong to one profile. A folder without a profile is an error.
func LoadDir(dir string) ([]*Profile, error) {
	entries, err := os.ReadDir(dir) // in the order of names
	switch info, statErr := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("cannot read the folder of profiles: %w", missing{dir, "folder", err})
	case err != nil && statErr == nil && !info.IsDir():
		return nil, fmt.Errorf("cannot read the folder of profiles: %s is a file; name the folder that holds it", dir)
	case err != nil:
		return nil, fmt.Errorf("cannot read the folder of profiles: %w", err)
	}
	var out []*Profile
	var all Errors
	found := false
	for _, e := range entries {
		name := e.Name()
		ext := strings.ToLower(filepath.Ext(name))
		if e.IsDir() || strings.HasPrefix(name, ".") || ext != ".yaml" && ext != ".yml" {
			continue
		}
		found = true
		p, err := Load(filepath.Join(dir, name))
		var mistakes Errors
		switch {
		case errors.As(err, &mistakes):
			all = append(all, mistakes...)
		case err != nil:
			return nil, err
		default:
			out = append(out, p)
		}
	}
	if !found {
		return nil, fmt.Errorf("%s holds no profile: put a file such as %s there", dir, filepath.Join(dir, "TYPE.yaml"))
	}
	if all = append(all, together(out)...); len(all) > 0 {
		return nil, all.sorted()
	}
	return out, nil
}

// together finds the mistakes that only show between profiles.
func together(profiles []*Profile) Errors {
	var out Errors
	for i, p := range profiles {
		for _, earlier := range profiles[:i] {
			if strings.EqualFold(p.Name, earlier.Name) { // names become file names
				out = append(out, p.at("name", "", nameRemedy(p, earlier), fmt.Sprintf("the name %q is taken by %s", p.Name, earlier.Path)))
			}
			for _, tail := range p.Tails {
				if other, both := overlap(tail, earlier.Tails); both {
					out = append(out, p.at("tails", tail, "make the patterns exclude each other",
						fmt.Sprintf("tails: an aircraft may be taken by %q here and by %q of %s", tail, other, earlier.Path)))
				}
			}
		}
	}
	return out
}

// nameRemedy is what to do for two profiles of one name. Two drafts of one
// recording are the usual case.
func nameRemedy(a, b *Profile) string {
	if len(a.Unconfirmed()) > 0 && len(b.Unconfirmed()) > 0 {
		return "both are drafts: keep one of them, or confirm their names and tails"
	}
	return "give each profile its own name"
}

// at is a mistake at a top-level key of a profile that was read without one,
// or at a text in its value.
func (p *Profile) at(key, within, hint, text string) Problem {
	r := reader{path: p.Path}
	top := r.section(r.document(p.Source), "the profile", key)
	r.problems = nil // the other keys, which this look ignores
	n := top.get(key)
	for _, c := range n.Content {
		if c.Value == within {
			n = c
		}
	}
	r.fail(n, hint, "%s", text)
	return r.problems[0]
}

// overlap finds the first pattern of the list that can match what tail
// matches.
func overlap(tail string, list []string) (string, bool) {
	for _, other := range list {
		if bothMatch([]rune(strings.ToUpper(tail)), []rune(strings.ToUpper(other))) {
			return other, true
		}
	}
	return "", false
}

// bothMatch says whether some text matches two patterns with * and ?. It
// walks both at once; cell [i][j] says whether the rests a[i:] and b[j:] have
// a text in common.
func bothMatch(a, b []rune) bool {
	common := make([][]bool, len(a)+1)
	for i := range common {
		common[i] = make([]bool, len(b)+1)
	}
	common[len(a)][len(b)] = true
	for i := len(a); i >= 0; i-- {
		for j := len(b); j >= 0; j-- {
			switch {
			case i < len(a) && a[i] == '*':
				// The star ends here, or swallows one more of the other side.
				common[i][j] = common[i+1][j] || j < len(b) && common[i][j+1]
			case j < len(b) && b[j] == '*':
				common[i][j] = common[i][j+1] || i < len(a) && common[i+1][j]
			case i < len(a) && j < len(b) && (a[i] == b[j] || a[i] == '?' || b[j] == '?'):
				common[i][j] = common[i+1][j+1]
			}
		}
	}
	return common[0][0]
}
