package web

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"rollwright/examples"
	"rollwright/internal/chromium"
	"rollwright/internal/judge"
)

// These tests drive the page in a real browser: Debian's chromium.

// pictures is where TestViews leaves what it sees.
var pictures = flag.String("pictures", "", "folder for pictures of every view")

// visitor is the page in a tab of a browser.
type visitor struct{ *chromium.Tab }

// chrome opens a tab for one test.
func chrome(t testing.TB) *chromium.Tab {
	t.Helper()
	p := chromium.Open(t, 6*time.Minute)
	p.State = `window.bench ? JSON.stringify({errors: bench.complaints.value, save: bench.saveState.value, text: bench.text().slice(-300)}) : document.body.innerText`
	return p
}

// visit opens the workbench in a tab and waits for the first roll.
func visit(t testing.TB, tab *chromium.Tab, address string) *visitor {
	t.Helper()
	p := &visitor{tab}
	p.Do(chromedp.EmulateViewport(1600, 1000), chromedp.Navigate(address))
	p.Await(`window.bench && bench.work.value !== null`)
	return p
}

// value is what an expression comes to, promises awaited.
func value[T any](p *visitor, expression string) T {
	p.Helper()
	return chromium.Value[T](p.Tab, expression)
}

// tour is over for those who open the workbench a second time.
func (p *visitor) skipTour() {
	p.Helper()
	p.JS(`localStorage.setItem("guided", "done"); [...document.querySelectorAll(".guide button")].pop()?.click()`)
}

func (b *bench) address() string { return b.base + "/" }

// click presses the first element that matches and says text, which may be empty.
func (p *visitor) click(selector, text string) {
	p.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll(%q)].find(e => e.textContent.includes(%q))`, selector, text)
	p.Await(find)
	p.JS(find + `.click()`)
}

func (p *visitor) tab(name string) { p.Helper(); p.click("#tab-"+name, "") }

// hurry types into a field and goes on, by statements about it (f), before the page can
// draw what was typed.
func (p *visitor) hurry(selector, text, on string) {
	p.Helper()
	p.JS(fmt.Sprintf(`const f = document.querySelector(%q); f.focus(); f.value = %q; f.dispatchEvent(new Event("input", {bubbles: true})); %s`, selector, text, on))
}

// write replaces the whole text by another.
func (p *visitor) write(text string) {
	p.Helper()
	p.tab("text")
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Keys("a", chromedp.ModifierCtrl)
	p.Insert(text)
}

// TestPageKeepsItsKey: a server on another port of this machine, visited in the
// same browser, sees neither the key nor anything that would let it in.
func TestPageKeepsItsKey(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	seen := make(chan http.Header, 8)
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/" {
			seen <- r.Header
		}
		fmt.Fprint(w, "<title>other</title>")
	}))
	defer other.Close()
	p := visit(t, chrome(t), b.address())
	// the click is answered before the page goes: what is asked while it goes fails
	p.JS(fmt.Sprintf(`setTimeout(() => { location.href = %q }, 100)`, other.URL+"/"))
	headers := <-seen
	time.Sleep(time.Second)
	p.Await(`document.title === "other"`)
	for name, values := range headers {
		if text := strings.Join(values, " "); name == "Cookie" || name == "Referer" ||
			strings.Contains(text, b.server.token) {
			t.Errorf("the other server is sent %s: %s", name, text)
		}
	}
	if value[int](p, `document.cookie.length`) != 0 {
		t.Error("there is a cookie")
	}
}

func TestPageTypesPieceAndSeesSlots(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	// 3 2 (1) 2: three notes on two pitches are complete after six.
	p.Await(`bench.work.value.pianos[0].slots.count === 6`)

	p.write(small)
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Insert("\nvoice \"high\" {\n  talea = \"1\"\n  color = \"C5 D5 E5\"\n  extent = \"12 notes\"\n}\n")
	p.Await(`bench.work.value.voices.length === 2`)
	p.Await(`bench.work.value.pianos[0].slots.count === 18`)
	if legend := value[string](p, `document.querySelector(".legend").innerText`); !strings.Contains(legend, "high") {
		t.Errorf("the legend says %q", legend)
	}
	p.Await(`bench.saveState.value === "saved"`)
	if text := b.disk("small.piece"); !strings.Contains(text, `voice "high"`) {
		t.Errorf("the file has\n%s", text)
	}
	if outside := value[[]string](p, `performance.getEntriesByType("resource").map(e => e.name).filter(u => !u.startsWith(location.origin) && !u.startsWith("data:"))`); len(outside) > 0 {
		t.Errorf("the page asked for %v", outside)
	}
}

func TestPageMarksErrorAndUndoes(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.write(strings.Replace(small, "C2 G2", "C2 H2", 1))
	p.Await(`bench.complaints.value.length === 1 && bench.stale.value`)
	p.Await(`document.querySelector(".cm-lintRange-error")`)
	if marked := value[string](p, `document.querySelector(".cm-lintRange-error").textContent`); marked != "H2" {
		t.Errorf("%q is marked", marked)
	}
	if line := value[string](p, `document.querySelector(".text-error").textContent`); !strings.HasPrefix(line, "Line 5") {
		t.Errorf("the line says %q", line)
	}
	if old := value[bool](p, `document.querySelector(".paper-old") !== null && bench.work.value.voices.length === 1`); !old {
		t.Error("the roll of the text before is not kept, dimmed")
	}
	if badge := value[string](p, `document.querySelector("#tab-findings .count").textContent`); badge != "1The text has 1 error." {
		t.Errorf("the badge says %q", badge)
	}
	p.tab("findings")
	p.Await(`document.querySelector(".findings > .note-amber")?.textContent === "What follows is of the last text that could be read." && document.querySelector(".findings-old .roll-facts")`)
	p.JS(`document.querySelector(".findings .hint, .findings .finding").click()`) // anywhere on the card
	p.Await(`document.activeElement === document.querySelector(".cm-content") && String(getSelection()) === "H2"`)
	p.Keys("z", chromedp.ModifierCtrl)
	p.Await(`bench.complaints.value.length === 0 && !bench.stale.value`)
	p.Await(`!document.querySelector(".findings-old, .findings > .note-amber")`)
	if text := value[string](p, `bench.text()`); text != small {
		t.Errorf("undo leaves\n%s", text)
	}
}

// clashing has two strokes of C4 40 ms apart, closer than the action's gap.
const clashing = `title = "Clash"
tempo = 75

