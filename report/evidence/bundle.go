package evidence

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/ed25519"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// The files of a bundle. Each flight has a folder with the last five.
const (
	sumsFile      = "SHA256SUMS"
	signatureFile = "SHA256SUMS.sig"
	signerFile    = "signer.pub"
	manifestFile  = "manifest.json"
	readmeFile    = "README.txt"

	bundlePage    = "page.html"
	bundleCSV     = "clip.csv"
	bundleProfile = "profile.yaml"
)

// BundleSchema is the version of the layout of a bundle.
const BundleSchema = 1

//go:embed bundle-readme.txt
var bundleReadme string

// Manifest is manifest.json of a bundle.
type Manifest struct {
	Schema       int           `json:"schema"`
	Caution      string        `json:"caution"`
	Program      string        `json:"program"`
	Detection    string        `json:"detection"`
	Deidentified bool          `json:"deidentified"`
	Signer       string        `json:"signer"` // fingerprint of the public key, "" when not signed
	Events       []BundleEvent `json:"events"`
	Files        []BundleFile  `json:"files"` // all but this, SHA256SUMS and its signature
	Verify       []string      `json:"verify"`
}

// BundleEvent is an attempt in a bundle.
type BundleEvent struct {
	ID     string `json:"id"`
	Folder string `json:"folder"`
}

// BundleFile is a file of a bundle.
type BundleFile struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
	Bytes  int    `json:"bytes"`
	Holds  string `json:"holds"`
}

// Part is one flight of a bundle.
type Part struct {
	Flight Flight
	// Events are the IDs of the attempts that were asked for, in this flight's
	// own IDs; nil stands for all of them.
	Events []string
	// From is the archive whose files are copied; nil for a de-identified
	// flight, whose files are made.
	From *archive.Archive
}

// BundleOptions are what a bundle takes beside its flights.
type BundleOptions struct {
	Versions     archive.Versions
	Deidentified bool
	Signer       ed25519.PrivateKey // nil: not signed
	// Page writes the page of a flight.
	Page func(io.Writer, Flight) error
	// Forbidden are looked for in every file before anything is written; one
	// that is found is an error. Nil looks for nothing.
	Forbidden *Words
}

// WriteBundle writes a zip that a stranger can verify with `sha256sum -c`
// alone, and replay with this program. The same parts give the same bytes:
// the zip holds no times, and the signature of Ed25519 is deterministic.
func WriteBundle(w io.Writer, parts []Part, o BundleOptions) error {
	b := &bundle{options: o, seen: map[string]bool{}}
	if len(parts) == 0 {
		return errors.New("a bundle needs at least one event")
	}
	for _, p := range parts {
		if err := b.part(p); err != nil {
			return err
		}
	}
	if err := b.head(); err != nil {
		return err
	}
	if o.Forbidden != nil {
		if err := b.search(); err != nil {
			return err
		}
	}
	return b.write(w)
}

// bundle collects the files of a bundle. They are small: a clip is some
// hundreds of kilobytes.
type bundle struct {
	options  BundleOptions
	files    []bundled
	manifest Manifest
	seen     map[string]bool
}

type bundled struct {
	name, holds string
	bytes       []byte
}

func (b *bundle) add(name, holds string, text []byte) {
	b.files = append(b.files, bundled{name, holds, text})
}

// part adds the folder of a flight.
func (b *bundle) part(p Part) error {
	f, err := b.filesOf(p)
	if err != nil {
		return fmt.Errorf("bundle %s: %w", p.Flight.Summary.Flight.Folder, err)
	}
	folder := p.Flight.Summary.Key[:folderDigits]
	if b.seen[folder] {
		return fmt.Errorf("%s is asked for twice; name each event once", p.Flight.Summary.Flight.Folder)
	}
	b.seen[folder] = true
	for _, one := range f {
		b.add(path.Join(folder, one.name), one.holds, one.bytes)
	}
	for i := range p.Flight.Summary.Attempts {
		id := p.Flight.Summary.Attempts[i].ID
		if p.Events == nil || slices.Contains(p.Events, id) {
			b.manifest.Events = append(b.manifest.Events, BundleEvent{ID: id, Folder: folder})
		}
	}
	return nil
}

// folderDigits is how much of a key names a folder, as in the ID of an event.
const folderDigits = 12

