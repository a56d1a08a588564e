// Package browser drives a real Chromium for the tests of the pages. It is the only place that knows chromedp.
package browser

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Page is one tab, with what it complained of and what it asked for.
type Page struct {
	Ctx context.Context
	t   *testing.T

	mu       sync.Mutex
	problems []string
	requests []string
}

// Open starts a browser with a fresh profile for this test. The test is skipped, with a message, only where no Chromium
// is installed.
func Open(t *testing.T) *Page {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		t.Skip("no chromium on this machine: install Debian's package to run the tests of the pages")
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(path), chromedp.UserDataDir(profile(t)),
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true))
	t.Cleanup(stop)
	alloc, cancel := context.WithTimeout(alloc, 120*time.Second)
	t.Cleanup(cancel)
	ctx, closeTab := chromedp.NewContext(alloc)
	t.Cleanup(closeTab)
	p := &Page{Ctx: ctx, t: t}
	if err := chromedp.Listen(ctx, p.listen); err != nil {
		t.Fatal(err)
	}
	p.Do(enable(network.Enable), enable(runtime.Enable), enable(log.Enable))
	return p
}

// enable switches a domain of the protocol on, so that its events come.
func enable[P, R any](cmd cdp.Command[P, R]) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		var zero P
		_, err := cdp.Call(ctx, t, cmd, zero)
		return err
	})
}

// profile is a directory that outlives the browser's last writes.
func profile(t *testing.T) string {
	dir, err := os.MkdirTemp("", "flywitness-browser-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for range 20 {
			if os.RemoveAll(dir) == nil {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
	})
	return dir
}

func (p *Page) listen(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" || e.Type == "warning" {
			p.problems = append(p.problems, fmt.Sprintf("console %s: %+v", e.Type, e.Args))
		}
	case *runtime.EventExceptionThrown:
		p.problems = append(p.problems, fmt.Sprintf("exception: %+v", e.ExceptionDetails))
	case *log.EventEntryAdded:
		if e.Entry.Level == "error" || e.Entry.Level == "warning" {
			p.problems = append(p.problems, fmt.Sprintf("log: %s %s", e.Entry.Text, e.Entry.URL))
		}
	case *network.EventRequestWillBeSent:
		p.requests = append(p.requests, e.Request.URL)
	}
}

// Do runs actions and fails the test when one does.
func (p *Page) Do(actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.Ctx, actions...); err != nil {
		p.t.Fatal(err)
	}
}

// Visit opens an address.
func (p *Page) Visit(url string) { p.t.Helper(); p.Do(chromedp.Navigate(url)) }

// Click clicks the first element that a selector finds.
func (p *Page) Click(selector string) { p.t.Helper(); p.Do(chromedp.Click(chromedp.CSS(selector))) }

// Text returns the visible text of an element.
func (p *Page) Text(selector string) string {
	p.t.Helper()
	return get(p, chromedp.Text(chromedp.CSS(selector)))
}

// get runs one action and returns its value.
func get[T any](p *Page, a chromedp.Action[T]) T {
	p.t.Helper()
	v, err := chromedp.Run(p.Ctx, a)
	if err != nil {
		p.t.Fatal(err)
	}
	return v
}

// Eval returns the value of a script.
func Eval[T any](p *Page, script string) T {
	p.t.Helper()
	return get(p, chromedp.Evaluate[T](script))
}

// Until waits until a script's value is true; while a page is still loading the script may fail.
func (p *Page) Until(script string) {
	p.t.Helper()
	test := chromedp.Evaluate[bool]("(() => { try { return !!(" + script + ") } catch { return false } })()")
	for range 200 {
		if ok, err := chromedp.Run(p.Ctx, test); err == nil && ok {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	p.t.Fatalf("still not true after 10 s: %s", script)
}

// Screen sets the size of the window and the colour scheme (light or dark).
func (p *Page) Screen(width, height int64, scheme string) {
	p.t.Helper()
	p.Do(chromedp.EmulateViewport(width, height), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	}))
}

// Clean fails the test for every console error, exception and request that does not begin with one of the allowed prefixes.
func (p *Page) Clean(allowed ...string) {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.problems {
		p.t.Error(s)
	}
	for _, r := range p.requests {
		ok := strings.HasPrefix(r, "data:") || r == "about:blank"
		for _, a := range allowed {
			ok = ok || strings.HasPrefix(r, a)
		}
		if !ok {
			p.t.Errorf("the page asked for %s", r)
		}
	}
}

// Picture takes the whole page as PNG into the directory named by PAGE_PICTURES, for looking at; without it, nothing.
func (p *Page) Picture(name string) {
	p.t.Helper()
	dir := os.Getenv("PAGE_PICTURES")
	if dir == "" {
		return
	}
	png := get(p, chromedp.FullScreenshot(100))
	if err := os.WriteFile(fmt.Sprintf("%s/%s.png", dir, name), png, 0o644); err != nil {
		p.t.Fatal(err)
	}
}

// PDF prints the page.
func (p *Page) PDF(paper chromedp.PaperSize) []byte {
	p.t.Helper()
	return get(p, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFPrintBackground()))
}
