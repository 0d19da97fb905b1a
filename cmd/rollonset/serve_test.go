package main

import (
	"context"
	"crypto/sha256"
	"io"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rollonset/report/archive"
)

// served starts a server on an archive of the sample night.
type served struct {
	t   *testing.T
	a   *archive.Archive
	s   *server
	dir string
}

func serveNight(t *testing.T) *served {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "archive")
	args := []string{
		"process", "../../sampledata/night/recordings", "--profiles", "../../sampledata/fleet",
		"--flights", "../../sampledata/night/flights.csv", "--archive", dir,
	}
	if code := run(context.Background(), args, strings.NewReader(""), io.Discard, os.Stderr); code != exitDone {
		t.Fatalf("process ended with %d", code)
	}
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := newServer(a, strings.Repeat("5a", tokenBytes), l.Addr().String(), func() time.Time { return time.Date(2031, 3, 8, 7, 0, 0, 0, time.UTC) })
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.run(ctx, l) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("serve ended with %v", err)
		}
	})
	return &served{t, a, s, dir}
}

const servedFlight = "flights/2031/03/07/ZZ-J08-MRW116-0650-a7dd59d8"

// ask sends a request and gives code and body; redirects are not followed.
func (v *served) ask(method, path string, form url.Values, change func(*http.Request)) (int, string) {
	v.t.Helper()
	r, err := http.NewRequest(method, "http://"+v.s.host+path, strings.NewReader(form.Encode()))
	if err != nil {
		v.t.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: v.s.cookie(), Value: v.s.token})
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", "http://"+v.s.host)
	}
	if change != nil {
		change(r)
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := client.Do(r)
	if err != nil {
		v.t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return resp.StatusCode, string(text)
}

func (v *served) form() url.Values {
	return url.Values{
		"token": {v.s.formToken()}, "folder": {servedFlight}, "attempt": {"1"}, "kind": {"reject"}, "check": {"high-speed"},
		"decision": {archive.ValidEvent}, "reason": {"crew report agrees"}, "role": {"analyst"},
	}
}

// tree is the hash of every file of the archive but the reviews and locks.
func (v *served) tree() map[string][32]byte {
	v.t.Helper()
	out := map[string][32]byte{}
	err := filepath.WalkDir(v.dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), archive.ReviewsFile) || strings.Contains(p, ".locks") {
			return err
		}
		text, err := os.ReadFile(p)
		out[p] = sha256.Sum256(text)
		return err
	})
	if err != nil {
		v.t.Fatal(err)
	}
	return out
}

func (v *served) reviews() []archive.Review {
	v.t.Helper()
	r, err := v.a.Reviews()
	if err != nil || r.Whole() != nil {
		v.t.Fatalf("%v %v", err, r.Whole())
	}
	return r.Lines
}

