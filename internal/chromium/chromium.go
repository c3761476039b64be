// Package chromium drives a page in Debian's chromium as a person would. It is for
// tests alone. The tests of a package share one browser, which [Run] ends; each has
// cookies, storage and a cache of its own.
//
// A machine without chromium skips the test and says so; where CI is set in the
// environment it fails the test. A wait that is in vain fails the test after
// Patience.
package chromium

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"rollwright/internal/judge"
)

// Patience is how long Await waits for a condition.
const Patience = 20 * time.Second

// shared is the browser of all tests: its first tab, which none of them uses.
var shared struct {
	sync.Mutex
	ctx context.Context
}

// Run runs the tests of a package and ends their browser; TestMain calls it. It is
// the status to exit with.
func Run(m *testing.M) int {
	ctx, end := chromedp.NewContext(context.Background(), chromedp.WithAllocatorOptions(
		chromedp.NoSandbox, // CI runs as root
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		// Each window would have pages of its own below the line of addresses, which
		// take more time than the page of a test.
		chromedp.Flag("disable-features", "Translate,BlinkGenPropertyTrees,WebUIOmniboxPopup,WebUIOmniboxAimPopup,"+
			"PreloadTopChromeWebUI"),
	))
	shared.ctx = ctx
	defer end()
	return m.Run()
}

// Tab is a page in a browser that knows nothing of other tests' pages.
type Tab struct {
	testing.TB
	Ctx context.Context

	// State is an expression of what the page has to say when Await has waited in
	// vain; empty: nothing.
	State string
}

// Open opens a tab for one test, which is closed with the test or after so long.
func Open(tb testing.TB, most time.Duration) *Tab {
	tb.Helper()
	judge.Program(tb, "chromium")
	shared.Lock()
	defer shared.Unlock()
	if shared.ctx == nil {
		tb.Fatal("chromium: TestMain has to call Run")
	}
	if err := chromedp.Do(shared.ctx); err != nil { // starts the browser
		tb.Fatal(err)
	}
	ctx, end := chromedp.NewContext(shared.ctx, chromedp.WithNewBrowserContext())
	tb.Cleanup(end)
	ctx, cancel := context.WithTimeout(ctx, most)
	tb.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		tb.Fatal(err)
	}
	return &Tab{TB: tb, Ctx: ctx}
}

// Do does actions one after the other.
func (p *Tab) Do(actions ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	if err := chromedp.Do(p.Ctx, actions...); err != nil {
		p.Fatal(err)
	}
}

// JS runs statements, which may await.
func (p *Tab) JS(statements string) {
	p.Helper()
	Value[bool](p, fmt.Sprintf(`(async () => { %s; return true })()`, statements))
}

// Value is what an expression comes to, promises awaited.
func Value[T any](p *Tab, expression string) T {
	p.Helper()
	v, err := chromedp.Run(p.Ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.Fatalf("%.300s: %v", expression, err)
	}
	return v
}

// Await waits until a condition holds.
func (p *Tab) Await(condition string) {
	p.Helper()
	for deadline := time.Now().Add(Patience); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if Value[bool](p, "!!("+condition+")") {
			return
		}
	}
	if p.State == "" {
		p.Fatalf("it never came to %s", condition)
	}
	p.Fatalf("it never came to %s; the page has %s", condition, Value[string](p, p.State))
}

// Keys presses keys, one after the other, with these held.
func (p *Tab) Keys(keys string, held ...chromedp.Modifier) {
	p.Helper()
	p.Do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(held...)))
}

// Insert puts text where the cursor is, as a paste does.
func (p *Tab) Insert(text string) {
	p.Helper()
	if _, err := chromedp.Call(p.Ctx, input.InsertText, input.InsertTextParams{Text: text}); err != nil {
		p.Fatal(err)
	}
}

// Prefer sets a media feature, such as prefers-color-scheme to dark.
func (p *Tab) Prefer(feature, value string) {
	p.Helper()
	wish := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: feature, Value: value}}}
	if _, err := chromedp.Call(p.Ctx, emulation.SetEmulatedMedia, wish); err != nil {
		p.Fatal(err)
	}
}

// Picture writes what is seen into a folder, as name.png; into no folder, not at
// all.
func (p *Tab) Picture(folder, name string) {
	p.Helper()
	if folder == "" {
		return
	}
	shot, err := chromedp.Run(p.Ctx, chromedp.CaptureScreenshot())
	if err != nil {
		p.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, name+".png"), shot, 0o644); err != nil {
		p.Fatal(err)
	}
}
