package web

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rollwright/examples"
	"rollwright/internal/flicker"
	"rollwright/internal/judge"
)

// viewer is one tab for all tests of the views: it goes from bench to bench.
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
		judge.Missing(t, "axe-core", "npm ci in web/page")
	}
	for _, view := range []struct {
		name string
		see  func(t *testing.T, v *viewer)
	}{{"take", seeTake}, {"design", seeDesign}, {"light", seeLight}, {"meet", seeMeet}, {"grip", seeGrips}, {"lit", seeLit}, {"voices", seeVoices}, {"flashes", seeFlashes},
		{"what if", seeWhatIf}} {
		t.Run(view.name, func(t *testing.T) {
			// A tab of its own: fingers and sizes that one view was tried with stay in its tab.
			view.see(t, &viewer{visitor: &visitor{chrome(t)}, axe: string(axe)})
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
	v.JS(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "6", bubbles: true}))`)
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

// seeDesign: the design of a table is found, laid over the paper, heard alone, and
// taken into a piece.
func seeDesign(t *testing.T, v *viewer) {
	b := serve(t, map[string]string{"round.csv": roundTable(true), "small.piece": small})
	v.open(b)
	v.tab("design")
	v.judge("design-empty", "right")
	v.tab("folder")
	v.click(".file-name", "round.csv")
	v.Await(`bench.work.value.pianos[0].slots.count === 72 && document.querySelector(".as-it-is")`)
	v.judge("as-it-is", "left")
	v.JS(`document.querySelector(".design button.main").click()`)
	v.Await(`document.querySelectorAll(".claim").length === 3`)
	v.click(".claim:first-child button", "On the paper")
	v.Await(`bench.design.chosen.value.kind === "canon"`)
	v.JS(`bench.seek(6)`)
	v.judge("design-canon", "paper")
	v.click(".claim:last-child button", "On the paper")
	v.Await(`bench.design.chosen.value.kind === "voice"`)
	v.judge("design-voice", "paper")
	v.judge("design-claims", "right")
	v.click(".claim:last-child button", "Hear it alone")
	v.Await(`bench.soundState().playing && bench.source.value === "design"`)
	v.JS(`document.querySelector(".play").click()`)
	v.click(".claim:last-child button", "Into a new piece")
	v.Await(`document.querySelector(".claim .name-line input")`)
	v.hurry(".claim .name-line input", "alone", `f.form.requestSubmit()`)
	v.Await(`bench.open.value.name === "alone.piece" && bench.work.value.voices.length === 1 && bench.work.value.pianos[0].slots.count === 36`)
	if text := b.disk("alone.piece"); text != value[string](v.visitor, `bench.text()`) {
		t.Errorf("the piece on the disk is\n%s", text)
	}
}

// seeLight: a picture is laid under the holes, what differs leads to its place and its
// line, the picture fades and slides, and plan and paper are both heard.
func seeLight(t *testing.T, v *viewer) {
	dir := t.TempDir()
	missing, _ := punchWalk(t, dir)
	b := serveFolder(t, dir)
	b.put("small.piece", small)
	v.open(b)
	v.JS(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "7", bubbles: true}))`)
	v.Await(`document.querySelector(".light .sources input").checked`)
	v.judge("light-begin", "right")
	v.tab("folder")
	v.click(".file-name", "walk")
	v.Await(`bench.open.value.name === "walk.piece" && bench.work.value.title === "Walk"`)
	v.click(".light button.main", "")
	v.Await(`bench.light.light.value && document.querySelectorAll(".light .finding").length === 2`)
	v.click(".light .finding-go", "missing")
	v.Await(`bench.light.looked.value.kind === "difference" && bench.painted.sec > 1`)
	along := value[float64](v.visitor, `bench.light.light.value.differences.find(d => d.kind === "missing").along`)
	if along-missing.Lead > 0.01 || missing.Lead-along > 0.01 {
		t.Errorf("what is missing lies at %v mm, not %v", along, missing.Lead)
	}
	v.Await(`bench.light.light.value.tiles.fetched > 0`)
	v.judge("light-paper", "paper")
	v.judge("light", "right")
	v.click(".light .finding .link", "ine")
	v.Await(`getSelection().toString().length > 10 || document.querySelector("#panel-text:not([hidden])")`)
	v.hurry(`.light input[type=range]`, "1", ``)
	v.Await(`bench.light.fade.value === 1`)
	v.judge("light-picture", "paper")
	// The hole that chad fills: its crop is seen, and the answer to it kept.
	v.Await(`document.querySelector(".doubts .doubt img")?.naturalWidth > 20`)
	v.judge("light-doubt", "right")
	v.JS(`document.querySelector(".doubts button").focus()`)
	v.Keys("j")
	v.Await(`document.querySelector(".doubts button[aria-pressed=true]")`)
	if text := b.disk("scan.answers.csv"); strings.Count(text, "\n") != 2 || !strings.HasSuffix(text, ",is\n") {
		t.Errorf("kept is\n%s", text)
	}
	v.repairs(b)
	v.click(".light button", "the paper")
	v.JS(`bench.seek(0); document.querySelector(".play").click()`)
	v.Await(`bench.soundState().playing && bench.source.value === "scan"`)
	v.JS(`document.querySelector(".play").click()`)

	// Of another roll: kept as a table, and opened.
	v.tab("folder")
	v.click(".file-name", "small")
	v.Await(`bench.work.value.title === "Small"`)
	v.click(".light button.main", "")
	v.Await(`document.querySelector(".light .note-amber") && bench.light.light.value?.unlike`)
	v.judge("light-unlike", "right")
	v.click(".light button.main", "table")
	v.hurry(".light .name-line input", "scan", `f.form.requestSubmit()`)
	v.Await(`bench.open.value.name === "scan.csv" && bench.work.value.pianos[0].slots.count === 90`)
}

