package archive

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollonset/detect"
)

func create(t *testing.T) *Archive {
	t.Helper()
	a, err := Create(filepath.Join(t.TempDir(), "archive"))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// other is the assessment of another recording: other bytes, flight and day.
func other(flight, date, hash string) *detect.Assessment {
	a := testAssessment()
	a.Recording.Identity.Flight, a.Recording.Identity.Date = flight, date
	a.Recording.Source.SHA256 = strings.Repeat(hash, 32)
	a.Recording.Source.Path = flight + ".csv"
	return a
}

func publish(t *testing.T, a *Archive, asm *detect.Assessment) Summary {
	t.Helper()
	s, err := a.Publish(asm, versions, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// tree lists every file of the archive with the hash of its bytes.
func tree(t *testing.T, a *Archive) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(a.Dir(), func(file string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(a.Dir(), file)
		sum := sha256.Sum256([]byte(content(t, file)))
		files[filepath.ToSlash(rel)] = hex.EncodeToString(sum[:])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestPublish(t *testing.T) {
	a := create(t)
	asm := testAssessment()
	var shown Summary
	s, err := a.Publish(asm, versions, func(w io.Writer, s Summary) error {
		shown = s
		_, err := io.WriteString(w, "<p>page</p>")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	files := tree(t, a)
	for _, want := range []string{
		"README.txt", "schema/summary.schema.json", "keys/" + s.Key[:2] + "/" + s.Key,
		s.Flight.Folder + "/clip.parquet", s.Flight.Folder + "/summary.html", s.Flight.Folder + "/summary.json",
	} {
		if files[want] == "" {
			t.Errorf("%s is missing", want)
		}
	}
	if len(files) != 6 {
		t.Errorf("files %v", files)
	}
	if s.Clip == nil || s.Clip.SHA256 != files[s.Flight.Folder+"/clip.parquet"] {
		t.Errorf("clip %v is not the hash of the file", s.Clip)
	}
	for name, got := range map[string]Summary{"page": shown, "disk": mustRead(t, a, s.Flight.Folder)} {
		if diff := cmp.Diff(s, got); diff != "" {
			t.Errorf("summary of the %s differs (-returned +%s):\n%s", name, name, diff)
		}
	}
	if _, err := a.Publish(asm, versions, nil); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(files, tree(t, a)); diff != "" {
		t.Errorf("publishing again changed the archive:\n%s", diff)
	}
}

func mustRead(t *testing.T, a *Archive, folder string) Summary {
	t.Helper()
	s, err := a.Read(folder)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestPublishWithoutWindows(t *testing.T) {
	a := create(t)
	asm := testAssessment()
	asm.Windows = nil
	s := publish(t, a, asm)
	if s.Clip != nil {
		t.Errorf("clip %v, want none", s.Clip)
	}
	if got := names(t, a.Path(s.Flight.Folder)); !slices.Equal(got, []string{SummaryFile}) {
		t.Errorf("files %v", got)
	}
}

// A page that fails leaves no summary, so the flight is not done, and the
// next run finishes it.
func TestPublishFails(t *testing.T) {
	a := create(t)
	asm := testAssessment()
	broken := errors.New("no template")
	if _, err := a.Publish(asm, versions, func(io.Writer, Summary) error { return broken }); !errors.Is(err, broken) {
		t.Fatalf("error %v", err)
	}
	s := Summarise(asm, versions)
	if _, ok, err := a.Done(s.Key); ok || err != nil {
		t.Errorf("done %v, %v after a failure", ok, err)
	}
	for folder, err := range a.Folders() {
		t.Errorf("an incomplete folder is listed: %s, %v", folder, err)
	}
	publish(t, a, asm)
	if folder, ok, err := a.Done(s.Key); folder != s.Flight.Folder || !ok || err != nil {
		t.Errorf("done %s %v, %v", folder, ok, err)
	}
}

func TestPublishKeepsAnotherResult(t *testing.T) {
	a := create(t)
	s := publish(t, a, testAssessment())
	file := a.Path(path.Join(s.Flight.Folder, SummaryFile))
	changed := strings.Replace(content(t, file), s.Key, strings.Repeat("0", 64), 1)
	if err := os.WriteFile(file, []byte(changed), 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Publish(testAssessment(), versions, nil); err == nil || !strings.Contains(err.Error(), "already holds the result of") {
		t.Errorf("error %v", err)
	}
	if content(t, file) != changed {
		t.Error("the other result was touched")
	}
}

func TestDone(t *testing.T) {
	a := create(t)
	s := publish(t, a, testAssessment())
	check := func(what string, want bool) {
		t.Helper()
		if folder, ok, err := a.Done(s.Key); ok != want || err != nil || ok && folder != s.Flight.Folder {
			t.Errorf("%s: %q, %v, %v; want %v", what, folder, ok, err, want)
		}
	}
	check("published", true)
	if _, ok, err := a.Done(key0); ok || err != nil {
		t.Errorf("a key that was never published: %v, %v", ok, err)
	}
	if _, _, err := a.Done("../../etc"); err == nil {
		t.Error("a key that is none passed")
	}
	lookup := a.Path(keyPath(s.Key))
	for name, damage := range map[string]string{"empty": "", "without its end": s.Flight.Folder, "hostile": "../../../etc\n", "long": strings.Repeat("x", 1<<20)} {
		if err := os.WriteFile(lookup, []byte(damage), 0o640); err != nil {
			t.Fatal(err)
		}
		check(name+" lookup", false)
	}
	if err := a.RebuildKeys(); err != nil {
		t.Fatal(err)
	}
	check("rebuilt", true)
	if err := os.RemoveAll(a.Path(keysDir)); err != nil {
		t.Fatal(err)
	}
	check("lookup deleted", false)
	if _, err := Create(a.Dir()); err != nil {
		t.Fatal(err)
	}
	check("opened again", true)
	if err := os.Remove(a.Path(path.Join(s.Flight.Folder, SummaryFile))); err != nil {
		t.Fatal(err)
	}
	check("summary deleted", false)
}

func TestCreateAndOpen(t *testing.T) {
	dir := t.TempDir()
	if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), "is not an archive") {
		t.Errorf("open of an empty folder: %v", err)
	}
	if _, err := Open(filepath.Join(dir, "none")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("open of nothing: %v", err)
	}
	if err := os.WriteFile(filepath.Join(dir, "letter.txt"), nil, 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := Create(dir); err == nil || !strings.Contains(err.Error(), "not empty and not an archive") {
		t.Errorf("create in a home: %v", err)
	}
	if got := names(t, dir); !slices.Equal(got, []string{"letter.txt"}) {
		t.Errorf("files %v", got)
	}
	a := create(t)
	if _, err := Open(a.Dir()); err != nil {
		t.Error(err)
	}
	if n := strings.Count(readmeText, "\n"); n > 15 || !strings.Contains(readmeText, "CAUTION") {
		t.Errorf("README.txt has %d lines", n)
	}
}

func TestProfile(t *testing.T) {
	a := create(t)
	p := testProfile()
	if err := a.KeepProfile(p); err != nil {
		t.Fatal(err)
	}
	if got, err := a.Profile(p.SHA256); err != nil || string(got) != string(p.Source) {
		t.Errorf("profile %q, %v", got, err)
	}
	if err := os.WriteFile(a.Path(profilePath(p.SHA256)), []byte("changed"), 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Profile(p.SHA256); err == nil || !strings.Contains(err.Error(), "was changed after it was kept") {
		t.Errorf("error %v", err)
	}
	if _, err := a.Profile("../x"); err == nil {
		t.Error("a hostile hash passed")
	}
	p.Source = []byte("other")
	if err := a.KeepProfile(p); err == nil || !strings.Contains(err.Error(), "read the profile again") {
		t.Errorf("error %v", err)
	}
}
