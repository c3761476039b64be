package show_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rollwright/internal/judge"
	"rollwright/telling/show"
)

func output(t testing.TB, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

// The handout and the speaker's sheet print on A4 and on Letter, with every step
// and its words, in embedded faces. Sizes: ISO 216 (210 by 297 mm is 595.28 by
// 841.89 pt) and ANSI A (612 by 792 pt).
func TestPrints(t *testing.T) {
	info, text, faces := judge.Program(t, "pdfinfo"), judge.Program(t, "pdftotext"),
		judge.Program(t, "pdffonts")
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	p.JS(`rollwright.go(4); rollwright.seek(rollwright.state.at + 1e6); window.print = () => {}`)
	size := regexp.MustCompile(`Page size: +([\d.]+) x ([\d.]+)`)
	for _, paper := range []struct{ name, want string }{{"A4", "594.96 x 841.92|595.92 x 842.88|595.2 x 841.92|595 x 842"},
		{"letter", "612 x 792"}} {
		for _, what := range []string{"handout", "sheet"} {
			p.JS(fmt.Sprintf(`rollwright.print(%q, %q)`, what, paper.name))
			data, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
			if err != nil {
				t.Fatal(err)
			}
			p.JS(`dispatchEvent(new Event("afterprint"))`)
			path := filepath.Join(t.TempDir(), what+"-"+paper.name+".pdf")
			if *pictures != "" {
				path = filepath.Join(*pictures, what+"-"+paper.name+".pdf")
			}
			if err := os.WriteFile(path, data, 0o644); err != nil {
				t.Fatal(err)
			}
			found := size.FindStringSubmatch(output(t, info, path))
			if found == nil || !strings.Contains(paper.want, found[1]+" x "+found[2]) {
				t.Errorf("%s on %s: page size %v", what, paper.name, found)
			}
			words := strings.Join(strings.Fields(output(t, text, "-layout", path, "-")), " ")
			for _, s := range l.Steps {
				if !strings.Contains(words, s.Title) {
					t.Errorf("%s on %s lacks %q", what, paper.name, s.Title)
				}
			}
			if pages := strings.Count(output(t, text, path, "-"), "\f"); !strings.Contains(strings.ReplaceAll(words, " ", ""),
				fmt.Sprintf("%d/%d", pages, pages)) {
				t.Errorf("%s on %s: its %d pages have no numbers", what, paper.name, pages)
			}
			if has := strings.Contains(words, "Count along"); has != (what == "sheet") {
				t.Errorf("%s on %s: what the speaker says is there: %v", what, paper.name, has)
			}
			if has := strings.Contains(words, "the repeating series of durations"); has != (what == "handout") {
				t.Errorf("%s on %s: what the audience reads is there: %v", what, paper.name, has)
			}
			for _, line := range strings.Split(strings.TrimSpace(output(t, faces, path)), "\n")[2:] {
				if f := strings.Fields(line); f[len(f)-5] != "yes" {
					t.Errorf("%s on %s: a face is not embedded: %s", what, paper.name, line)
				}
			}
		}
	}
}
