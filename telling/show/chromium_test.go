package show_test

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"rollwright/examples"
	"rollwright/internal/chromium"
	"rollwright/telling/show"
	"rollwright/text/source"
	"rollwright/workshop"
)

// These tests open the page in a real browser, Debian's chromium, from a file
// and with the network off.

// pictures is where TestViews leaves what it sees.
var pictures = flag.String("pictures", "", "folder for pictures of every step")

func TestMain(m *testing.M) { os.Exit(chromium.Run(m)) }

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
type tab struct{ *chromium.Tab }

// browser opens a tab for one test, which fails for every address that the
// page asks for and every error of its script.
func browser(t testing.TB) *tab {
	t.Helper()
	p := chromium.Open(t, 10*time.Minute)
	err := chromedp.Listen(p.Ctx, func(event any) {
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
	return &tab{p}
}

// open shows the page in a file, the network being off.
func (p *tab) open(path string, wide, high int64) {
	p.Helper()
	p.Do(chromedp.EmulateViewport(wide, high))
	off := network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: []*network.Conditions{{Offline: true}}}
	if _, err := chromedp.Call(p.Ctx, network.EmulateNetworkConditionsByRule, off); err != nil {
		p.Fatal(err)
	}
	p.Do(chromedp.Navigate("file://" + path))
	p.Await(`window.rollwright`)
}

// value is what an expression comes to, promises awaited.
func value[T any](p *tab, expression string) T {
	p.Helper()
	return chromium.Value[T](p.Tab, expression)
}

// picture writes what is seen into the folder of pictures.
func (p *tab) picture(name string) { p.Helper(); p.Picture(*pictures, name) }

// reduced asks the page for less motion.
func (p *tab) reduced() { p.Helper(); p.Prefer("prefers-reduced-motion", "reduce") }
