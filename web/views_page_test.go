package web

import (
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// viewer is one browser for all tests of the views: it goes from bench to bench.
type viewer struct {
	*visitor
	axe string
}

// screens are what views are looked at on.
var screens = []struct {
	name          string
	width, height int64
	dark          bool
}{{"light-wide", 1600, 1000, false}, {"dark-narrow", 390, 844, true}}

// TestPageViews: each view in a real browser, one after the other.
func TestPageViews(t *testing.T) {
	axe, err := os.ReadFile("page/node_modules/axe-core/axe.min.js")
	if err != nil {
		missing(t, "axe-core", "npm ci in web/page")
	}
	tab := chrome(t)
	for _, view := range []struct {
		name string
		see  func(t *testing.T, v *viewer)
	}{{"take", seeTake}} {
		t.Run(view.name, func(t *testing.T) {
			one := *tab
			one.TB = t
			view.see(t, &viewer{visitor: &visitor{&one}, axe: string(axe)})
		})
	}
}

// go opens a workbench for the tab, on a wide and light screen.
func (v *viewer) open(b *bench) {
	v.Helper()
	v.Prefer("prefers-color-scheme", "light")
	v.visitor = visit(v, v.Tab, b.address())
	v.skipTour()
	v.JS(v.axe)
}

// judge asks axe-core of what is seen, on every screen; page is the one that a narrow
// screen shows: left, paper or right.
func (v *viewer) judge(name, page string) {
	v.Helper()
	for _, s := range screens {
		v.Prefer("prefers-color-scheme", map[bool]string{true: "dark", false: "light"}[s.dark])
		v.Do(chromedp.EmulateViewport(s.width, s.height))
		if s.width < 900 {
			v.JS(fmt.Sprintf(`document.querySelectorAll(".pages button")[%d].click()`,
				map[string]int{"left": 0, "paper": 1, "right": 2}[page]))
		}
		v.JS(`await new Promise(r => setTimeout(r, 250))`)
		if found := value[string](v.visitor, `axe.run().then(r => r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 160) + " " + n.failureSummary).join("; ")).join("\n"))`); found != "" {
			v.Errorf("%s, %s: %s", name, s.name, found)
		}
		if wide := value[string](v.visitor, `[...document.querySelectorAll(".panel")].filter(e => e.scrollWidth > e.clientWidth).map(e => e.id).join(" ")`); wide != "" {
			v.Errorf("%s, %s: %s is wider than its place", name, s.name, wide)
		}
		v.picture(s.name + "-" + name)
	}
	v.Prefer("prefers-color-scheme", "light")
	v.Do(chromedp.EmulateViewport(1600, 1000))
}

// seeTake: a recording is held against the roll, its silent strokes are listed and
// marked, and each is played as recorded and as computed.
func seeTake(t *testing.T, v *viewer) {
	b := serve(t, map[string]string{"small.piece": small})
	v.open(b)
	v.tab("take")
	v.Await(`document.querySelector(".take .empty")`)
	v.judge("take-empty", "right")

	dir := t.TempDir()
	recordWalk(t, dir)
	b = serveFolder(t, dir)
	v.open(b)
	v.JS(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "5", bubbles: true}))`)
	v.click(".take .sources button", "")
	v.Await(`bench.take.heard.value`)
	v.Await(`document.querySelector(".take .finding-forbids .finding-title").textContent.startsWith("E4 was silent in")`)
	v.Await(`document.querySelectorAll(".take .stroke").length >= 8`)
	// The first silent E4 is the third note of the low voice: 2 + 3 sixteenths at 120 a
	// minute are 5/8 s.
	v.click(".take .stroke .row button", "As computed")
	v.Await(`bench.soundState().playing && document.querySelector(".stroke-now")`)
	v.JS(`document.querySelector(".play").click()`)
	v.click(".take .stroke .row button", "As recorded")
	v.Await(`bench.soundState().playing && bench.source.value === "take"`)
	from := value[float64](v.visitor, `bench.painted.sec`)
	time.Sleep(400 * time.Millisecond)
	if to := value[float64](v.visitor, `bench.painted.sec`); to <= from || to > from+3 {
		t.Errorf("the paper went from %v to %v s while the recording played", from, to)
	}
	v.JS(`document.querySelector(".play").click()`)
	v.JS(`[...document.querySelectorAll(".take .stroke .link")][0].click()`)
	v.Await(`Math.abs(bench.painted.sec - 0.625) < 0.01`)
	v.judge("take", "right")
	v.judge("take-paper", "paper")

	// What was heard is of this paper alone.
	v.write(strolling + "# more\n")
	v.Await(`document.querySelector(".take > .note-amber")`)
	v.judge("take-old", "right")
}
