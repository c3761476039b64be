package workshop

import (
	"context"
	"errors"
	"flag"
	"html"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rollwright/examples"
	"rollwright/internal/chromium"
	"rollwright/sound/flac"
	"rollwright/telling/show"
	"rollwright/text/source"
)

// views is where TestReportInBrowser leaves what it sees.
var views = flag.String("pictures", "", "folder for pictures of the report")

func TestMain(m *testing.M) { os.Exit(chromium.Run(m)) }

// writeSecondOfSilence writes a sound of one second.
func writeSecondOfSilence(w io.Writer) error {
	f, err := flac.NewWriter(w, flac.Format{Rate: 8000, Channels: 1, Bits: 16})
	if err != nil {
		return err
	}
	return errors.Join(f.Write(make([]float32, 8000), nil), f.Close())
}

// The report shows each finding's message, place and remedy as paragraphs, which
// wrap on any screen and on paper.
func TestReportFindings(t *testing.T) {
	const text = "voice \"v\" {\n  talea = \"1/4\"\n  color = \"C4\"\n  extent = \"4 notes\"\n}\n"
	j, err := New(context.Background(), &source.File{Name: "x.piece", Text: []byte(text)}, ".")
	if err != nil {
		t.Fatal(err)
	}
	page, err := textOf(func(w io.Writer) error {
		return j.writeReport(context.Background(), w, []string{"roll.pdf"}, Options{})
	})
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
		wants := []string{`<p class="remedy">` + told.Remedy + "</p>"}
		for _, l := range told.Lines {
			wants = append(wants, "<p><b>"+l.Severity.Words()+"</b>: "+l.What+"</p>", `<p class="where">`+l.Where+"</p>")
			if !strings.Contains(l.Where, "x.piece:") {
				t.Errorf("%q names no line", l.Where)
			}
		}
		for _, want := range wants {
			if !strings.Contains(page, want) {
				t.Errorf("%q is not in the report", want)
			}
		}
	}
	if strings.Contains(page, "<pre") {
		t.Error("something stands in lines that do not wrap")
	}
	if !strings.Contains(page, report.Summary()) {
		t.Errorf("the report does not count: %s", report.Summary())
	}
}

// looms is an example with a canon of four voices, and its report with a sound.
func looms(t *testing.T) (*Job, string) {
	t.Helper()
	text, err := examples.Source("four-looms")
	if err != nil {
		t.Fatal(err)
	}
	j, err := New(context.Background(), &source.File{Name: "four-looms.piece", Text: text}, ".")
	if err != nil {
		t.Fatal(err)
	}
	page, err := textOf(func(w io.Writer) error {
		return j.writeReport(context.Background(), w, []string{"roll.pdf", "lecture.html", "sound.flac"}, Options{})
	})
	if err != nil {
		t.Fatal(err)
	}
	return j, page
}

// The report counts notes as plan does: a chord, and a strum that is written as one, is one.
func TestReportCountsNotesAsPlan(t *testing.T) {
	path := filepath.Join(t.TempDir(), "chords.piece")
	text := "voice \"a\" {\n  talea = \"4\"\n  color = \"C4+E4 D4\"\n  extent = \"6 notes\"\n}\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	j, err := Open(t.Context(), path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if found, err := j.Findings(); err != nil || j.Performance.Count != 9 {
		t.Fatal(j.Performance.Count, err)
	} else if got := j.facts(found)[1]; got.Value != "6 notes in 1 voice" {
		t.Errorf("%+v", got)
	}
}