// TestServeGate: nothing is shown or written but to the person who was given
// the address, on the pages of this server.
func TestServeGate(t *testing.T) {
	v := serveNight(t)
	before := v.tree()
	drop := func(name string) func(*http.Request) { return func(r *http.Request) { r.Header.Del(name) } }
	set := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set(name, value) }
	}
	changed := func(name, value string) url.Values { f := v.form(); f.Set(name, value); return f }
	for _, c := range []struct {
		what, method, path string
		form               url.Values
		change             func(*http.Request)
		want               int
	}{
		{"the night", "GET", "/", nil, nil, 200},
		{"a flight", "GET", "/" + servedFlight + "/summary.html", nil, nil, 200},
		{"a summary", "GET", "/" + servedFlight + "/summary.json", nil, nil, 200},
		{"a clip", "GET", "/" + servedFlight + "/clip.parquet", nil, nil, 200},
		{"no cookie", "GET", "/", nil, drop("Cookie"), 403},
		{"another cookie", "GET", "/", nil, set("Cookie", v.s.cookie()+"=00"), 403},
		{"a wrong secret", "GET", "/?token=00", nil, drop("Cookie"), 403},
		{"the secret", "GET", "/?token=" + v.s.token, nil, drop("Cookie"), 303},
		{"another host", "GET", "/", nil, func(r *http.Request) { r.Host = "pages.example" }, 403},
		{"another port", "GET", "/", nil, func(r *http.Request) { r.Host = "127.0.0.1:1" }, 403},
		{"the secret on another host", "GET", "/?token=" + v.s.token, nil, func(r *http.Request) { r.Host = "pages.example" }, 403},
		{"the reviews", "GET", "/reviews.jsonl", nil, nil, 404},
		{"a run record", "GET", "/runs/x.json", nil, nil, 404},
		{"a profile", "GET", "/profiles/x.yaml", nil, nil, 404},
		{"a path upwards", "GET", "/flights/../../../../etc/passwd", nil, nil, 404},
		{"a coded path upwards", "GET", "/flights/%2e%2e/%2e%2e/x/summary.json", nil, nil, 404},
		{"a hidden file", "GET", "/.locks/archive", nil, nil, 404},
		{"a page that is not there", "GET", "/nothing.html", nil, nil, 404},
		{"a deletion", "DELETE", "/" + servedFlight + "/summary.html", nil, nil, 405},
		{"a review by address", "GET", "/review?decision=valid", nil, nil, 404},
		{"a review elsewhere", "POST", "/", v.form(), nil, 405},
		{"no origin", "POST", "/review", v.form(), drop("Origin"), 403},
		{"another origin", "POST", "/review", v.form(), set("Origin", "http://pages.example"), 403},
		{"an origin of nobody", "POST", "/review", v.form(), set("Origin", "null"), 403},
		{"another port's origin", "POST", "/review", v.form(), set("Origin", "http://127.0.0.1:1"), 403},
		{"no form token", "POST", "/review", changed("token", ""), nil, 403},
		{"the secret as form token", "POST", "/review", changed("token", v.s.token), nil, 403},
		{"no cookie with the form", "POST", "/review", v.form(), drop("Cookie"), 403},
		{"no decision", "POST", "/review", changed("decision", ""), nil, 400},
		{"another decision", "POST", "/review", changed("decision", "guilty"), nil, 400},
		{"no reason", "POST", "/review", changed("reason", "  "), nil, 400},
		{"a long reason", "POST", "/review", changed("reason", strings.Repeat("x", 3000)), nil, 400},
		{"a huge form", "POST", "/review", changed("reason", strings.Repeat("x", 1<<15)), nil, 400},
		{"no such check", "POST", "/review", changed("check", "wings"), nil, 400},
		{"no such attempt", "POST", "/review", changed("attempt", "7"), nil, 400},
		{"a folder upwards", "POST", "/review", changed("folder", "flights/../.."), nil, 400},
	} {
		if got, text := v.ask(c.method, c.path, c.form, c.change); got != c.want {
			t.Errorf("%s: %d, want %d: %.200s", c.what, got, c.want, text)
		}
	}
	if n := len(v.reviews()); n != 0 {
		t.Errorf("%d reviews were written by what was refused", n)
	}
	if code, _ := v.ask("POST", "/review", v.form(), nil); code != 303 {
		t.Errorf("a review as it should be: %d", code)
	}
	if all := v.reviews(); len(all) != 1 || all[0].Decision != archive.ValidEvent || all[0].Time != "2031-03-08T07:00:00Z" || all[0].Event != "a7dd59d8d7cf-1" {
		t.Errorf("%+v", all)
	}
	if code, text := v.ask("GET", "/", nil, nil); code != 200 || !strings.Contains(text, ">valid<") {
		t.Errorf("the night does not show the review: %d", code)
	}
	for file, hash := range v.tree() {
		if before[file] != hash {
			t.Errorf("%s was written", file)
		}
	}
}

