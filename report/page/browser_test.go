package page_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// tab is one page in a real browser, with everything that it tried to fetch
// and every complaint of the browser.
type tab struct {
	t        *testing.T
	ctx      context.Context
	url      string
	mu       sync.Mutex
	requests []string
	troubles []string
}

// browser starts one headless browser for a test. Without one the test is
// skipped and says so; the continuous build installs it.
func browser(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium on this machine: the pages were not opened in a browser; install the package chromium to run this test")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, limit := context.WithTimeout(ctx, 60*time.Second)
	t.Cleanup(limit)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start %s: %v", path, err)
	}
	return ctx
}

// open writes the page to a file and opens it in a new tab of that width.
func open(t *testing.T, parent context.Context, source string, width int64, before ...chromedp.Action[chromedp.Void]) *tab {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, []byte(source), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, stop := chromedp.NewContext(parent)
	t.Cleanup(stop)
	b := &tab{t: t, ctx: ctx, url: "file://" + file}
	if err := chromedp.Listen(ctx, b.note); err != nil {
		t.Fatal(err)
	}
	steps := append([]chromedp.Action[chromedp.Void]{chromedp.EmulateViewport(width, 900)}, before...)
	b.do(append(steps, chromedp.Navigate(b.url))...)
	t.Cleanup(b.check)
	return b
}

func (b *tab) note(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	case *runtime.EventExceptionThrown:
		b.troubles = append(b.troubles, "exception: "+e.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		b.troubles = append(b.troubles, "console: "+string(e.Type))
	case *log.EventEntryAdded:
		b.troubles = append(b.troubles, "log: "+e.Entry.Text)
	case *cdppage.EventJavascriptDialogOpening:
		b.troubles = append(b.troubles, "dialog: "+e.Message)
	}
}

// check holds at the end of every test: the page asked for itself and its
// empty icon and nothing else, and the browser had nothing to complain about.
func (b *tab) check() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.requests) == 0 {
		b.t.Error("no request was seen at all, so the listener does not work")
	}
	for _, url := range b.requests {
		if url != b.url && url != "data:," && !strings.HasPrefix(url, "blob:") {
			b.t.Errorf("the page asked for %s", url)
		}
	}
	for _, s := range b.troubles {
		b.t.Errorf("the browser complained: %s", s)
	}
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// ask evaluates a script in the page.
func ask[T any](b *tab, script string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script))
	if err != nil {
		b.t.Fatalf("%s: %v", script, err)
	}
	return v
}

// media makes the page believe in a medium and a colour scheme.
func media(medium, scheme string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Media: medium, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		})
		return err
	})
}

// withoutScript opens pages as a reader who allows no script.
func withoutScript() chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	})
}

// TestInBrowser opens the pages in one browser, a tab for each question.
func TestInBrowser(t *testing.T) {
	parent := browser(t)
	for _, c := range []struct {
		name string
		test func(*testing.T, context.Context)
	}{
		{"cursor", testCursor},
		{"zoom and save", testZoomAndSave},
		{"labels", testLabels},
		{"without script", testWithoutScript},
		{"dark and print", testDarkAndPrint},
		{"sort and filter", testSortAndFilter},
		{"narrow", testNarrow},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, parent) })
	}
}
