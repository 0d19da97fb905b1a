package main

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"
	"time"

	"rollonset/report/archive"
	"rollonset/report/evidence"
	"rollonset/report/page"
)

const reviewPath = "/review"

//go:embed serveform.html
var formText string

var formTemplate = template.Must(template.New("forms").Parse(formText))

// formView is what the template of the forms reads.
type formView struct {
	Action, Token, Folder, Said string
	Decisions                   []string
	Events                      []formEvent
}

// formEvent is one event with what was decided about it last.
type formEvent struct {
	ID, Kind, Check, Severity, Text string
	Attempt                         int
	Decision, By, Reason            string
}

// page draws the page of a flight as it is now, reviews and forms included.
func (s *server) page(sum archive.Summary, said string) ([]byte, error) {
	reviews, err := s.archive.Reviews()
	if err != nil {
		return nil, err
	}
	f, err := evidence.Load(s.archive, sum)
	if err != nil {
		return nil, err
	}
	v := formView{Action: reviewPath, Token: s.formToken(), Folder: sum.Flight.Folder, Said: said, Decisions: archive.Decisions()}
	o := page.Options{Levels: page.Levels(f.Profile), Index: "/"}
	for _, e := range archive.EventsOf(&sum, 0, reviews) {
		v.Events = append(v.Events, formEventOf(e))
		for _, r := range e.Reviews {
			o.Reviews = append(o.Reviews, page.Review{Event: e.Attempt.ID + " " + e.Check, Decision: r.Decision, Role: r.Role, Time: r.Time, Reason: r.Reason})
		}
	}
	var text, form bytes.Buffer
	if err := page.Flight(&text, sum, f.Clip, o); err != nil {
		return nil, err
	}
	if err := formTemplate.Execute(&form, v); err != nil {
		return nil, fmt.Errorf("the review forms: %w", err)
	}
	return withForms(text.String(), form.String())
}

func formEventOf(e archive.ListedEvent) formEvent {
	f := formEvent{
		ID: e.Attempt.ID, Kind: e.Kind, Check: e.Check, Severity: e.Severity, Attempt: e.Attempt.Number,
		Text: page.EventText(e.EventSummary, *e.Attempt), Decision: e.Decision(),
	}
	if n := len(e.Reviews); n > 0 {
		f.By, f.Reason = e.Reviews[n-1].Role, e.Reviews[n-1].Reason
	}
	return f
}

// withForms puts the forms behind the attempts, with a link at the top, and lets the page send
// them to where it came from. A page on a file share may send nothing
// anywhere, and tells nobody where it was; so both are said there.
func withForms(text, form string) ([]byte, error) {
	for _, change := range [][2]string{
		{"form-action &#39;none&#39;", "form-action &#39;self&#39;"},
		{`<meta name="referrer" content="no-referrer">`, `<meta name="referrer" content="same-origin">`},
		{`<section id="coverage"`, form + `<section id="coverage"`},
		{`<li><a href="#coverage">`, `<li><a href="#review">Review</a></li><li><a href="#coverage">`},
	} {
		if !strings.Contains(text, change[0]) {
			return nil, fmt.Errorf("the page of the flight has no place for the forms (%s is missing); tell whoever maintains this program", change[0])
		}
		text = strings.Replace(text, change[0], change[1], 1)
	}
	return []byte(text), nil
}

// maxForm bounds what a form may send; reasons are shorter.
const maxForm = 1 << 14

// review takes a form. It must come from a page of this server: browsers say
// the origin with every form that they send, and no other page knows the
// token of the form.
func (s *server) review(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	switch {
	case r.Header.Get("Origin") != "http://"+s.host:
		refuse(w, http.StatusForbidden, "This review did not come from a page of this program; nothing was written.")
	case r.ParseForm() != nil:
		refuse(w, http.StatusBadRequest, "This form cannot be read; nothing was written.")
	case !same(r.PostForm.Get("token"), s.formToken()):
		refuse(w, http.StatusForbidden, "This form is of an earlier run of the program; nothing was written. Open its page anew and send it again.")
	default:
		s.take(w, r)
	}
}

func (s *server) take(w http.ResponseWriter, r *http.Request) {
	entry, folder, err := s.entry(r.PostForm)
	if err == nil {
		err = s.add(entry)
	}
	if err != nil {
		refuse(w, http.StatusBadRequest, err.Error()+"\nNothing was written. Go back and try again.")
		return
	}
	to := url.URL{Path: "/" + path.Join(folder, archive.PageFile), Fragment: "review", RawQuery: url.Values{"said": {entry.Decision}}.Encode()}
	http.Redirect(w, r, to.String(), http.StatusSeeOther)
}

// entry makes the review of a form. The event must be in the archive, as it
// is now, and not only in the form.
func (s *server) entry(form url.Values) (archive.Review, string, error) {
	sum, err := s.archive.Read(form.Get("folder"))
	if err != nil {
		return archive.Review{}, "", errors.New("there is no such flight")
	}
	number, err := strconv.Atoi(form.Get("attempt"))
	if err != nil || number < 1 {
		return archive.Review{}, "", errors.New("there is no such attempt")
	}
	reviews, err := s.archive.Reviews()
	if err != nil {
		return archive.Review{}, "", err
	}
	for _, e := range archive.EventsOf(&sum, number, reviews) {
		if e.Kind != form.Get("kind") || e.Check != form.Get("check") {
			continue
		}
		return archive.Review{
			Time: s.clock().UTC().Format(time.RFC3339), Decision: form.Get("decision"), Reason: strings.TrimSpace(form.Get("reason")),
			Role: strings.TrimSpace(form.Get("role")), Event: e.Attempt.ID, Kind: e.Kind, Check: e.Check, Severity: e.Severity, EventPlace: e.Place,
		}, sum.Flight.Folder, nil
	}
	return archive.Review{}, "", errors.New("there is no such event; the flight may have been processed again, open its page anew")
}

// add appends the review under the lock that every writer of reviews takes.
func (s *server) add(entry archive.Review) error {
	s.writing.Lock()
	defer s.writing.Unlock()
	unlock, err := holdChains(s.archive.Dir())
	if err != nil {
		return err
	}
	defer unlock()
	return s.archive.AddReviews([]archive.Review{entry})
}