// TestServeTogether: many review at once while a batch works on the same
// archive; every review is in the chain, and every page was whole.
func TestServeTogether(t *testing.T) {
	v := serveNight(t)
	const people = 8
	var wait sync.WaitGroup
	wait.Add(people + 1)
	go func() {
		defer wait.Done()
		args := []string{"process", "../../sampledata/night/recordings", "--profiles", "../../sampledata/fleet", "--archive", v.dir, "--pages", "all"}
		if code := run(context.Background(), args, strings.NewReader(""), io.Discard, io.Discard); code != exitDone {
			t.Errorf("the batch ended with %d", code)
		}
	}()
	for range people {
		go func() {
			defer wait.Done()
			for range 3 {
				if code, text := v.ask("POST", "/review", v.form(), nil); code != 303 {
					t.Errorf("%d: %s", code, text)
				}
				if code, text := v.ask("GET", "/"+servedFlight+"/summary.html", nil, nil); code != 200 || !strings.Contains(text, "</html>") {
					t.Errorf("a page was not whole: %d", code)
				}
				if code, text := v.ask("GET", "/", nil, nil); code != 200 || !strings.Contains(text, "</html>") {
					t.Errorf("the night was not whole: %d", code)
				}
			}
		}()
	}
	wait.Wait()
	if n := len(v.reviews()); n != people*3 {
		t.Errorf("%d reviews, %d were sent", n, people*3)
	}
}

// TestServeInBrowser reviews an event as a person does, in a real browser.
func TestServeInBrowser(t *testing.T) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium on this machine: the review was not made in a browser; install the package chromium to run this test")
	}
	v := serveNight(t)
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 60*time.Second)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	do := func(steps ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, steps...); err != nil {
			t.Fatal(err)
		}
	}
	ask := func(script string) string {
		t.Helper()
		got, err := chromedp.Run(ctx, chromedp.Evaluate[string](script))
		if err != nil {
			t.Fatalf("%s: %v", script, err)
		}
		return got
	}
	do(chromedp.EmulateViewport(1200, 1000), chromedp.Navigate(v.s.address()))
	if at := ask("location.href"); at != "http://"+v.s.host+"/" {
		t.Errorf("the secret stayed in the address: %s", at)
	}
	if got := ask("document.querySelector('a[href*=\"MRW116\"]').getAttribute('href')"); got != servedFlight+"/summary.html#attempt-1" {
		t.Errorf("the night links to %s", got)
	}
	do(chromedp.Navigate("http://" + v.s.host + "/" + servedFlight + "/summary.html"))
	ask(`(() => {
		const f = [...document.forms].find(f => f.elements.kind.value === "reject");
		f.querySelector('input[value="nuisance"]').click();
		f.elements.reason.value = "=a test of the tower & <b>others</b>";
		f.elements.role.value = "analyst";
		return "filled";
	})()`)
	do(chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
		_, err := chromedp.Run(ctx, chromedp.Evaluate[string](`[...document.forms].find(f => f.elements.kind.value === "reject").querySelector("button").click(), "sent"`))
		return err
	}))
	deadline := time.Now().Add(10 * time.Second)
	for len(v.reviews()) == 0 && time.Now().Before(deadline) {
		time.Sleep(50 * time.Millisecond)
	}
	all := v.reviews()
	if len(all) != 1 || all[0].Decision != archive.NuisanceEvent || all[0].Reason != "=a test of the tower & <b>others</b>" {
		t.Fatalf("%+v", all)
	}
	// The browser follows the answer to the flight's page; going elsewhere
	// before it is there would break off its journey.
	for time.Now().Before(deadline) {
		text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.readyState === "complete" && document.querySelector("#review")?.innerText || ""`))
		if err == nil && strings.Contains(text, "Last decision: nuisance") {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	// The night, which the disk still shows without the review, shows it too.
	do(chromedp.Navigate("http://" + v.s.host + "/"))
	if row := ask(`[...document.querySelectorAll("#events tr")].map(r => r.innerText).find(r => r.includes("MRW116") && r.includes("Reject,"))`); !strings.Contains(row, "nuisance") {
		t.Errorf("the night says %q", row)
	}
	do(chromedp.Navigate("http://" + v.s.host + "/" + servedFlight + "/summary.html"))
	text := ask("document.querySelector('#review').innerText")
	if !strings.Contains(text, "Last decision: nuisance, by analyst.") || !strings.Contains(text, "<b>others</b>") {
		t.Errorf("the page says %q", text)
	}
	// The forms are as wide as the screen of a phone.
	do(chromedp.EmulateViewport(360, 800))
	if w := ask("String(document.documentElement.scrollWidth)"); w != "360" {
		t.Errorf("the page with the forms is %s px wide on a screen of 360", w)
	}
}
