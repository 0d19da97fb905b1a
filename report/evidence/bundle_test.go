package evidence

import (
	"archive/zip"
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollonset/ingest"
	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/report/archive"
)

// plainPage stands in for the page package, which this one does not know: it
// prints all that a page may show.
func plainPage(w io.Writer, f Flight) error {
	text, err := jsonOf(f.Summary)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "<p>%s</p>%+v", text, f.Clip.Identity)
	return err
}

func signer() ed25519.PrivateKey { return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{3}, 32)) }

// bundleOf writes a bundle of the flights and gives its path.
func bundleOf(t *testing.T, flights []Flight, from *archive.Archive, o BundleOptions) string {
	t.Helper()
	o.Versions, o.Page = nightVersions, plainPage
	var parts []Part
	for _, f := range flights {
		parts = append(parts, Part{Flight: f, From: from})
	}
	file := filepath.Join(t.TempDir(), "bundle.zip")
	err := archive.WriteFile(file, func(w io.Writer) error { return WriteBundle(w, parts, o) })
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// somebody is two flights with attempts, one of them a reject.
func somebody(t *testing.T) []Flight {
	t.Helper()
	flights, _ := all(t, night(t))
	var out []Flight
	for _, f := range flights {
		if len(f.Summary.Attempts) > 0 && (len(out) == 0 || f.Summary.Attempts[0].Reject != nil) {
			out = append(out, f)
		}
		if len(out) == 2 {
			return out
		}
	}
	t.Fatal("the night has no reject")
	return nil
}

func TestBundle(t *testing.T) {
	flights := somebody(t)
	for _, o := range []BundleOptions{{}, {Signer: signer()}} {
		file := bundleOf(t, flights, night(t), o)
		if found, err := CheckBundle(file); err != nil || len(found) > 0 {
			t.Errorf("a fresh bundle differs: %v %v", found, err)
		}
		again := bundleOf(t, flights, night(t), o)
		a, _ := os.ReadFile(file)
		b, _ := os.ReadFile(again)
		if len(a) == 0 || !bytes.Equal(a, b) {
			t.Error("the same bundle twice has other bytes")
		}
		name, err := BundleSigner(file)
		if err != nil || (name != "") != (o.Signer != nil) {
			t.Errorf("signed by %q, %v", name, err)
		}
		copied := bundleNames(t, file)
		clip, err := os.ReadFile(night(t).Path(flights[0].Summary.Flight.Folder + "/" + archive.ClipFile))
		if err != nil || !bytes.Equal(copied[flights[0].Summary.Key[:folderDigits]+"/"+archive.ClipFile], clip) {
			t.Errorf("the clip is not that of the archive: %v", err)
		}
	}
}

func bundleNames(t *testing.T, file string) map[string][]byte {
	t.Helper()
	b, err := openBundle(file)
	if err != nil {
		t.Fatal(err)
	}
	return b.files
}

// unpackTo writes the files of a bundle into a folder, as a stranger would.
func unpackTo(t *testing.T, file string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range bundleNames(t, file) {
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// TestWithoutUs verifies a bundle with the tools of the system alone.
func TestWithoutUs(t *testing.T) {
	dir := unpackTo(t, bundleOf(t, somebody(t), night(t), BundleOptions{Signer: signer()}))
	for _, args := range [][]string{
		{"sha256sum", "-c", "--strict", sumsFile},
		{"openssl", "pkeyutl", "-verify", "-pubin", "-inkey", signerFile, "-rawin", "-in", sumsFile, "-sigfile", signatureFile},
	} {
		if _, err := exec.LookPath(args[0]); err != nil {
			t.Logf("no %s on this machine: its check was not made", args[0])
			continue
		}
		cmd := exec.Command(args[0], args[1:]...)
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", strings.Join(args, " "), err, out)
		}
	}
}

// TestReplayBundle: the clip and the profile of a bundle, plain or not, give
// the findings of its summary.
func TestReplayBundle(t *testing.T) {
	flights := somebody(t)
	_, census := all(t, night(t))
	var covered []Flight
	for _, f := range flights {
		copies, err := Cover{Key: testKey(t, 1), Groups: census.Groups(5)}.Deidentify(f, nightVersions, nil)
		if err != nil {
			t.Fatal(err)
		}
		covered = append(covered, copies...)
	}
	for _, file := range []string{bundleOf(t, flights, night(t), BundleOptions{}), bundleOf(t, covered, nil, BundleOptions{Deidentified: true})} {
		dir := unpackTo(t, file)
		folders, err := filepath.Glob(filepath.Join(dir, "*", archive.ClipFile))
		if err != nil || len(folders) != 2 {
			t.Fatalf("%d clips, %v", len(folders), err)
		}
		for _, clip := range folders {
			prof, err := profile.Load(filepath.Join(filepath.Dir(clip), bundleProfile))
			if err != nil {
				t.Fatal(err)
			}
			rec, prof, err := ingest.Open(clip, []*profile.Profile{prof}, ingest.Options{})
			if err != nil {
				t.Fatal(err)
			}
			is := archive.Summarise(Flight{Clip: rec, Profile: prof}.Assess(), nightVersions)
			// Counts over the whole recording cannot come out of a clip; what was
			// judged must.
			var was archive.Summary
			if err := json.Unmarshal(mustRead(t, filepath.Join(filepath.Dir(clip), archive.SummaryFile)), &was); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(was.Attempts, is.Attempts); diff != "" || len(was.Attempts) == 0 || was.Key != is.Key {
				t.Errorf("%s: replayed, the attempts are others:\n%s", clip, diff)
			}
		}
	}
}

func mustRead(t *testing.T, file string) []byte {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestChangedBundle: any one byte changed in any file of a bundle is found,
// and so are a file more, a file less, and a signature less.
func TestChangedBundle(t *testing.T) {
	good := bundleOf(t, somebody(t)[:1], night(t), BundleOptions{Signer: signer()})
	files := bundleNames(t, good)
	b, err := openBundle(good)
	if err != nil {
		t.Fatal(err)
	}
	names := b.names()
	dir := t.TempDir()
	check := func(change func(map[string][]byte)) []Difference {
		changed := map[string][]byte{}
		for n, text := range files {
			changed[n] = text
		}
		change(changed)
		file := filepath.Join(dir, "changed.zip")
		zipTo(t, file, changed)
		found, err := CheckBundle(file)
		if err != nil {
			return []Difference{{What: err.Error()}}
		}
		return found
	}
	if found := check(func(map[string][]byte) {}); len(found) > 0 {
		t.Fatalf("nothing was changed and %v found", found)
	}
	rapid.Check(t, func(rt *rapid.T) {
		name := rapid.SampledFrom(names).Draw(rt, "file")
		at := rapid.IntRange(0, len(files[name])-1).Draw(rt, "byte")
		flip := rapid.ByteRange(1, 255).Draw(rt, "flip")
		found := check(func(m map[string][]byte) {
			m[name] = bytes.Clone(m[name])
			m[name][at] ^= flip
		})
		if len(found) == 0 {
			rt.Fatalf("byte %d of %s was changed and nothing found", at, name)
		}
	})
	for _, name := range names {
		if found := check(func(m map[string][]byte) { delete(m, name) }); len(found) == 0 {
			t.Errorf("%s was taken out and nothing found", name)
		}
	}
	if found := check(func(m map[string][]byte) { m["more.txt"] = []byte("x") }); len(found) == 0 {
		t.Error("a file was added and nothing found")
	}
}

func zipTo(t *testing.T, file string, files map[string][]byte) {
	t.Helper()
	var buffer bytes.Buffer
	z := zip.NewWriter(&buffer)
	for name, text := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(text); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, buffer.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestNoIdentityInBundle greps every byte of de-identified bundles of the
// whole night for every identity of the whole night: file names, zip headers,
// files as packed and unpacked, and the clips decoded cell by cell.
func TestNoIdentityInBundle(t *testing.T) {
	flights, census := all(t, night(t))
	words := &Words{}
	for _, f := range flights {
		words.Add(f.Summary)
	}
	cover := Cover{Key: testKey(t, 9), Groups: census.Groups(5)}
	var covered []Flight
	for _, f := range flights {
		copies, err := cover.Deidentify(f, nightVersions, nil)
		if err != nil {
			t.Fatal(err)
		}
		covered = append(covered, copies...)
	}
	file := bundleOf(t, covered, nil, BundleOptions{Deidentified: true, Forbidden: words})
	if found := words.In(mustRead(t, file)); len(found) > 0 {
		t.Errorf("the zip as it is holds %q", found)
	}
	dir := unpackTo(t, file)
	err := filepath.WalkDir(dir, func(p string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, _ := filepath.Rel(dir, p)
		text := append([]byte(rel+"\n"), mustRead(t, p)...)
		if filepath.Ext(p) == ".parquet" {
			text = append(text, decoded(t, p)...)
		}
		if found := words.In(text); len(found) > 0 {
			t.Errorf("%s holds %q", rel, found)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range covered {
		for _, p := range []flightdata.Parameter{flightdata.Latitude, flightdata.Longitude} {
			if f.Clip.Has(p) {
				t.Errorf("a copy holds the %s", p)
			}
		}
	}
}
