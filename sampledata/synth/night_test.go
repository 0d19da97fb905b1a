package synth_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollonset/ingest/profile"
	"rollonset/sampledata/synth"
	"rollonset/sampledata/truth"
)

var update = flag.Bool("update", false, "write the sample night anew")

const nightDir = "../night"

// The committed night is what the generator makes, byte for byte: nobody has
// touched it by hand, and the generator has not changed unseen.
func TestNightIsAsGenerated(t *testing.T) {
	dir := t.TempDir()
	if *update {
		dir = nightDir
		clearNight(t)
	}
	if err := synth.Night(fleet(t), dir); err != nil {
		t.Fatal(err)
	}
	made, kept := names(t, dir), names(t, nightDir)
	if !slices.Equal(made, kept) {
		t.Fatalf("files differ; run go test ./sampledata/synth -run Night -update and look at the difference\nmade %v\nkept %v", made, kept)
	}
	for _, name := range made {
		if !bytes.Equal(read(t, dir, name), read(t, nightDir, name)) {
			t.Errorf("%s is not what the generator makes", name)
		}
	}
}

func clearNight(t *testing.T) {
	t.Helper()
	for _, name := range names(t, nightDir) {
		if err := os.Remove(filepath.Join(nightDir, name)); err != nil {
			t.Fatal(err)
		}
	}
}

// names lists the made files of a folder, those of its folders with their path.
func names(t *testing.T, dir string) []string {
	t.Helper()
	var out []string
	for _, pattern := range []string{"*.csv", synth.RecordingsDir + "/*"} {
		found, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			rel, err := filepath.Rel(dir, f)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, filepath.ToSlash(rel))
		}
	}
	return out
}

func read(t *testing.T, dir, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func nightTruth(t *testing.T) []truth.Attempt {
	t.Helper()
	rows, err := truth.Read(bytes.NewReader(read(t, nightDir, synth.TruthFile)), synth.TruthFile)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// The night holds what it is for: every outcome, every check of every
// profile out of limits, every look-alike, every verdict, every format.
func TestNightHoldsEverything(t *testing.T) {
	rows := nightTruth(t)
	seen := map[string]bool{}
	for _, r := range rows {
		seen["outcome "+r.Outcome] = true
		seen["warning "+r.Warning] = true
		seen["class "+r.RejectClass] = true
		seen["V1 "+r.AgainstV1] = true
		seen["first action "+r.FirstActionBy] = true
		seen["untold"] = seen["untold"] || len(r.Untold) > 0
		for _, l := range r.LookAlikes {
			seen["look-alike "+l.Kind] = true
		}
		for _, c := range r.Out {
			seen[typeOf(t, r.File)+" "+c] = true
		}
		if _, ext, ok := strings.Cut(r.File, "."); ok {
			seen["format ."+ext] = true
		}
	}
	for _, w := range wanted(t) {
		if !seen[w] {
			t.Errorf("the night lacks %q", w)
		}
	}
}

func wanted(t *testing.T) []string {
	t.Helper()
	out := []string{"untold", "V1 before V1", "V1 after V1", "first action thrust", "first action brakes"}
	for _, o := range []string{truth.Airborne, truth.Rejected, truth.RejectedNoRoll, truth.TouchAndGo, truth.Undetermined} {
		out = append(out, "outcome "+o)
	}
	for _, w := range []string{truth.WarnBoth, truth.WarnNeither, truth.WarnCondition, truth.WarnOnly, truth.WarnUnknown} {
		out = append(out, "warning "+w)
	}
	for _, c := range []string{truth.BeforeRoll, truth.LowSpeed, truth.HighSpeed} {
		out = append(out, "class "+c)
	}
	for _, l := range []string{truth.RunUp, truth.TaxiBurst, truth.LandingRoll, truth.TooShort} {
		out = append(out, "look-alike "+l)
	}
	for _, f := range synth.Formats() {
		out = append(out, "format "+string(f))
	}
	for _, p := range fleet(t) {
		for _, c := range p.Checks {
			out = append(out, p.Name+" "+c.Name)
		}
	}
	return out
}

// typeOf tells the type by the tail in the file name: ZZ-Q, ZZ-J, ZZ-P.
func typeOf(t *testing.T, file string) string {
	t.Helper()
	for mark, name := range map[string]string{"ZZ-Q": "QX40", "ZZ-J": "TJ22", "ZZ-P": "TP08"} {
		if strings.Contains(file, mark) {
			return name
		}
	}
	t.Fatalf("%s names no tail of the fleet", file)
	return ""
}

// The night is small enough to live in a repository, and every recording has
// its line in the flight list and at least one in the truth.
func TestNightIsSmallAndListed(t *testing.T) {
	files := map[string]bool{}
	for _, r := range nightTruth(t) {
		files[r.File] = true
	}
	total, recordings := 0, 0
	for _, name := range names(t, nightDir) {
		total += len(read(t, nightDir, name))
		if name == synth.TruthFile || name == synth.ListFile {
			continue
		}
		recordings++
		if !files[filepath.Base(name)] {
			t.Errorf("%s has no truth", name)
		}
	}
	if total > 12<<20 || recordings < 36 {
		t.Errorf("%d recordings of %d bytes; want at least 36 and at most 12 MB", recordings, total)
	}
	if lines := bytes.Count(read(t, nightDir, synth.ListFile), []byte("\n")); lines != recordings+1 {
		t.Errorf("%d lines in the flight list for %d recordings", lines, recordings)
	}
}

// A profile that the night needs must be given.
func TestNightNeedsItsProfiles(t *testing.T) {
	err := synth.Night([]*profile.Profile{}, t.TempDir())
	if err == nil || !strings.Contains(err.Error(), "needs the profile QX40") {
		t.Errorf("got %v", err)
	}
}