// filesOf makes the five files of a flight. What the archive holds is copied
// byte for byte, so that hashes that were noted elsewhere still fit.
func (b *bundle) filesOf(p Part) ([]bundled, error) {
	f := p.Flight
	if f.Clip == nil {
		return nil, errors.New("no clip was kept, because no takeoff attempt was found; there is nothing to prove")
	}
	var clip, summary []byte
	var err error
	if p.From != nil {
		if clip, err = os.ReadFile(p.From.Path(path.Join(f.Summary.Flight.Folder, f.Summary.Clip.File))); err != nil {
			return nil, err
		}
		if summary, err = os.ReadFile(p.From.Path(path.Join(f.Summary.Flight.Folder, archive.SummaryFile))); err != nil {
			return nil, err
		}
	} else if clip, summary, err = f.encode(b.options.Versions); err != nil {
		return nil, err
	}
	f.Summary.Clip = &archive.FileHash{File: archive.ClipFile, SHA256: hashOf(clip)}
	var page, csv bytes.Buffer
	if err := b.options.Page(&page, f); err != nil {
		return nil, err
	}
	if err := archive.WriteClipCSV(&csv, f.Clip, f.Clip.Windows); err != nil {
		return nil, err
	}
	return []bundled{
		{bundlePage, "the page of the flight, for any browser", page.Bytes()},
		{archive.SummaryFile, "what was found, for programs", summary},
		{archive.ClipFile, "the samples that prove it, as Parquet; can be replayed", clip},
		{bundleCSV, "the same samples as a table", csv.Bytes()},
		{bundleProfile, "the limits that were applied", f.Profile.Source},
	}, nil
}

// encode makes the clip and the summary of a flight that lies in no archive.
// The summary carries the hash of the clip.
func (f Flight) encode(v archive.Versions) (clip, summary []byte, err error) {
	var c bytes.Buffer
	if err := archive.WriteAssessedClip(&c, f.Assess(), v); err != nil {
		return nil, nil, err
	}
	f.Summary.Clip = &archive.FileHash{File: archive.ClipFile, SHA256: hashOf(c.Bytes())}
	summary, err = jsonOf(f.Summary)
	return c.Bytes(), summary, err
}

func hashOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// jsonOf writes JSON as the archive does: indented, "<" as it is.
func jsonOf(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(v)
	return b.Bytes(), err
}

// head adds what is about the bundle as a whole: the instructions, the key,
// the manifest, the hashes of all of them, and the signature over those.
func (b *bundle) head() error {
	b.add(readmeFile, "how to verify and replay", []byte(bundleReadme))
	m := &b.manifest
	m.Schema, m.Caution = BundleSchema, archive.Caution
	m.Program, m.Detection = b.options.Versions.Program, b.options.Versions.Detection
	m.Deidentified = b.options.Deidentified
	m.Verify = []string{"sha256sum -c " + sumsFile}
	if key := b.options.Signer; key != nil {
		public := key.Public().(ed25519.PublicKey)
		text, err := publicText(public)
		if err != nil {
			return err
		}
		b.add(signerFile, "the public key of the signature", text)
		m.Signer = Fingerprint(public)
		m.Verify = append(m.Verify, "openssl pkeyutl -verify -pubin -inkey "+signerFile+" -rawin -in "+sumsFile+" -sigfile "+signatureFile)
	}
	for _, f := range b.files {
		m.Files = append(m.Files, BundleFile{File: f.name, SHA256: hashOf(f.bytes), Bytes: len(f.bytes), Holds: f.holds})
	}
	text, err := jsonOf(m)
	if err != nil {
		return fmt.Errorf("manifest of the bundle: %w", err)
	}
	b.add(manifestFile, "", text)
	sums := b.sums()
	b.add(sumsFile, "", sums)
	if key := b.options.Signer; key != nil {
		b.add(signatureFile, "", ed25519.Sign(key, sums))
	}
	return nil
}

// sums is the list that `sha256sum -c` reads: the hash, two spaces, the name.
// The names are ours and need no escaping.
func (b *bundle) sums() []byte {
	var text bytes.Buffer
	for _, f := range b.files {
		fmt.Fprintf(&text, "%s  %s\n", hashOf(f.bytes), f.name)
	}
	return text.Bytes()
}

// search looks for identity in every file and every name before a byte of the
// bundle is written. The clip is compressed; its samples are in the CSV and
// its metadata were made from the same copy, so the decoded clip is looked
// through as well by those who can decode it, the tests.
func (b *bundle) search() error {
	for _, f := range b.files {
		if found := b.options.Forbidden.In(append([]byte(f.name+"\n"), f.bytes...)); len(found) > 0 {
			return fmt.Errorf("%s would show %s; nothing was written. Look for it in the profile's titles and names of checks, and take it out there", f.name, strings.Join(found, ", "))
		}
	}
	return nil
}

// write writes the zip, files in the order of their names.
func (b *bundle) write(w io.Writer) error {
	slices.SortFunc(b.files, func(x, y bundled) int { return strings.Compare(x.name, y.name) })
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) {
		return flate.NewWriter(out, flate.BestCompression)
	})
	for _, f := range b.files {
		// A header without a time gives one without a time; a clip is
		// compressed already.
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate}
		if path.Ext(f.name) == path.Ext(archive.ClipFile) {
			h.Method = zip.Store
		}
		h.SetMode(0o644)
		to, err := z.CreateHeader(h)
		if err != nil {
			return fmt.Errorf("bundle: %w", err)
		}
		if _, err := to.Write(f.bytes); err != nil {
			return fmt.Errorf("bundle: %w", err)
		}
	}
	return z.Close()
}
