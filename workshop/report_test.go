package workshop

import (
	"context"
	"html"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rollwright/internal/chromium"
	"rollwright/text/source"
)

// The report shows each finding's message, place and remedy as paragraphs, which
// wrap on any screen and on paper.
func TestReportFindings(t *testing.T) {
	const text = "voice \"v\" {\n  talea = \"1/4\"\n  color = \"C4\"\n  extent = \"4 notes\"\n}\n"
	j, err := New(context.Background(), &source.File{Name: "x.piece", Text: []byte(text)}, ".")
	if err != nil {
		t.Fatal(err)
	}
	page, err := textOf(func(w io.Writer) error { return j.writeReport(w, []string{"roll.pdf"}, Options{}) })
	if err != nil {
		t.Fatal(err)
	}
	report, err := j.Findings()
	if err != nil {
		t.Fatal(err)
	}
	if len(report.Told()) == 0 {
		t.Fatal("strokes 31 ms apart are no finding")
	}
	page = html.UnescapeString(page)
	for _, told := range report.Told() {
		for _, want := range []string{
			"<p><b>" + told.Severity.Words() + "</b>: " + told.What + "</p>",
			`<p class="where">` + told.Where + "</p>", `<p class="remedy">` + told.Remedy + "</p>",
		} {
			if !strings.Contains(page, want) {
				t.Errorf("%q is not in the report", want)
			}
		}
		if !strings.Contains(told.Where, "x.piece:") {
			t.Errorf("%q names no line", told.Where)
		}
	}
	if pre := regexp.MustCompile(`(?s)<pre>.*?</pre>`).FindString(page); strings.Contains(pre, "cannot play") {
		t.Errorf("findings stand in lines that do not wrap: %s", pre)
	}
	if !strings.Contains(page, report.Summary()) {
		t.Errorf("the report does not count: %s", report.Summary())
	}
}

// On a phone the pictures of the rolls keep a width at which their lettering can
// be read, and are moved sideways; the page itself is not.
func TestReportOnPhone(t *testing.T) {
	const text = "voice \"v\" {\n  talea = \"1\"\n  color = \"C4\"\n  extent = \"200 notes\"\n}\n"
	j, err := New(context.Background(), &source.File{Name: "x.piece", Text: []byte(text)}, ".")
	if err != nil {
		t.Fatal(err)
	}
	page, err := textOf(func(w io.Writer) error { return j.writeReport(w, []string{"roll.pdf"}, Options{}) })
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	tab := chromium.Open(t, 3*time.Minute)
	for _, width := range []int64{390, 1280} {
		tab.Do(chromedp.EmulateViewport(width, 844), chromedp.Navigate("file://"+path))
		tab.Await(`document.images[0].complete`)
		got := chromium.Value[[]int64](tab, `[document.documentElement.scrollWidth, document.images[0].clientWidth, document.images[0].parentNode.clientWidth]`)
		if got[0] > width {
			t.Errorf("at %d pixels the page is %d wide", width, got[0])
		}
		if phone := width < 720; phone && (got[1] != 1280 || got[2] >= width) || !phone && got[1] != got[2] {
			t.Errorf("at %d pixels a picture is %d wide in a frame of %d", width, got[1], got[2])
		}
	}
}
