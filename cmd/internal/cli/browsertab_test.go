//go:build !race

package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"net/url"
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// openBrowser starts one browser for all tabs; without one the test is skipped.
func openBrowser(t *testing.T) context.Context {
	t.Helper()
	needed(t, "chromium")
	// The pages are our own, and in a container the browser has no other cage to sit in.
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath("chromium"), chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx)
		cancel()
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("chromium does not start: %v", err)
	}
	return ctx
}

// browserTab is a tab, and all that the browser says about the page in it.
type browserTab struct {
	context.Context

	mu   sync.Mutex
	page string // URL
	said []string
}

func openTab(t *testing.T, browser context.Context) *browserTab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(ctx, tabTime)
	t.Cleanup(stop)
	tab := &browserTab{Context: ctx}
	if err := chromedp.Listen(ctx, tab.listen); err != nil {
		t.Fatal(err)
	}
	call(t, tab, network.Enable, network.EnableParams{})
	return tab
}

// listen notes what a page has no business to do.
func (b *browserTab) listen(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	note := func(format string, args ...any) { b.said = append(b.said, fmt.Sprintf(format, args...)) }
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if e.Request.URL != b.page {
			note("asks for %s", e.Request.URL)
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			note("%s %s: %s", e.Entry.Source, e.Entry.Level, e.Entry.Text)
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			note("console %s", e.Type)
		}
	case *runtime.EventExceptionThrown:
		note("uncaught: %v", e.ExceptionDetails)
	}
}

// heard gives what was noted since the page was opened.
func (b *browserTab) heard(t *testing.T) []string {
	t.Helper()
	b.ask(t, `new Promise(done => setTimeout(() => done(""), 50))`)
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.said)
}

// call calls a command of the browser's protocol.
func call[P, R any](t *testing.T, b *browserTab, command cdp.Command[P, R], params P) R {
	t.Helper()
	answer, err := chromedp.Call(b, command, params)
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

func (b *browserTab) do(t *testing.T, action chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(b, action); err != nil {
		t.Fatal(err)
	}
}

// ask gives the value of an expression of JavaScript that comes to a text.
func (b *browserTab) ask(t *testing.T, expression string) string {
	t.Helper()
	answer, err := chromedp.Run(b, chromedp.Evaluate[string](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

// open opens a page for a reader who likes it light or dark.
func (b *browserTab) open(t *testing.T, file, scheme string) {
	t.Helper()
	b.mu.Lock()
	b.page, b.said = (&url.URL{Scheme: "file", Path: file}).String(), nil
	b.mu.Unlock()
	b.prefer(t, scheme)
	b.do(t, chromedp.Navigate(b.page))
}

// prefer makes the reader like pages light or dark.
func (b *browserTab) prefer(t *testing.T, scheme string) {
	t.Helper()
	call(t, b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
}

func (b *browserTab) resize(t *testing.T, width int64) {
	t.Helper()
	call(t, b, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: 800, DeviceScaleFactor: 1})
}

// tooWide names what makes the page scroll sideways; nothing where it does not.
func (b *browserTab) tooWide(t *testing.T) string {
	t.Helper()
	return b.ask(t, `(() => {
		const all = document.scrollingElement;
		if (all.scrollWidth <= all.clientWidth) return "";
		const over = [...document.body.querySelectorAll("*")].filter(e => e.getBoundingClientRect().right > all.clientWidth + 1);
		return all.scrollWidth + " px, by " + over.slice(0, 5).map(e => e.outerHTML.slice(0, 80)).join(" | ");
	})()`)
}

// picture draws the page into a file, where pictures are wanted.
func (b *browserTab) picture(t *testing.T, file string) {
	t.Helper()
	if wanted := flag.Lookup("test.artifacts"); wanted == nil || wanted.Value.String() != "true" {
		return
	}
	var size page.Viewport
	if err := json.Unmarshal([]byte(b.ask(t, `JSON.stringify({width: document.scrollingElement.clientWidth, height: document.scrollingElement.scrollHeight, scale: 1})`)), &size); err != nil {
		t.Fatal(err)
	}
	size.Height = min(size.Height, longestPicture)
	drawn := call(t, b, page.CaptureScreenshot, page.CaptureScreenshotParams{CaptureBeyondViewport: new(true), Clip: &size}).Data
	if err := os.WriteFile(file, drawn, 0o644); err != nil {
		t.Fatal(err)
	}
}

// install puts axe-core beside the page: the page's own policy would not let it in. Of a
// long table it judges the first rows, which the rest is like.
func (b *browserTab) install(t *testing.T, axe []byte) {
	t.Helper()
	b.ask(t, `document.querySelectorAll("tbody tr:nth-child(n+40)").forEach(r => r.remove()), ""`)
	b.ask(t, string(axe)+"\n;axe.version")
}

// violations gives the rules of accessibility that the page does not keep.
func (b *browserTab) violations(t *testing.T) []string {
	t.Helper()
	answer := b.ask(t, `axe.run(document, {preload: false, resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]})
		.then(found => JSON.stringify({kept: found.passes.length, broken: found.violations.map(v => v.impact + " " + v.id + ": " + v.help + ": " +
			v.nodes.slice(0, 3).map(n => n.target + " " + n.failureSummary).join(" | "))}))`)
	var found struct {
		Kept   int
		Broken []string
	}
	if err := json.Unmarshal([]byte(answer), &found); err != nil {
		t.Fatal(err)
	}
	if found.Kept == 0 {
		t.Error("no rule of accessibility is kept: none was tried")
	}
	return found.Broken
}

// print prints the page into a file and gives how many sheets of paper it takes.
func (b *browserTab) print(t *testing.T, p paper, file string) int {
	t.Helper()
	made := call(t, b, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: p.width, PaperHeight: p.height, PrintBackground: new(true)}).Data
	if err := os.WriteFile(file, made, 0o644); err != nil {
		t.Fatal(err)
	}
	n := len(sheetOfPrint.FindAll(made, -1))
	if count := fmt.Sprintf("/Count %d", n); n == 0 || !bytes.Contains(made, []byte(count)) {
		t.Fatalf("%d pages are found in the print, and it does not say so itself", n)
	}
	return n
}
