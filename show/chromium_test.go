package show_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"rollwright/examples"
	"rollwright/show"
	"rollwright/source"
	"rollwright/workshop"
)

// These tests open the page in a real browser, Debian's chromium, from a file
// and with the network off.

// pictures is where TestViews leaves what it sees.
var pictures = flag.String("pictures", "", "folder for pictures of every step")

// jobOf performs a piece.
func jobOf(t testing.TB, name, text string) *workshop.Job {
	t.Helper()
	job, err := workshop.New(context.Background(), &source.File{Name: name + ".piece", Text: []byte(text)}, ".")
	if err != nil {
		t.Fatal(err)
	}
	return job
}

func example(t testing.TB, name string) *workshop.Job {
	t.Helper()
	text, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	return jobOf(t, name, string(text))
}

func lectureOf(t testing.TB, job *workshop.Job, o show.Options) *show.Lecture {
	t.Helper()
	l, err := job.Lecture(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// page writes a lecture and returns its path.
func page(t testing.TB, l *show.Lecture) string {
	t.Helper()
	var b bytes.Buffer
	if err := l.WritePage(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "lecture.html")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// tab is a page in a browser.
type tab struct {
	testing.TB
	ctx context.Context
}

// browser starts chromium for one test, which fails for every address that the
// page asks for and every error of its script.
func browser(t testing.TB) *tab {
	t.Helper()
	if _, err := exec.LookPath("chromium"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("chromium is missing: apt-get install chromium")
		}
		t.Skip("chromium is missing: apt-get install chromium")
	}
	ctx, end := chromedp.NewContext(context.Background(), chromedp.WithAllocatorOptions(
		chromedp.NoSandbox, // CI runs as root
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true), chromedp.Flag("no-first-run", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
	))
	t.Cleanup(end)
	ctx, cancel := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(cancel)
	err := chromedp.Listen(ctx, func(event any) {
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			if u := e.Request.URL; !strings.HasPrefix(u, "data:") && !strings.HasSuffix(u, "/lecture.html") {
				t.Errorf("the page asks for %.100s", u)
			}
		case *runtime.EventExceptionThrown:
			t.Errorf("the page's script: %s %v", e.ExceptionDetails.Text, e.ExceptionDetails.Exception)
		case *log.EventEntryAdded:
			t.Errorf("the browser: %s", e.Entry.Text)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return &tab{t, ctx}
}

// open shows the page in a file, the network being off.
func (p *tab) open(path string, wide, high int64) {
	p.Helper()
	p.do(chromedp.EmulateViewport(wide, high))
	off := network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: []*network.Conditions{{Offline: true}}}
	if _, err := chromedp.Call(p.ctx, network.EmulateNetworkConditionsByRule, off); err != nil {
		p.Fatal(err)
	}
	p.do(chromedp.Navigate("file://" + path))
	p.await(`window.rollwright`)
}

func (p *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	if err := chromedp.Do(p.ctx, actions...); err != nil {
		p.Fatal(err)
	}
}

// js runs statements.
func (p *tab) js(statements string) {
	p.Helper()
	value[bool](p, fmt.Sprintf(`(async () => { %s; return true })()`, statements))
}

// value is what an expression comes to, promises awaited.
func value[T any](p *tab, expression string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.Fatalf("%.300s: %v", expression, err)
	}
	return v
}

// await waits until a condition holds.
func (p *tab) await(condition string) {
	p.Helper()
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if value[bool](p, "!!("+condition+")") {
			return
		}
	}
	p.Fatalf("it never came to %s", condition)
}

// keys presses keys, one after the other.
func (p *tab) keys(keys string) { p.Helper(); p.do(chromedp.KeyEvent(keys)) }

// picture writes what is seen into the folder of pictures.
func (p *tab) picture(name string) {
	p.Helper()
	if *pictures == "" {
		return
	}
	shot, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		p.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*pictures, name+".png"), shot, 0o644); err != nil {
		p.Fatal(err)
	}
}

// reduced asks the page for less motion.
func (p *tab) reduced() {
	p.Helper()
	_, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
	if err != nil {
		p.Fatal(err)
	}
}