// The report says of the music what performance and plan have. Hand-worked: the
// slowest of four looms plays 300 units in 78 s at 1/16, 3.846 units a second or
// 57.6923 quarter notes a minute, and 90 notes.
func TestReportTellsOfTheMusic(t *testing.T) {
	j, page := looms(t)
	text := html.UnescapeString(page)
	for _, want := range []string{
		"<dt>lasts</dt><dd>1:18.0</dd>", "<dt>plays</dt><dd>360 notes in 4 voices</dd>",
		`<tr><th scope="row">I</th><td>57.6923</td><td>10 pitches</td><td>9 durations and 2 silences</td><td>90 notes</td>` +
			`<td class="number">90</td><td class="number">0:00.0</td><td class="number">1:18.0</td></tr>`,
		"<dt>at the bench</dt><dd>" + j.Hands() + "</dd>",
		`<audio controls preload="none" src="sound.flac">`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in the report", want)
		}
	}
	for _, v := range j.Plan().Voices {
		if !strings.Contains(text, `<tr><th scope="row">`+v.Name+"</th><td>"+v.Tempo()+"</td>") {
			t.Errorf("voice %s has no row", v.Name)
		}
	}
	meets := j.Plan().Meets()
	if len(meets) < 2 {
		t.Fatal("nothing meets: the piece shows nothing")
	}
	for _, m := range meets {
		if !strings.Contains(text, `<tr><th scope="row">`+m.Who+"</th><td>"+m.What+"</td></tr>") {
			t.Errorf("%s: %s is not in the report", m.Who, m.What)
		}
	}
	l, err := j.Lecture(context.Background(), show.Options{})
	if err != nil {
		t.Fatal(err)
	}
	shown := 0
	for _, s := range l.Steps {
		if s.Figure == nil || s.Kind == show.Voice || s.Kind == show.All || shown == mostShownSteps {
			continue
		}
		shown++
		if !strings.Contains(text, "<figcaption>"+s.Figure.Caption+"</figcaption>") ||
			!strings.Contains(text, `alt="`+s.Figure.Title+`"`) {
			t.Errorf("the picture of step %s is not in the report", s.Name)
		}
	}
	if n := strings.Count(page, "data:image/svg"); n != shown || n < 4 {
		t.Errorf("%d pictures of the lecture, want %d", n, shown)
	}
	if !strings.Contains(page, `<a href="lecture.html">`) {
		t.Error("nothing leads to the lecture")
	}
}

// Every picture of the report is shown and has words, its faces are there, the
// sound beside it can be played from the disk, nothing of it is against its own
// policy; axe-core, Deque's implementation of the W3C's accessibility rules, finds
// nothing in any light at any width, and only frames are wider than a screen.
func TestReportInBrowser(t *testing.T) {
	_, page := looms(t)
	axe, err := os.ReadFile("../telling/show/testdata/axe/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	path := filepath.Join(folder, "report.html")
	if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	sounding, err := os.Create(filepath.Join(folder, "sound.flac"))
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(writeSecondOfSilence(sounding), sounding.Close()); err != nil {
		t.Fatal(err)
	}
	tab := chromium.Open(t, 3*time.Minute)
	for _, scheme := range []string{"light", "dark"} {
		tab.Prefer("prefers-color-scheme", scheme)
		for _, width := range []int64{390, 1600} {
			tab.Do(chromedp.EmulateViewport(width, 1000), chromedp.Navigate("file://"+path))
			tab.Await(`document.fonts.status === "loaded"`)
			tab.Await(`[...document.images].every((i) => i.complete && i.naturalWidth > 0 && i.alt)`)
			if !chromium.Value[bool](tab, `document.images.length > 4 && document.fonts.size === 4 &&
				[...document.fonts].some((f) => f.status === "loaded")`) {
				t.Error("pictures or faces are missing")
			}
			got := chromium.Value[[]int64](tab, `[document.documentElement.scrollWidth, document.images[0].clientWidth, document.images[0].parentNode.clientWidth]`)
			if got[0] > width {
				t.Errorf("at %d pixels the page is %d wide", width, got[0])
			}
			if phone := width < 720; phone && (got[1] != 1280 || got[2] >= width) || !phone && got[1] != got[2] {
				t.Errorf("at %d pixels a picture is %d wide in a frame of %d", width, got[1], got[2])
			}
			tab.Picture(*views, "report-"+scheme+"-"+strconv.FormatInt(width, 10))
			tab.JS(string(axe))
			if found := chromium.Value[string](tab, `axe.run().then((r) => r.violations.map((v) =>
				v.id + ": " + v.nodes.map((n) => n.html.slice(0, 120) + " " + n.failureSummary).join("; ")).join("\n"))`); found != "" {
				t.Errorf("%s, %d: %s", scheme, width, found)
			}
		}
	}
	tab.JS(`window.against = ""; document.addEventListener("securitypolicyviolation", (e) => { window.against += e.blockedURI; });
		document.querySelector("audio").load()`)
	tab.JS(`document.querySelector("audio").preload = "auto"`)
	tab.Await(`document.querySelector("audio").duration > 0.9`)
	tab.JS(`const i = new Image(); i.src = "https://example.org/a.png"; document.body.append(i)`)
	tab.Await(`window.against !== ""`)
	if got := chromium.Value[string](tab, `window.against`); got != "https://example.org/a.png" {
		t.Errorf("the policy forbids %s", got)
	}
}