voice "low" {
  talea = "20"
  color = "C4"
  extent = "1 notes"
}

voice "late" {
  talea = "20"
  color = "C4"
  extent = "1 notes"
  start = "40 ms"
}
`

func TestPageFollowsFindingAndAppliesRemedy(t *testing.T) {
	b := serve(t, map[string]string{"clash.piece": clashing})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("findings")
	p.click(".finding-risks .finding-go", "troke")
	p.Await(`Math.abs(bench.painted.sec - 0.04) < 0.001`)
	p.Await(`document.querySelector(".places")`)
	p.JS(`bench.seek(0)`) // away from it; then a press on the text of the card
	p.Await(`bench.painted.sec < 0.001`)
	p.JS(`document.querySelector(".finding-risks > p").click()`)
	p.Await(`Math.abs(bench.painted.sec - 0.04) < 0.001 && document.querySelector(".places")`)
	// Several remedies, each with its line, what it costs and what it mends; nothing is written yet.
	p.Await(`document.querySelectorAll(".way").length > 1 && !document.querySelector(".finding-now .remedy > [role=status]")`)
	if said := value[string](p, `document.querySelector(".way").innerText`); !strings.Contains(said, "on another key") ||
		!strings.Contains(said, "It mends 1 of 1") || !strings.Contains(said, "+ color = \"C5\"") {
		t.Errorf("the first remedy says %q", said)
	}
	// It is heard before it is written, and the piece as it is beside it.
	p.click(".way button", "Hear it so")
	p.Await(`bench.source.value === "remedy" && bench.soundState().playing`)
	p.click(".way button", "Hear it now")
	p.Await(`bench.source.value === "roll" && bench.soundState().playing`)
	p.Await(`!bench.soundState().playing`) // the place is over
	if text := value[string](p, `bench.text()`); text != clashing {
		t.Errorf("hearing it wrote\n%s", text)
	}
	p.click(".way .main", "Write it")
	p.Await(`bench.text() === ` + quote(strings.Replace(clashing, `voice "late" {
  talea = "20"
  color = "C4"`, `voice "late" {
  talea = "20"
  color = "C5"`, 1)))
	p.Await(`bench.work.value.findings.every(f => f.severity === "note")`)
	p.Keys("z", chromedp.ModifierCtrl)
	p.Await(`bench.text() === ` + quote(clashing))
	p.Await(`bench.work.value.findings.some(f => f.severity === "risks")`)
}

func quote(text string) string {
	data, err := json.Marshal(text)
	if err != nil {
		panic(err) // text always has a form in JSON
	}
	return string(data)
}

func TestPageFieldChangesOneAttribute(t *testing.T) {
	text := strings.Replace(small, "\"C2 G2\"", "\"C2   G2\" # a remark", 1)
	b := serve(t, map[string]string{"small.piece": text})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("voices")
	p.Await(`document.querySelector("[id^=field-voice-low][id$=-speed]")`)
	p.JS(`document.querySelector("[id^=field-voice-low][id$=-speed]").focus()`)
	p.Insert("4/5")
	want := strings.Replace(text, "# a remark\n", "# a remark\n  speed = \"4/5\"\n", 1)
	p.Await(`bench.text() !== ` + quote(text))
	if got := value[string](p, `bench.text()`); got != want && got != strings.Replace(want, `"4/5"`, "4/5", 1) {
		t.Errorf("the field wrote\n%s", got)
	}
	p.Await(`document.querySelector("[id^=field-voice-low][id$=-speed]").value === "4/5"`)

	// Whoever leaves the field at once loses nothing.
	p.hurry("[id^=field-voice-low][id$=-speed]", "5/7", `f.blur()`)
	p.Await(`bench.text().includes("5/7")`)

	// A value that cannot be: said beside the field, and the file is left alone.
	p.cell("voice low", "color", 1)
	p.JS(`document.activeElement.select()`)
	p.Insert("H2")
	p.Await(`document.querySelector(".field .wrong")`)
	if got := value[string](p, `bench.text()`); strings.Contains(got, "H2") {
		t.Errorf("a wrong pitch came into the file:\n%s", got)
	}
}

// A change on the disk is taken where nothing is lost by it, and undone like any other;
// over what is not saved yet nothing is written, either way, until the person chooses.
func TestPageOffersChangeOnDisk(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	first := strings.Replace(small, "Small", "First", 1)
	b.put("small.piece", first)
	p.Await(`bench.text() === ` + quote(first) + ` && document.querySelector(".notice").textContent.includes("changed by another program")`)
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Keys("z", chromedp.ModifierCtrl)
	p.Await(`bench.text() === ` + quote(small) + ` && bench.saveState.value === "saved" && bench.conflict.value === null`)
	p.Await(`!document.querySelector(".notice").textContent`) // what it told of is undone

	theirs := strings.Replace(small, "Small", "Theirs", 1)
	b.server.folder.lock.Lock() // what is typed now is not saved before the disk has changed
	p.Insert("# mine\n")
	b.put("small.piece", theirs)
	b.server.folder.lock.Unlock()
	p.Await(`bench.conflict.value !== null`)
	if text := value[string](p, `bench.text()`); !strings.Contains(text, "# mine") {
		t.Errorf("the text was changed without asking:\n%s", text)
	}
	// Typing while the question is open writes nothing.
	p.Insert("# more\n")
	time.Sleep(1200 * time.Millisecond)
	if text := b.disk("small.piece"); text != theirs {
		t.Errorf("the file of the other program was overwritten:\n%s", text)
	}
	p.click(".lines button", "Take")
	p.Await(`bench.text() === ` + quote(theirs))
	p.Await(`bench.conflict.value === null && bench.saveState.value === "saved"`)
	if text := b.disk("small.piece"); text != theirs {
		t.Errorf("the file has\n%s", text)
	}
}

func TestPageInTwoTabs(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	one := visit(t, chrome(t), b.address())
	one.skipTour()
	ctx, end := chromedp.NewContext(one.Ctx)
	t.Cleanup(end)
	two := visit(t, &chromium.Tab{TB: t, Ctx: ctx, State: one.State}, b.address())
	changed := strings.Replace(small, "3 2 (1) 2", "3 2 (1) 4", 1)
	two.write(changed)
	one.Await(`bench.text() === ` + quote(changed))
	one.Await(`bench.conflict.value === null`)
	// And back: the other way round works too.
	one.JS(`document.querySelector(".cm-content").focus()`)
	one.Keys("z", chromedp.ModifierCtrl)
	two.Await(`bench.text() === ` + quote(small))
}

func TestPagePlaysWithPaperOnTheClock(t *testing.T) {
	b := serve(t, map[string]string{"even.piece": "title = \"Even\"\nvoice \"v\" {\n  talea = \"2\"\n  color = \"C4 E4 G4\"\n  extent = \"60 notes\"\n}\n"})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.click(".play", "")
	p.Await(`bench.soundState().playing`)
	p.JS(`await new Promise(r => setTimeout(r, 500))`)
	// The audio clock is the judge: over a second the paper has to move as far.
	type sample struct{ Clock, Paper float64 }
	look := `new Promise(r => requestAnimationFrame(() => requestAnimationFrame(() => r({Clock: bench.soundState().time, Paper: bench.painted.sec}))))`
	first := value[sample](p, look)
	p.JS(`await new Promise(r => setTimeout(r, 1000))`)
	last := value[sample](p, look)
	clock, paper := last.Clock-first.Clock, last.Paper-first.Paper
	if clock < 0.9 || paper-clock > 0.04 || clock-paper > 0.04 {
		t.Errorf("the sound went on by %.3f s, the paper by %.3f s", clock, paper)
	}
	if peak := value[float64](p, `(async () => { let most = 0; for (let i = 0; i < 40; i++) { most = Math.max(most, bench.soundState().peak); await new Promise(r => setTimeout(r, 25)) } return most })()`); peak < 0.005 || peak > 1 {
		t.Errorf("the loudest sample of a second is %g", peak)
	}
	p.Keys(" ")
	p.Await(`!bench.soundState().playing`)
	at := value[float64](p, `bench.painted.sec`)
	p.JS(`await new Promise(r => setTimeout(r, 300))`)
	if now := value[float64](p, `bench.painted.sec`); now-at > 0.05 {
		t.Errorf("the paper went on by %.3f s after the pause", now-at)
	}
}

func TestPageShowsNewcomerAPieceThatPlays(t *testing.T) {
	b := serve(t, nil)
	p := visit(t, chrome(t), b.address())
	p.Await(`document.querySelector(".guide")`)
	p.click(".play", "")
	p.Await(`bench.soundState().playing`)
	p.Keys(" ")
	if files, err := os.ReadDir(b.dir); err != nil || len(files) > 0 {
		t.Errorf("looking around left %v in the folder (%v)", files, err)
	}
	p.skipTour()
	p.click(".head button", "Keep")
	p.Await(`bench.open.value.name !== "" && bench.saveState.value === "saved"`)
	first := examples.List()[0].Name
	if text := b.disk(first + ".piece"); text != exampleText(t, first) {
		t.Errorf("the kept example is\n%s", text)
	}
	// The first change to another example keeps it as well, with cursor and undo.
	second := examples.List()[1].Name
	p.tab("folder")
	p.click(fmt.Sprintf(`.examples button[aria-label="Look and listen: %s"]`, examples.List()[1].Title), "")
	p.Await(`bench.open.value.example === ` + quote(second))
	p.tab("text")
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Insert("# mine\n")
	p.Await(`bench.open.value.name === ` + quote(second+".piece") + ` && bench.saveState.value === "saved"`)
	if text := b.disk(second + ".piece"); text != "# mine\n"+exampleText(t, second) {
		t.Errorf("the changed example is\n%s", text)
	}
	p.Keys("z", chromedp.ModifierCtrl)
	p.Await(`bench.text() === ` + quote(exampleText(t, second)))
	// Tab leaves the text, unless it was asked to indent.
	p.Keys("\t")
	p.Await(`!document.activeElement.closest(".cm-editor")`)
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Keys("m", chromedp.ModifierCtrl)
	p.Await(`document.querySelector(".cm-content").ariaLabel.includes("Tab indents")`)
	p.Keys("\t")
	p.Await(`bench.text().startsWith("  ")`)
}

// TestPageKeysAboveTour has the list of keys over the tour, which Escape ends.
func TestPageKeysAboveTour(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.Await(`document.querySelector(".guide")`)
	p.Keys("?")
	p.Await(`document.querySelector(".keys")`)
	if top := value[bool](p, `(() => { const at = document.querySelector(".keys dl").getBoundingClientRect(), tour = document.querySelector(".guide").getBoundingClientRect();
		return document.elementFromPoint(at.left + 5, tour.top + 20).closest(".keys") !== null && at.left < tour.right })()`); !top {
		t.Error("the tour lies over the list of keys")
	}
	p.Keys(kb.Escape)
	p.Await(`!document.querySelector(".keys") && document.querySelector(".guide")`)
	p.Keys(kb.Escape)
	p.Await(`!document.querySelector(".guide")`)
	p.Keys("u")
	p.Await(`document.querySelector(".roll-facts").textContent.includes(" ft ")`)
	p.Keys("u")
	p.Await(`document.querySelector(".roll-facts").textContent.includes(" m")`)
	p.Do(chromedp.Reload())
	p.Await(`window.bench && bench.work.value !== null`)
	if value[bool](p, `!!document.querySelector(".guide")`) {
		t.Error("the tour comes again")
	}
}

func TestPageCompletesNames(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.write(small + "voice \"high\" {\n")
	p.JS(`document.querySelector(".cm-content").focus()`)
	offered := func(typed string) string {
		t.Helper()
		p.Keys(typed)
		p.Await(`document.querySelector(".cm-tooltip-autocomplete")`)
		list := value[string](p, `document.querySelector(".cm-tooltip-autocomplete").innerText`)
		p.Keys("\x1b")
		p.Await(`!document.querySelector(".cm-tooltip-autocomplete")`)
		return list
	}
	if list := offered("ta"); !strings.Contains(list, "talea") || !strings.Contains(list, "series of durations") {
		t.Errorf("after ta it offers %q", list)
	}
	p.Keys("lea = 1\n")
	p.Insert("like = \"")
	if list := offered("l"); !strings.Contains(list, "low") {
		t.Errorf("after like it offers %q", list)
	}
	p.Keys("ow\n")
	p.Insert("color = \"C4 ")
	if list := offered("E"); !strings.Contains(list, "Eb3") {
		t.Errorf("in a color it offers %q", list)
	}
}

func TestPageMakesFiles(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("make")
	p.click(".formats button", "mid")
	p.Await(`document.querySelector(".made a[download]")`)
	head := value[string](p, `fetch(document.querySelector(".made a").href).then(r => r.arrayBuffer()).then(b => String.fromCharCode(...new Uint8Array(b, 0, 4)))`)
	if head != "MThd" { // of every Standard MIDI File
		t.Errorf("the file begins with %q", head)
	}
}

// Pieces are begun, duplicated and renamed in the folder; a name that is taken is
// refused, and what has it stays as it is.
func TestPageFolder(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("folder")
	p.click(".folder button", "Begin with an empty page")
	p.Await(`document.activeElement.matches(".name-line input") && getSelection().toString() === "untitled"`)
	p.hurry(".name-line input", "small", `f.form.requestSubmit()`)
	p.Await(`document.querySelector(".notice")?.textContent.includes("small.piece is there already")`)
	if text := b.disk("small.piece"); text != small {
		t.Errorf("a new piece was written over another:\n%s", text)
	}
	p.hurry(".name-line input", "fresh", `f.form.requestSubmit()`)
	p.Await(`document.querySelector("#tab-voices").ariaSelected === "true" && bench.text() === 'title = "fresh"\n'`)
	// Nothing is wrong with it, and nothing of the piece before is left on the bench.
	p.Await(`document.querySelector(".paper-none")?.textContent.includes("An empty page") && bench.work.value === null && bench.complaints.value.length === 0`)
	p.tab("folder")
	p.Await(`document.querySelector(".file-now strong")?.textContent === "fresh"`)
	b.disk("fresh.piece")

	p.click(".file button[aria-label=\"Duplicate small.piece\"]", "")
	p.Await(`document.activeElement.matches(".name-line input") && document.activeElement.value === "small-2"`)
	p.Keys("\r")
	p.Await(`document.querySelector(".file-now strong")?.textContent === "small-2"`)
	if text := b.disk("small-2.piece"); text != small {
		t.Errorf("the copy is\n%s", text)
	}
	p.click(".file button[aria-label=\"Rename small-2.piece\"]", "")
	p.hurry(".name-line input", "other.piece", `f.form.requestSubmit()`)
	p.Await(`document.querySelector(".file-now strong")?.textContent === "other"`)
	if text := b.disk("other.piece"); text != small || b.server.folder.exists("small-2.piece") {
		t.Errorf("renamed, it is\n%s", text)
	}
}

func TestPageBringsBackSnapshot(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("folder")
	p.click(".folder button", "Keep the present state")
	p.Await(`document.querySelector(".past li")`)
	p.write(strings.Replace(small, "C2 G2", "C2 A2", 1))
	p.Await(`bench.saveState.value === "saved"`)
	p.tab("folder")
	p.Await(`document.querySelector(".past li")`)
	p.JS(`[...document.querySelectorAll(".past li > button")].pop().click()`)
	p.Await(`document.querySelector(".diff-add")`)
	if lines := value[string](p, `document.querySelector(".diff-add").textContent + document.querySelector(".diff-del").textContent`); !strings.Contains(lines, "G2") || !strings.Contains(lines, "A2") {
		t.Errorf("the difference is %q", lines)
	}
	p.click(".past button", "Bring this back")
	p.Await(`bench.text() === ` + quote(small))
}

// TestPageMixesOnTheFrame renders the mixer by itself and looks at the frames:
// a sample of ones tells when it was struck, how loud, and when it was damped.
func TestPageMixesOnTheFrame(t *testing.T) {
	b := serve(t, map[string]string{"small.piece": small})
	p := visit(t, chrome(t), b.address())
	type edges struct{ Before, At, Second, Third, Damped float64 }
	// Notes at 0.01 s and, in the left piano, 0.02 s, at double rate: frames 240
	// and 480 of 48000 a second. The first is damped from 0.03 s, frame 720, with
	// a T60 of 0.01 s: 480 frames later it is 60 dB down. The third is silenced.
	got := value[edges](p, `(async () => {
		const ctx = new OfflineAudioContext(2, 4800, 48000);
		await ctx.audioWorklet.addModule("worklet.js");
		const node = new AudioWorkletNode(ctx, "mixer", {numberOfInputs: 0, outputChannelCount: [2]});
		node.connect(ctx.destination);
		const ones = level => new Float32Array(9600).fill(level);
		node.port.postMessage({type: "sample", name: 7, left: ones(0.25), right: ones(0.25), release: 0.01});
		node.port.postMessage({type: "events", start: Float64Array.of(0.01, 0.02, 0.025), end: Float64Array.of(0.03, 1, 1),
			voice: Int32Array.of(0, 1, 2), piano: Uint8Array.of(0, 1, 0), name: Int32Array.of(7, 7, 7), until: 10});
		node.port.postMessage({type: "gains", gains: Float32Array.of(1, 1, 0)});
		node.port.postMessage({type: "pans", pans: [[1, 1], [1, 0]]});
		node.port.postMessage({type: "rate", rate: 2});
		node.port.postMessage({type: "play", sec: 0});
		await new Promise(r => setTimeout(r, 100)); // messages come between two renderings
		const out = (await ctx.startRendering()).getChannelData(0);
		const first = out.findIndex(x => x > 0);
		return {Before: out[first - 1] ?? 0, At: first, Second: out[first + 239], Third: out[first + 240], Damped: out[first + 480 + 480] - 0.25};
	})()`)
	if got.Before != 0 || got.Second != 0.25 || got.Third != 0.5 {
		t.Errorf("the first note is %g, %g, the second makes it %g; want 0, 0.25, 0.5", got.Before, got.Second, got.Third)
	}
	if got.At != 240 {
		t.Errorf("the first note begins at frame %g, want 240", got.At)
	}
	if got.Damped < 0.0001 || got.Damped > 0.0005 {
		t.Errorf("the damped note is at %g after its T60, want about 0.00025", got.Damped)
	}
}

// TestServeToBeKilled is no test: another process runs it to be ended.
func TestServeToBeKilled(t *testing.T) {
	dir, port := os.Getenv("WORKBENCH_FOLDER"), os.Getenv("WORKBENCH_PORT")
	if dir == "" {
		t.Skip("only for TestPageSurvivesKill")
	}
	s, err := New(Options{Folder: dir})
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp4", "127.0.0.1:"+port)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "address"), []byte(s.Address(l)), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := s.Serve(context.Background(), l); err != nil {
		t.Fatal(err)
	}
}

// mortal is a workbench in a process of its own.
type mortal struct {
	process *exec.Cmd
	address string
}

func startMortal(t *testing.T, dir, port string) mortal {
	t.Helper()
	note := filepath.Join(dir, "address")
	os.Remove(note)
	cmd := exec.Command(os.Args[0], "-test.run=^TestServeToBeKilled$")
	cmd.Env = append(os.Environ(), "WORKBENCH_FOLDER="+dir, "WORKBENCH_PORT="+port)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	for range 200 {
		if data, err := os.ReadFile(note); err == nil && len(data) > 0 {
			if r, err := http.Get(string(data)); err == nil {
				r.Body.Close()
				return mortal{cmd, string(data)}
			}
		}
		time.Sleep(25 * time.Millisecond)
	}
	t.Fatal("the workbench did not start")
	return mortal{}
}

func TestPageSurvivesKill(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "small.piece")
	if err := os.WriteFile(path, []byte(small), 0o644); err != nil {
		t.Fatal(err)
	}
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	l.Close()
	first := startMortal(t, dir, port)
	p := visit(t, chrome(t), first.address)
	p.skipTour()

	typed := small + "# typed a second before\n"
	p.write(typed)
	time.Sleep(1100 * time.Millisecond)
	late := typed + "# typed at the last moment\n"
	p.write(late)
	first.process.Process.Kill()
	first.process.Wait()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if text := string(data); text != typed && text != late {
		t.Fatalf("the file has\n%s", text)
	}
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Insert("# while it is away\n")
	p.Await(`document.querySelector(".lines .note-red")`)

	// Started again, the page has all of it: the key is another, so the new
	// address is opened, as the old tab says.
	second := startMortal(t, dir, port)
	p.Do(chromedp.Navigate(second.address))
	p.Await(`window.bench && bench.work.value !== null`)
	p.Await(`bench.text().includes("# while it is away") && bench.text().includes("last moment")`)
	p.Await(`bench.saveState.value === "saved"`)
	data, err = os.ReadFile(path)
	if err != nil || !strings.Contains(string(data), "# while it is away") {
		t.Errorf("the file has\n%s (%v)", data, err)
	}
}

// dark asks for the dark theme.
func (p *visitor) dark() { p.Helper(); p.Prefer("prefers-color-scheme", "dark") }

// looks are the states of the page that are judged and pictured.
var looks = []struct{ name, show string }{
	{"text-findings", `$("#tab-text").click(); $("#tab-findings").click()`},
	{"voices-cycles", `$("#tab-voices").click(); $("#tab-cycles").click()`},
	{"pieces-meetings", `$("#tab-folder").click(); $("#tab-meetings").click(); await sleep(100); $(".pair-head")?.click()`},
	{"remedies", `$("#tab-findings").click(); await sleep(150); if (!$(".finding-now")) $(".finding-risks .finding-go, .finding .finding-go").click(); for (let i = 0; i < 200 && !$(".way"); i++) await sleep(50); $(".finding-now").scrollIntoView(); bench.seek(46)`},
	{"cards-more", `$("#tab-voices").click(); await sleep(150); $(".card-do .link").click(); document.querySelectorAll(".card-canon .card-do .link")[0]?.click()`},
	{"make", `$("#tab-text").click(); $("#tab-make").click()`},
	{"near", `$("#tab-findings").click(); for (let i = 0; i < 4; i++) $(".zoom button").click(); await sleep(300)`},
	{"keys", `$(".keys") ?? document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "?", bubbles: true}))`},
	{"errors", `$(".keys button")?.click(); $("#tab-findings").click(); bench.stale.set(true); bench.complaints.set([{line: 3, column: 1, from: 0, to: 4, problem: "there is no speed pie", hint: "write a number"}])`},
}

// TestViews looks at every view in light and dark, wide and narrow. The judge
// is axe-core, Deque's implementation of the W3C's accessibility rules.
func TestViews(t *testing.T) {
	axe, err := os.ReadFile("page/node_modules/axe-core/axe.min.js")
	if err != nil {
		judge.Missing(t, "axe-core", "npm ci in web/page")
	}
	for _, look := range []struct {
		name          string
		width, height int64
		dark          bool
	}{{"light-wide", 1600, 1000, false}, {"dark-wide", 1600, 1000, true}, {"light-narrow", 390, 844, false},
		{"dark-narrow", 390, 844, true}} {
		t.Run(look.name, func(t *testing.T) {
			t.Parallel() // a tab for each core
			b := serve(t, map[string]string{"four-looms.piece": exampleText(t, "four-looms"), "small.piece": small})
			p := visit(t, chrome(t), b.address())
			if look.dark {
				p.dark()
			}
			p.Do(chromedp.EmulateViewport(look.width, look.height))
			p.JS(string(axe))
			judge := func(name string) {
				p.JS(`await new Promise(r => setTimeout(r, 250))`)
				if found := value[string](p, `axe.run().then(r => r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 120) + " " + n.failureSummary).join("; ")).join("\n"))`); found != "" {
					t.Errorf("%s: %s", name, found)
				}
				if wide := value[string](p, `[...document.querySelectorAll(".panel")].filter(e => e.scrollWidth > e.clientWidth).map(e => e.id).join(" ")`); wide != "" {
					t.Errorf("%s: %s is wider than its place", name, wide)
				}
				p.picture(look.name + "-" + name)
			}
			judge("tour")
			p.skipTour()
			p.JS(`bench.seek(46)`)
			for _, v := range looks {
				for _, page := range []string{"left", "paper", "right"} {
					p.JS(`const $ = s => document.querySelector(s), sleep = ms => new Promise(r => setTimeout(r, ms)); ` + v.show)
					if look.width < 900 {
						p.JS(fmt.Sprintf(`document.querySelectorAll(".pages button")[%d].click()`,
							map[string]int{"left": 0, "paper": 1, "right": 2}[page]))
						judge(v.name + "-" + page)
					} else if page == "paper" {
						judge(v.name)
					}
				}
			}
			if wide := value[float64](p, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
				t.Errorf("the page is %v pixels wider than the screen", wide)
			}
		})
	}
}

// picture keeps what is seen, when asked for.
func (p *visitor) picture(name string) { p.Helper(); p.Picture(*pictures, name) }

// exampleText is the text of a built-in example.
func exampleText(t testing.TB, name string) string {
	t.Helper()
	data, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}
