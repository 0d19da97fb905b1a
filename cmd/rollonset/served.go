package main

import (
	"crypto/hmac"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path"
	"regexp"
	"strings"
	"sync"
	"time"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
)

// server shows an archive. Every request passes the same gate: the host that
// it was made to, the secret, and, for a review, the page that it came from.
type server struct {
	archive *archive.Archive
	token   string // of the address and the cookie
	host    string // 127.0.0.1:port
	clock   func() time.Time
	writing sync.Mutex // one review at a time in this program

	drawing sync.Mutex // of the night page, which drawn is
	drawn   []byte
	drawnOf string // the state of page and reviews that it was drawn of
}

func newServer(a *archive.Archive, token, host string, clock func() time.Time) *server {
	return &server{archive: a, token: token, host: host, clock: clock}
}

// address is what the person opens.
func (s *server) address() string { return "http://" + s.host + "/?token=" + s.token }

// cookie is named after the port, because cookies of all ports of a host go
// into one jar.
func (s *server) cookie() string { return "rollonset-" + s.host[strings.LastIndexByte(s.host, ':')+1:] }

// formToken goes into the forms. It follows from the secret and is another
// one, so that a page that leaks does not give the address away.
func (s *server) formToken() string {
	h := hmac.New(sha256.New, []byte(s.token))
	h.Write([]byte("form"))
	return hex.EncodeToString(h.Sum(nil))
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// ServeHTTP is the gate.
func (s *server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY") // nobody frames a form and has it clicked
	h.Set("Cache-Control", "no-store")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	// A page elsewhere whose name was made to lead here still says that name.
	if r.Host != s.host {
		refuse(w, http.StatusForbidden, "This address is not served. Open the one that the program printed.")
		return
	}
	if s.letIn(w, r) {
		return
	}
	if c, err := r.Cookie(s.cookie()); err != nil || !same(c.Value, s.token) {
		refuse(w, http.StatusForbidden, "The secret of this address is missing or an old one. Open the whole address that the program printed.")
		return
	}
	switch {
	case r.Method == http.MethodPost && r.URL.Path == reviewPath:
		s.review(w, r)
	case r.Method == http.MethodGet || r.Method == http.MethodHead:
		s.show(w, r)
	default:
		refuse(w, http.StatusMethodNotAllowed, "Nothing here can be changed in that way.")
	}
}

// letIn takes the secret out of the address into a cookie, so that it stays
// out of the history and of what is copied from the address line.
func (s *server) letIn(w http.ResponseWriter, r *http.Request) bool {
	if r.Method != http.MethodGet || !same(r.URL.Query().Get("token"), s.token) {
		return false
	}
	http.SetCookie(w, &http.Cookie{Name: s.cookie(), Value: s.token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	http.Redirect(w, r, (&url.URL{Path: path.Clean("/" + r.URL.Path)}).String(), http.StatusSeeOther)
	return true
}

func refuse(w http.ResponseWriter, code int, why string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(code)
	fmt.Fprintln(w, why)
}

// What is shown: pages at the top and those of runs, and of a flight its page, samples and
// summary. Everything else of the archive stays where it is.
var (
	topPage    = regexp.MustCompile(`^/((?:runs/)?[A-Za-z0-9][A-Za-z0-9_-]*\.html)?$`)
	flightFile = regexp.MustCompile(`^/(flights/.+)/(summary\.html|summary\.json|clip\.parquet)$`)
)

func (s *server) show(w http.ResponseWriter, r *http.Request) {
	clean := path.Clean(r.URL.Path)
	if m := flightFile.FindStringSubmatch(clean); m != nil {
		s.flight(w, r, m[1], m[2])
		return
	}
	m := topPage.FindStringSubmatch(clean)
	if m == nil {
		refuse(w, http.StatusNotFound, "There is no such page.")
		return
	}
	name := m[1]
	if name == "" {
		name = batch.IndexFile
	}
	if name == batch.IndexFile {
		s.night(w)
		return
	}
	s.file(w, name, "text/html; charset=utf-8")
}

// night sends the night page. The one on the disk is from before the reviews
// that were made since, here or by others, and this program writes nothing but
// reviews; so it is drawn with them, once for each review that comes.
func (s *server) night(w http.ResponseWriter) {
	text, err := s.nightText()
	if err != nil || text == nil {
		s.file(w, batch.IndexFile, "text/html; charset=utf-8")
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(text)
}

// nightText is the night page with the reviews of now, nil when there are none.
// Which file is the later one does not tell: a run that was drawing the page
// while somebody reviewed wrote it without the review.
func (s *server) nightText() ([]byte, error) {
	page, err := os.Stat(s.archive.Path(batch.IndexFile))
	if err != nil {
		return nil, err
	}
	head, err := os.Stat(s.archive.Path(archive.HeadFile(archive.ReviewsFile)))
	if err != nil {
		return nil, nil // nobody has reviewed anything
	}
	state := page.ModTime().String() + head.ModTime().String()
	s.drawing.Lock()
	defer s.drawing.Unlock()
	if s.drawnOf != state {
		text, err := batch.NightNow(s.archive)
		if err != nil {
			return nil, err
		}
		s.drawn, s.drawnOf = text, state
	}
	return s.drawn, nil
}

// file sends a file of the archive. It is read whole before a byte is sent: a
// batch that publishes it anew meanwhile replaces it by renaming.
func (s *server) file(w http.ResponseWriter, name, kind string) {
	text, err := os.ReadFile(s.archive.Path(name))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		refuse(w, http.StatusNotFound, "There is no such page yet; process writes it.")
	case err != nil:
		refuse(w, http.StatusInternalServerError, err.Error())
	default:
		w.Header().Set("Content-Type", kind)
		_, _ = w.Write(text) // a reader that has gone needs no answer
	}
}

// flight sends a file of a flight; the page is drawn with the forms.
func (s *server) flight(w http.ResponseWriter, r *http.Request, folder, name string) {
	sum, err := s.archive.Read(folder)
	if err != nil {
		refuse(w, http.StatusNotFound, "There is no such flight.")
		return
	}
	switch name {
	case archive.SummaryFile:
		s.file(w, path.Join(sum.Flight.Folder, name), "application/json")
	case archive.ClipFile:
		s.file(w, path.Join(sum.Flight.Folder, name), "application/vnd.apache.parquet")
	default:
		text, err := s.patiently(sum, r.URL.Query().Get("said"))
		if err != nil {
			refuse(w, http.StatusInternalServerError, err.Error())
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write(text)
	}
}

// How often, and how long apart, a flight is looked at again that does not fit
// together: a batch that publishes it anew writes the clip before the summary.
const (
	looks   = 20
	between = 100 * time.Millisecond
)

// patiently draws the page of a flight, which may be in the hands of a batch.
func (s *server) patiently(sum archive.Summary, said string) (text []byte, err error) {
	for range looks {
		if text, err = s.page(sum, said); err == nil {
			return text, nil
		}
		time.Sleep(between)
		if again, err := s.archive.Read(sum.Flight.Folder); err == nil {
			sum = again
		}
	}
	return nil, err
}
