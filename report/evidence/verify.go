package evidence

import (
	"fmt"
	"io/fs"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// VerifyOptions are what Verify takes beside the archive. The zero value does
// without recordings, one thing after another.
type VerifyOptions struct {
	// Recordings are files in which the recordings may be found again, by the
	// base name.
	Recordings []string
	// Each calls do for every i below n, in any order and at the same time if
	// it likes; nil calls it in order.
	Each func(n int, do func(i int))
	// Noted are heads of chains that were noted down outside the archive.
	Noted []NotedHead
}

// NotedHead is how far a chain of the archive went.
type NotedHead struct {
	File string // such as reviews.jsonl
	Head archive.ChainHead
}

// ParseNoted reads a head as it can be noted down, "reviews.jsonl 12 HASH".
func ParseNoted(text string) (NotedHead, error) {
	file, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	head, err := archive.ParseHead(rest)
	if !slices.Contains([]string{archive.ReviewsFile, RetentionFile, LookUpsFile}, file) {
		err = fmt.Errorf("%q is none of %s, %s and %s", file, archive.ReviewsFile, RetentionFile, LookUpsFile)
	}
	return NotedHead{file, head}, err
}

func (n NotedHead) String() string { return n.File + " " + n.Head.String() }

func (o *VerifyOptions) each(n int, do func(i int)) {
	if o.Each != nil {
		o.Each(n, do)
		return
	}
	for i := range n {
		do(i)
	}
}

// Verified is what Verify found.
type Verified struct {
	// Differences are in the order of the files; none means that all that can
	// be checked is as it was written.
	Differences []Difference
	// Notes are what could not be checked, and why.
	Notes []string
	// How many of each were checked.
	Flights, Clips, Pages, Profiles, Runs, Tables, Reviews, Lookups, Recordings int
	// Heads are how far the sound chains that have lines go.
	Heads []NotedHead
	// NotAtHand counts the recordings of flights that were not among the files
	// given.
	NotAtHand int
}

// Verify computes every hash of an archive anew and says what differs, file by
// file:
//
//	summary.json     its hash in the run record, its key, its attempt IDs
//	clip.parquet     its hash in the summary
//	summary.html     and the other pages: the hash in their last line
//	profiles/        the hash in the name; every profile that was used is there
//	tables/          their hashes in the run record, their rows made anew; sightings from the others
//	runs/            the hash in their last field
//	reviews.jsonl    the chain, its head, and that it goes through where runs saw it
//	retention.jsonl, lookups.jsonl   the chain and its head
//	aggregate.json, tables/aggregate/   their hash in the log of retention
//	keys/            that each leads to the flight of its key
//	recordings       those at hand: their hash in the summary
//	README.txt, schema/   the text of this program, or their hash in the latest run record
//
// Locks and files of writers that were killed are not checked; the latter are
// told in the notes. The error is for an
// archive that cannot be walked.
func Verify(a *archive.Archive, o VerifyOptions) (*Verified, error) {
	v := &verifier{a: a, options: o, files: map[string]bool{}, bad: map[string]bool{}, profiles: map[string]string{}}
	if err := v.inventory(); err != nil {
		return nil, err
	}
	var err error
	if v.runs, err = a.RunsByStart(); err != nil {
		return nil, err
	}
	if v.seals, err = a.Seals(); err != nil {
		return nil, err
	}
	v.chains()
	v.flights()
	v.lost()
	v.others()
	v.runRecords()
	v.tables()
	slices.SortStableFunc(v.out.Differences, func(x, y Difference) int { return strings.Compare(x.Where, y.Where) })
	return &v.out, nil
}

// verifier is the state of one Verify.
type verifier struct {
	a       *archive.Archive
	options VerifyOptions
	files   map[string]bool // of the archive, by path relative to it
	runs    []archive.Run
	seals   map[string]archive.RecordingLine
	// bad are flight folders whose summary is not what it was; profiles the
	// hashes that summaries name, with one of the folders.
	bad      map[string]bool
	profiles map[string]string
	keys     map[string]string // key: flight folder
	chained  map[string]bool   // files that chains have dealt with
	out      Verified
}

func (v *verifier) differ(where, what string, args ...any) {
	v.out.Differences = append(v.out.Differences, Difference{where, fmt.Sprintf(what, args...)})
}

func (v *verifier) note(text string, args ...any) {
	v.out.Notes = append(v.out.Notes, fmt.Sprintf(text, args...))
}

// inventory lists the files. What begins with a dot is a lock, or was left by
// a writer that was killed; neither is a result.
func (v *verifier) inventory() error {
	root := v.a.Dir()
	return filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return fmt.Errorf("verify: %w", err)
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return fmt.Errorf("verify: %w", err)
		}
		rel = filepath.ToSlash(rel)
		hidden := strings.HasPrefix(d.Name(), ".") && rel != "."
		switch {
		case hidden && d.IsDir():
			if d.Name() != ".locks" {
				v.note("%s is not checked: it waits for `collect`", rel)
			}
			return filepath.SkipDir
		case hidden:
			v.note("%s is not checked: a writer that was stopped left it; the next run clears it away", rel)
		case !d.IsDir():
			v.files[rel] = true
		}
		return nil
	})
}

// sorted are the files whose path begins so, in order.
func (v *verifier) sorted(prefix string) []string {
	var out []string
	for _, f := range slices.Sorted(maps.Keys(v.files)) {
		if strings.HasPrefix(f, prefix) {
			out = append(out, f)
		}
	}
	return out
}

// lost names the flights that a run recorded and that are gone. The same
// result in another folder came when the recording was given another name.
func (v *verifier) lost() {
	for _, folder := range slices.Sorted(maps.Keys(v.seals)) {
		file := path.Join(folder, archive.SummaryFile)
		if v.files[file] {
			continue
		}
		key := v.seals[folder].Key
		if _, elsewhere := v.keys[key]; !elsewhere {
			v.differ(file, "is missing; a run recorded it with the hash %s", v.seals[folder].Summary)
		}
	}
	for _, hash := range slices.Sorted(maps.Keys(v.profiles)) {
		if file := "profiles/" + hash + ".yaml"; !v.files[file] {
			v.differ(file, "is missing; %s was judged with it", v.profiles[hash])
		}
	}
}
