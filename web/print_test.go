package web

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rollwright/internal/chromium"
	"rollwright/internal/judge"
)

// TestPatchesPrint: a list of patches that is longer than a page is printed whole,
// over several pages, without what can only be pressed.
func TestPatchesPrint(t *testing.T) {
	const patches = 120
	text := judge.Program(t, "pdftotext")
	style, err := os.ReadFile("dist/style.css")
	if err != nil {
		t.Fatal(err)
	}
	var page strings.Builder
	fmt.Fprintf(&page, `<!doctype html><meta charset="utf-8"><style>%s</style><div id="app"><main class="punch">
<div class="punch-work"><section class="punch-patches"><ul>`, style)
	for i := range patches {
		fmt.Fprintf(&page, "<li><span>patch %d: B5</span><button>closed</button></li>", i+1)
	}
	page.WriteString("</ul></section></div></main></div>")
	folder := t.TempDir()
	path := filepath.Join(folder, "patches.html")
	if err := os.WriteFile(path, []byte(page.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	p := chromium.Open(t, time.Minute)
	p.Do(chromedp.Navigate("file://" + path))
	data, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF())
	if err != nil {
		t.Fatal(err)
	}
	printed := filepath.Join(folder, "patches.pdf")
	if err := os.WriteFile(printed, data, 0o600); err != nil {
		t.Fatal(err)
	}
	words, err := exec.Command(text, printed, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(words), "patch "); n != patches || strings.Contains(string(words), "closed") {
		t.Errorf("%d of %d patches are printed\n%s", n, patches, words)
	}
	if pages := strings.Count(string(words), "\f"); pages < 2 {
		t.Errorf("on %d pages", pages)
	}
}
