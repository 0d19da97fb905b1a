package evidence

import (
	"archive/zip"
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// maxBundleFile bounds a file of a bundle when it is unpacked, so that a small
// zip cannot fill the memory; maxBundleFiles bounds how many there are.
const (
	maxBundleFile  = 256 << 20
	maxBundleFiles = 10000
)

// CheckBundle holds a bundle to its own manifest: every file is listed and has
// the hash that is listed, every listed file is there, each flight has its
// five files, its summary names the hashes of its clip and profile, and the
// signature, where there is one, is that of the key in it. What differs is
// listed; the error is for a file that is no bundle or cannot be read. Whose
// the key is, BundleSigner and the reader must tell.
func CheckBundle(file string) ([]Difference, error) {
	b, err := openBundle(file)
	if err != nil {
		return nil, err
	}
	b.checkSums()
	b.checkManifest()
	b.checkFlights()
	b.checkSignature()
	return b.found, nil
}

// BundleSigner is the fingerprint of the key that signed a bundle, "" when it
// is not signed.
func BundleSigner(file string) (string, error) {
	b, err := openBundle(file)
	if err != nil {
		return "", err
	}
	if _, signed := b.files[signatureFile]; !signed {
		return "", nil
	}
	key, err := b.signer()
	if err != nil {
		return "", err
	}
	return Fingerprint(key), nil
}

// opened is a bundle that was read, and what was found wrong with it.
type opened struct {
	files    map[string][]byte
	manifest Manifest
	found    []Difference
}

func (b *opened) differ(where, what string, args ...any) {
	b.found = append(b.found, Difference{Where: where, What: fmt.Sprintf(what, args...)})
}

// openBundle unpacks a bundle into memory. A file whose bytes the zip itself
// knows to be damaged is a difference and not the end.
func openBundle(file string) (*opened, error) {
	z, err := zip.OpenReader(file)
	if err != nil {
		return nil, fmt.Errorf("%s is no bundle: %w; take it from its source again", file, err)
	}
	defer z.Close()
	if len(z.File) > maxBundleFiles {
		return nil, fmt.Errorf("%s holds %d files, which no bundle does", file, len(z.File))
	}
	b := &opened{files: map[string][]byte{}}
	for _, f := range z.File {
		if _, twice := b.files[f.Name]; twice {
			b.differ(f.Name, "is in the zip twice")
			continue
		}
		text, err := unpack(f)
		if err != nil {
			b.differ(f.Name, "cannot be unpacked: %v", err)
		}
		b.files[f.Name] = text
	}
	text, ok := b.files[manifestFile]
	if !ok {
		return nil, fmt.Errorf("%s is no bundle: it has no %s", file, manifestFile)
	}
	// A manifest that cannot be read is a difference: its hash tells the same.
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&b.manifest); err != nil {
		b.differ(manifestFile, "cannot be read: %v", err)
	} else if b.manifest.Schema != BundleSchema {
		b.differ(manifestFile, "has the layout %d; this program knows %d", b.manifest.Schema, BundleSchema)
	}
	return b, nil
}

func unpack(f *zip.File) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(r, maxBundleFile+1))
	if len(text) > maxBundleFile {
		err = fmt.Errorf("larger than %d MiB", maxBundleFile>>20)
	}
	return text, errors.Join(err, r.Close())
}

// checkSums does what `sha256sum -c` does, and says which files are not listed.
func (b *opened) checkSums() {
	listed := map[string]bool{sumsFile: true, signatureFile: true}
	for line := range strings.Lines(string(b.files[sumsFile])) {
		hash, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		text, there := b.files[name]
		switch {
		case !ok:
			b.differ(sumsFile, "line %q is no hash and name", strings.TrimSpace(line))
		case !there:
			b.differ(name, "is listed in %s and missing", sumsFile)
		case hashOf(text) != hash:
			b.differ(name, "has the hash %s, %s lists %s", hashOf(text), sumsFile, hash)
		}
		listed[name] = true
	}
	for _, name := range b.names() {
		if !listed[name] {
			b.differ(name, "is not listed in %s", sumsFile)
		}
	}
}

func (b *opened) names() []string {
	names := make([]string, 0, len(b.files))
	for name := range b.files {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// checkManifest compares the list of the manifest with the files.
func (b *opened) checkManifest() {
	listed := map[string]bool{manifestFile: true, sumsFile: true, signatureFile: true}
	for _, f := range b.manifest.Files {
		text, there := b.files[f.File]
		switch {
		case !there:
			b.differ(f.File, "is in the manifest and missing")
		case hashOf(text) != f.SHA256 || len(text) != f.Bytes:
			b.differ(f.File, "is not as the manifest says")
		}
		listed[f.File] = true
	}
	for _, name := range b.names() {
		if !listed[name] {
			b.differ(name, "is not in the manifest")
		}
	}
	if len(b.manifest.Events) == 0 {
		b.differ(manifestFile, "names no event")
	}
}

// checkFlights holds every folder to its summary.
func (b *opened) checkFlights() {
	for _, e := range b.manifest.Events {
		in := func(name string) []byte { return b.files[path.Join(e.Folder, name)] }
		for _, name := range []string{bundlePage, archive.SummaryFile, archive.ClipFile, bundleCSV, bundleProfile} {
			if in(name) == nil {
				b.differ(path.Join(e.Folder, name), "is missing; every flight has one")
			}
		}
		var s archive.Summary
		if err := json.Unmarshal(in(archive.SummaryFile), &s); err != nil {
			b.differ(path.Join(e.Folder, archive.SummaryFile), "cannot be read: %v", err)
			continue
		}
		if s.Clip == nil || s.Clip.SHA256 != hashOf(in(archive.ClipFile)) {
			b.differ(path.Join(e.Folder, archive.ClipFile), "is not the clip of the summary")
		}
		if s.Profile.SHA256 != hashOf(in(bundleProfile)) {
			b.differ(path.Join(e.Folder, bundleProfile), "is not the profile of the summary")
		}
		if !slices.ContainsFunc(s.Attempts, func(a archive.AttemptSummary) bool { return a.ID == e.ID }) {
			b.differ(path.Join(e.Folder, archive.SummaryFile), "does not hold the event %s", e.ID)
		}
	}
}

// checkSignature checks the signature with the key that came with it. A
// manifest that names a signer asks for a signature: one that was taken out
// is told from a bundle that never had one.
func (b *opened) checkSignature() {
	signature, signed := b.files[signatureFile]
	if !signed {
		if b.manifest.Signer != "" {
			b.differ(signatureFile, "is missing; the manifest says that the bundle is signed")
		}
		return
	}
	key, err := b.signer()
	switch {
	case err != nil:
		b.differ(signerFile, "%v", err)
	case !ed25519.Verify(key, b.files[sumsFile], signature):
		b.differ(signatureFile, "is not the signature of %s", hex.EncodeToString(key)[:16])
	case Fingerprint(key) != b.manifest.Signer:
		b.differ(signerFile, "is not the key that the manifest names")
	}
}

func (b *opened) signer() (ed25519.PublicKey, error) {
	block, _ := pem.Decode(b.files[signerFile])
	if block == nil {
		return nil, errors.New("holds no public key")
	}
	return parsePublic(block.Bytes)
}