// repairs: the worksheet is made, and the journal takes down what the paper has.
func (v *viewer) repairs(b *bench) {
	v.Helper()
	v.click(".repair button", "Worksheet")
	v.Await(`document.querySelector(".repair a[download]")?.textContent === "Save"`)
	v.click(".repair button", "journal")
	v.Await(`document.querySelector(".repair [role=status]")?.textContent.includes("1 more hole to patch")`)
	v.judge("light-repair", "right")
	if text := b.disk("walk.piece.journal"); !strings.Contains(text, "prove") {
		v.Errorf("the journal does not say that the roll is proved:\n%.300s", text)
	}
}

// press presses a place of the paper with the mouse, or with a finger.
func (v *viewer) press(x, y float64, finger bool) {
	v.Helper()
	if finger {
		touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
			wish := input.DispatchTouchEventParams{Type: kind, TouchPoints: points}
			if _, err := chromedp.Call(v.Ctx, input.DispatchTouchEvent, wish); err != nil {
				v.Fatal(err)
			}
		}
		touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
		touch(input.DispatchTouchEventTypeTouchEnd)
		return
	}
	v.Do(chromedp.MouseClickXY(x, y))
}

// seeMeet: two notes are chosen on the paper by keys, by mouse and by touch; what makes
// them meet is listed, and one attribute is kept.
func seeMeet(t *testing.T, v *viewer) {
	b := serve(t, map[string]string{"pulses.piece": twoPulses})
	v.open(b)
	v.tab("meetings")
	v.judge("meet-begin", "right")
	chosen := func(n int) { v.Await(fmt.Sprintf(`bench.meet.picked.value.notes.length === %d`, n)) }

	// By keys: M, to the first hole, Enter; to the next one, of the other voice, Enter.
	v.JS(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "m", bubbles: true}))`)
	v.Await(`document.activeElement.classList.contains("paper-canvas")`)
	v.judge("meet-picking", "paper")
	v.JS(`document.querySelector(".paper-canvas").focus()`)
	v.Keys(kb.ArrowRight)
	v.Keys(kb.Enter)
	chosen(1)
	// Both begin together: the next hole at 0, then on to a later one of the other voice.
	for range 20 {
		v.Keys(kb.ArrowRight)
		v.Keys(kb.Enter)
		if value[int](v.visitor, `bench.meet.picked.value.notes.length`) == 2 {
			break
		}
	}
	chosen(2)
	v.Await(`document.querySelector(".meet-these [role=status]")`)

	// By mouse and by touch: holes whose places the paper's own words tell.
	spot := func(sec float64, voice int) (x, y float64) {
		v.JS(fmt.Sprintf(`bench.seek(%g); document.querySelector(".paper-canvas").focus()`, sec-0.1))
		v.Await(fmt.Sprintf(`Math.abs(bench.painted.sec - %g) < 1e-6`, sec-0.1))
		v.Keys(kb.Escape) // from the bar, not from the hole looked at last
		for range 2 {
			v.Keys(kb.ArrowRight)
			v.Await(fmt.Sprintf(`Math.abs(bench.painted.sec - %g) < 0.06 && document.querySelector(".tip")`, sec))
			if value[bool](v.visitor, fmt.Sprintf(`document.querySelector(".tip").textContent.includes(["low", "high"][%d])`, voice)) {
				break
			}
		}
		at := value[[]float64](v.visitor, `(() => { const r = document.querySelector(".paper-canvas").getBoundingClientRect(), s = document.querySelector(".tip").style; return [r.left + parseFloat(s.left), r.top + parseFloat(s.top) - 2] })()`)
		v.Keys(kb.Escape)
		return at[0], at[1]
	}
	for _, finger := range []bool{false, true} {
		v.click(".meet-these button", "Choose")
		x, y := spot(2.5, 0) // note 11 of low
		v.press(x, y, finger)
		chosen(1)
		x, y = spot(1.5, 1) // note 5 of high
		v.press(x, y, finger)
		chosen(2)
		v.Await(`document.querySelectorAll(".meet-these .finding-met").length === 4`)
	}
	v.judge("meet", "right")
	v.judge("meet-paper", "paper")
	v.click(".meet-these .finding-met button", "Keep")
	want := strings.Replace(twoPulses, "extent = \"20 notes\"\n", "extent = \"20 notes\"\n  speed  = 3/5\n", 1)
	v.Await(`bench.text() === ` + quote(want))
	v.Await(`bench.work.value.voices[1].endSec > 12`) // 20 notes of 3/8 s at speed 3/5
	v.Keys("z", chromedp.ModifierCtrl)
	v.Await(`bench.text() === ` + quote(twoPulses))
}

// gripAt is the middle of a grip on the screen.
func (v *viewer) gripAt(id string) (x, y float64) {
	v.Helper()
	v.Await(fmt.Sprintf(`document.querySelector('[data-grip=%q]')`, id))
	v.JS(`await new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))`)
	at := value[[]float64](v.visitor, fmt.Sprintf(`(() => { const r = document.querySelector('[data-grip=%q]').getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2] })()`, id))
	return at[0], at[1]
}

// pixels are how far a time is on the screen: the paper moves down.
func (v *viewer) pixels(sec float64) float64 {
	v.Helper()
	return value[float64](v.visitor, fmt.Sprintf(`bench.grip.pixels(%g)`, sec))
}

// drag takes a grip and carries it so many seconds, with the mouse or a finger. It is
// still held.
func (v *viewer) drag(id string, sec float64, finger bool, held ...chromedp.Modifier) (letGo func()) {
	v.Helper()
	x, y := v.gripAt(id)
	to := y - v.pixels(sec)
	mouse := func(kind input.DispatchMouseEventType, y float64) {
		wish := input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, ClickCount: 1}
		for _, h := range held {
			wish.Modifiers |= int64(h)
		}
		if _, err := chromedp.Call(v.Ctx, input.DispatchMouseEvent, wish); err != nil {
			v.Fatal(err)
		}
	}
	touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) {
		wish := input.DispatchTouchEventParams{Type: kind, TouchPoints: points}
		if _, err := chromedp.Call(v.Ctx, input.DispatchTouchEvent, wish); err != nil {
			v.Fatal(err)
		}
	}
	if finger {
		touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y})
		for n := range 5 {
			touch(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: x, Y: y + (to-y)*float64(n+1)/5})
		}
		return func() { touch(input.DispatchTouchEventTypeTouchEnd) }
	}
	mouse(input.DispatchMouseEventTypeMousePressed, y)
	for n := range 5 {
		mouse(input.DispatchMouseEventTypeMouseMoved, y+(to-y)*float64(n+1)/5)
	}
	return func() { mouse(input.DispatchMouseEventTypeMouseReleased, to) }
}

// seeGrips: what lies on the paper is moved by mouse, touch and keys; the roll follows
// before anything is written, Escape takes it back, one attribute is written and undo is
// one step.
func seeGrips(t *testing.T, v *viewer) {
	b := serve(t, map[string]string{"pulses.piece": twoPulses})
	v.open(b)
	is := func(text string) {
		v.Helper()
		v.Await(`bench.text() === ` + quote(text))
	}
	begins := func(sec float64) {
		v.Helper()
		v.Await(fmt.Sprintf(`Math.abs(bench.work.value.voices[0].startSec - %g) < 1e-9`, sec))
	}
	line := func(name, value string) string {
		return strings.Replace(twoPulses, "extent = \"30 notes\"\n", "extent = \"30 notes\"\n  "+name+"  = \""+value+"\"\n", 1)
	}
	for _, finger := range []bool{false, true} {
		// A second and a little more: 8 units and a bit.
		letGo := v.drag("start low", 1.03, finger)
		begins(1)
		v.Await(`document.querySelector(".grip-slip code")?.textContent === "start = 8 units"`)
		is(twoPulses)
		if !finger {
			v.judge("grip-held", "paper")
		}
		v.Keys(kb.Escape)
		begins(0)
		v.Await(`!document.querySelector(".grip-slip")`)
		letGo()
		is(twoPulses)

		letGo = v.drag("start low", 1.03, finger)
		begins(1)
		letGo()
		is(line("start", "8 units"))
		v.Await(`bench.saveState.value === "saved"`)
		if text := b.disk("pulses.piece"); text != line("start", "8 units") {
			t.Errorf("the file has\n%s", text)
		}
		begins(1)
		// Undone, the grip lies where its roll does from the first frame on.
		v.JS(`document.querySelector(".paper-canvas").focus(); window.together = (async () => {
			while (bench.work.value.voices[0].startSec > 0) await new Promise(requestAnimationFrame);
			return document.querySelector('[data-grip="start low"]').getAttribute("aria-valuenow");
		})()`)
		v.Keys("z", chromedp.ModifierCtrl)
		is(twoPulses)
		begins(0)
		if at := value[string](v.visitor, `window.together`); at != "0" {
			t.Errorf("the roll begins at 0 s and its grip lies at %s s", at)
		}
	}
	// Alt goes between; the end of the other voice draws the start.
	letGo := v.drag("start low", 1.03, false, chromedp.ModifierAlt)
	v.Await(`document.querySelector(".grip-slip code")?.textContent.match(/^start = 1[.]0\d+ s$/)`)
	v.Keys(kb.Escape)
	letGo()
	begins(0)

	// By keys: up is later, Enter writes, and what it stops at is said.
	v.JS(`bench.seek(0); document.querySelector('[data-grip="end low"]').focus()`)
	v.Keys(kb.ArrowDown)
	v.Await(`document.querySelector(".grip-slip code")?.textContent === "extent = 29 notes"`)
	v.Keys(kb.ArrowDown)
	v.Await(`document.querySelector(".grip-slip code")?.textContent === "extent = 28 notes"`)
	v.Await(`bench.work.value.voices[0].notes === 28`)
	v.Await(`[...document.querySelectorAll("[role=status]")].some(e => e.textContent === "extent = 28 notes, at 0:07.00, notes")`)
	is(twoPulses)
	v.judge("grip-keys", "paper")
	v.JS(`document.querySelector('[data-grip="end low"]').focus()`)
	v.Keys(kb.Enter)
	short := strings.Replace(twoPulses, "30 notes", "28 notes", 1)
	is(short)
	v.Keys("z", chromedp.ModifierCtrl)
	is(twoPulses)
}

// seeLit: a hole and its item in the text light each other, and play starts from the
// cursor.
func seeLit(t *testing.T, v *viewer) {
	b := serve(t, map[string]string{"shared.piece": shared})
	v.open(b)
	lit := func() string { return `[...document.querySelectorAll(".cm-lit")].map(e => e.textContent).join("")` }
	v.JS(`document.querySelector(".paper-canvas").focus()`)
	v.Keys(kb.ArrowRight)
	v.Await(`document.querySelector(".tip") && ` + lit() + ` === "C3"`)
	v.JS(`document.querySelector(".cm-content").focus()`)
	v.Await(`bench.lit.value === null`)
	// To the second pitch of the tune, by keys: line 4, column 15.
	v.Keys(kb.Home, chromedp.ModifierCtrl)
	for range 3 {
		v.Keys(kb.ArrowDown)
	}
	for range 14 {
		v.Keys(kb.ArrowRight)
	}
	v.Await(`bench.lit.value && [...bench.lit.value.notes.get(0)].join(" ") === "2 5"`)
	v.judge("lit", "paper")
	v.JS(`document.querySelector("#tab-text").click(); document.querySelector(".cm-content").focus()`)
	v.Keys(kb.Enter, chromedp.ModifierCtrl)
	v.Await(`bench.soundState().playing`)
	v.Await(`bench.painted.sec >= bench.work.value.voices[0].startSec + 0.25`)
	v.JS(`document.querySelector(".play").click()`)
	if text := value[string](v.visitor, `bench.text()`); text != shared {
		t.Errorf("the text has become\n%s", text)
	}
}

// seeVoices: several voices alone at once; with forty and more they are found by their
// groups and by a filter.
func seeVoices(t *testing.T, v *viewer) {
	var text strings.Builder
	text.WriteString("tune \"t\" {\n  talea = \"2\"\n  color = \"C3\"\n}\n")
	for c := range 9 {
		fmt.Fprintf(&text, "canon \"c%d\" {\n  subject = \"t\"\n", c)
		for n := range 10 {
			fmt.Fprintf(&text, "  voice \"v%d.%d\" {\n    transpose = %d\n  }\n", c, n, c+n)
		}
		text.WriteString("}\n")
	}
	v.open(serve(t, map[string]string{"many.piece": text.String()}))
	alone := func(want string) { v.Await(`[...bench.alone.value].join(" ") === ` + quote(want)) }
	v.click(".legend li button", "v0.1")
	v.click(".legend li button", "v0.3")
	alone("1 3")
	v.click(".legend-find button", "c0 (10)")
	alone("1 3 0 2 4 5 6 7 8 9")
	v.click(".legend li button", "All voices")
	alone("")
	if n := value[int](v.visitor, `document.querySelectorAll(".legend ul li").length`); n > 62 {
		t.Errorf("%d voices are listed of 90", n)
	}
	v.hurry(".legend-find input", "v8", "")
	v.click(".legend-find button", "Only these 10")
	alone("80 81 82 83 84 85 86 87 88 89")
	v.judge("voices", "paper")
}

// seeWhatIf: a speed is turned by mouse, touch and keys; what follows is there before it
// is written, Escape takes it back, one attribute is kept.
func seeWhatIf(t *testing.T, v *viewer) {
	b := serve(t, map[string]string{"pulses.piece": twoPulses})
	v.open(b)
	v.tab("whatif")
	v.JS(`const s = document.querySelector("#whatif-voice"); s.value = "1"; s.dispatchEvent(new Event("change", {bubbles: true}))`)
	v.Await(`document.querySelector("#turn-high-speed")?.parentElement.querySelector("output").textContent === "1"`)
	cell := func(row, column int) string {
		return fmt.Sprintf(`document.querySelectorAll(".comes tbody tr")[%d]?.cells[%d]?.textContent`, row, column)
	}
	v.Await(cell(0, 1) + ` === "0:07.50" && ` + cell(1, 1) + ` === "10"`)

	// Half of the way up from 1 to 4 is 2: pressed there, it stops at it. Notes of high then
	// begin every 3/2 units, those of low every 2: one in six units meets, of thirty.
	press := func(share float64, finger bool) {
		at := value[[]float64](v.visitor, fmt.Sprintf(`(() => { const e = document.querySelector("#turn-high-speed"); e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.x + 8 + (r.width - 16) * %g, r.y + r.height / 2] })()`, share))
		v.press(at[0], at[1], finger)
	}
	output := `document.querySelector("#turn-high-speed").parentElement.querySelector("output").textContent`
	for _, finger := range []bool{false, true} {
		press(0.75, finger)
		v.Await(output + ` === "2"`)
		v.Await(`Math.abs(bench.work.value.voices[1].endSec - 3.75) < 1e-9`)
		v.Await(cell(1, 2) + ` === "5"`)
		v.Await(`bench.text() === ` + quote(twoPulses))
		if !finger {
			v.judge("whatif", "right")
		}
		v.JS(`document.querySelector("#turn-high-speed").focus()`)
		v.Keys(kb.Escape)
		v.Await(`Math.abs(bench.work.value.voices[1].endSec - 7.5) < 1e-9`)
		v.Await(output + ` === "1"`)
	}
	// By keys: away from the stop it passes between.
	v.JS(`document.querySelector("#turn-high-speed").focus()`)
	for range 9 {
		v.Keys(kb.ArrowRight)
	}
	v.Await(output + ` === "1.025"`) // 4^(9/500)
	v.Keys(kb.Escape)
	press(0.75, false)
	v.Await(output + ` === "2" && bench.whatif.trial.value?.there`)
	v.JS(`document.querySelector("#turn-high-speed").focus()`)
	v.Keys(kb.Enter)
	want := strings.Replace(twoPulses, "extent = \"20 notes\"\n", "extent = \"20 notes\"\n  speed  = 2\n", 1)
	v.Await(`bench.text() === ` + quote(want))
	v.JS(`const fetched = fetch; window.fetch = async (what, how) => {
		if (what === "api/work") await new Promise(r => setTimeout(r, 300));
		return fetched(what, how);
	}`)
	v.JS(`document.querySelector(".paper-canvas").focus()`)
	v.Keys("z", chromedp.ModifierCtrl)
	v.Await(`bench.text() === ` + quote(twoPulses))
	// Asked for while the roll is on its way it comes, and of the number as it is then: from
	// half of 1 to twice as much.
	v.click(".whatif button", "every simple number")
	v.Await(`document.querySelectorAll(".surveyed tbody tr").length > 10`)
	v.Await(`Math.abs(bench.work.value.voices[1].endSec - 7.5) < 1e-9`)
	numbers := `[...document.querySelectorAll(".surveyed tbody th")].map(e => e.textContent.split("/").reduce((a, b) => a / b)).filter(isFinite)` // but for roots
	v.Await(`document.querySelectorAll(".surveyed tbody tr").length > 10 && (n => Math.min(...n) >= 0.5 && Math.min(...n) < 1 && Math.max(...n) <= 2)(` + numbers + `)`)
	v.judge("whatif-survey", "right")
}

// seeFlashes holds the paper of the densest example, while it plays, to WCAG 2.2, 2.3.1:
// see flicker.Worst. The paper is painted thirty times a second as the clock of the music
// would have it, as is and calm.
func seeFlashes(t *testing.T, v *viewer) {
	text, err := examples.Source(densest)
	if err != nil {
		t.Fatal(err)
	}
	v.open(serve(t, map[string]string{"dense.piece": string(text)}))
	type taken struct {
		Columns int
		Cells   [][]float64
	}
	const cell = 8
	look := fmt.Sprintf(`(async () => {
		const c = document.querySelector(".paper-canvas"), { width, height } = c, size = %d;
		const slots = bench.work.value.slots.lead, piano = bench.work.value.pianos[0];
		let most = 0, at = 0; // the fullest 200 mm
		for (let a = 0, b = 0; b < piano.slots.count; b++) {
			while (slots[b] - slots[a] > 200) a++;
			if (b - a > most) { most = b - a; at = slots[a]; }
		}
		const from = at / piano.transport.v0, columns = Math.floor(width / size), rows = Math.floor(height / size);
		const linear = Array.from({length: 256}, (_, i) => { const x = i / 255; return x > 0.04045 ? ((x + 0.055) / 1.055) ** 2.4 : x / 12.92; });
		const cells = Array.from({length: columns * rows}, () => []);
		for (let n = 0; n < 30; n++) {
			bench.playing.set(false);
			bench.seek(from + n / 30);
			bench.playing.set(bench.calm.value); // it is calm while the paper moves
			await new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)));
			const d = c.getContext("2d").getImageData(0, 0, width, height).data;
			for (let k = 0; k < cells.length; k++) {
				let sum = 0;
				for (let y = 0; y < size; y++) for (let x = 0; x < size; x++) {
					const p = 4 * ((Math.floor(k / columns) * size + y) * width + (k %% columns) * size + x);
					sum += 0.2126 * linear[d[p]] + 0.7152 * linear[d[p + 1]] + 0.0722 * linear[d[p + 2]];
				}
				cells[k].push(Math.round(1000 * sum / size / size) / 1000);
			}
		}
		return {Columns: columns, Cells: cells};
	})()`, cell)
	measure := func(name string) float64 {
		got := value[taken](v.visitor, look)
		worst := flicker.Worst(got.Cells, got.Columns, 341*1600/1024/cell, 256*1600/1024/cell)
		t.Logf("%s: at most %.1f %% of a rectangle flash", name, 100*worst)
		if worst > 0.25 {
			t.Errorf("%s: %.0f %% of a rectangle flash more than three times a second", name, 100*worst)
		}
		return worst
	}
	measure("the whole width")
	v.JS(`for (let n = 0; n < 3; n++) document.querySelector(".zoom button").click()`)
	near := measure("near")
	v.JS(`bench.calm.set(true)`)
	if calm := measure("near and calm"); calm > near {
		t.Errorf("calm paper flashes more: %.3f after %.3f", calm, near)
	}
	v.judge("calm", "paper")
	v.JS(`bench.calm.set(false); bench.playing.set(false)`)
}

// densest is the example with the most holes on screen at once: film_test.go reckons it.
const densest = "two-sheds"
