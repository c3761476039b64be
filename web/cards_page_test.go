package web

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// named is the button, field or group of that accessible name.
func (p *visitor) named(name string) string {
	return `[aria-label=` + quote(name) + `]`
}

// cell puts the cursor at the end of a member of a series of a card.
func (p *visitor) cell(card, series string, n int) {
	p.Helper()
	find := `document.querySelectorAll(` + quote(p.named(card)+` [data-series="`+series+`"] .cell`) + `)[` + itoa(n) + `]`
	p.Await(find)
	p.JS(`const c = ` + find + `; c.focus(); c.setSelectionRange(c.value.length, c.value.length)`)
}

func itoa(n int) string { return string(rune('0' + n)) }

// TestPageMakesPieceWithCards is a newcomer who has only the page: a canon of three voices
// with a meeting point of their choice, heard, what is found in it mended, its PDF made,
// without a letter typed into the text.
func TestPageMakesPieceWithCards(t *testing.T) {
	b := serve(t, nil)
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	p.tab("folder")
	p.click(".folder button", "Begin with an empty page")
	p.Await(`document.activeElement.matches(".name-line input")`)
	p.hurry(".name-line input", "Slow Ferry", `f.form.requestSubmit()`)
	p.Await(`document.querySelector(".paper-none") && document.querySelector("#tab-voices").ariaSelected === "true"`)
	p.look("cards-empty")

	p.click(".adders button", "Canon of three")
	p.Await(`bench.work.value?.voices.length === 3`)
	begun := `title = "Slow Ferry"

tune "tune 1" {
  talea = "3 2 2 (1)"
  color = "C4 E4 G4"
  extent = "24 notes"
}

canon "canon 1" {
  subject = "tune 1"
  speeds  = "3 : 4 : 5"
  meet    = "2/3"
  voice "I" {
    transpose = -12
  }
  voice "II" {
    transpose = 0
  }
  voice "III" {
    transpose = 12
  }
}
`
	p.Await(`bench.text() === ` + quote(begun))
	// Its name, wherever it is meant.
	p.click(p.named("tune 1: call it otherwise"), "")
	p.Await(`document.activeElement.ariaLabel === "Name"`)
	p.hurry(`input[aria-label="Name"]`, "ferry", `f.form.requestSubmit()`)
	want := strings.ReplaceAll(begun, `"tune 1"`, `"ferry"`)
	p.Await(`bench.text() === ` + quote(want))
	// A member more at the end of the color, moved one place to the front; then one taken away.
	p.cell("tune ferry", "color", 2)
	p.Keys(" ")
	p.Insert("A4")
	p.JS(`document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key: "ArrowLeft", altKey: true, bubbles: true}))`)
	want = strings.Replace(want, "C4 E4 G4", "C4 E4 A4 G4", 1)
	p.Await(`bench.text() === ` + quote(want))
	p.cell("tune ferry", "color", 1)
	p.Keys("\b\b\b")
	want = strings.Replace(want, "C4 E4 A4 G4", "C4 A4 G4", 1)
	p.Await(`bench.text() === ` + quote(want))
	// A gesture keeps its blanks in one cell; a wrong one is said, and nothing is written.
	p.JS(`document.querySelector('` + p.named("tune ferry") + ` [data-series="color"] .cell-add').click()`)
	p.Await(`document.activeElement.matches(".cell") && document.activeElement.value === ""`)
	p.Insert("grace(B4 C5 40ms)")
	want = strings.Replace(want, "C4 A4 G4", "C4 A4 G4 grace(B4 C5 40ms)", 1)
	p.Await(`bench.text() === ` + quote(want))
	p.JS(`document.activeElement.select()`)
	p.Insert("H4")
	p.Await(`document.querySelector(".wrong")?.textContent.includes("H4")`)
	p.Await(`bench.text() === ` + quote(want))
	p.Insert("")
	p.JS(`document.activeElement.select()`)
	p.Insert("C5")
	want = strings.Replace(want, "grace(B4 C5 40ms)", "C5", 1)
	p.Await(`bench.text() === ` + quote(want) + ` && !document.querySelector(".wrong")`)
	// The meeting point, the length, a menu.
	p.hurry(p.named("canon canon 1")+" [id$=-meet]", "1/2", `f.blur()`)
	want = strings.Replace(want, `meet    = "2/3"`, `meet    = "1/2"`, 1)
	p.Await(`bench.text() === ` + quote(want))
	p.JS(`const m = document.querySelector('` + p.named("The piece") + ` [id$=-instrument]'); m.value = "88-note-spool"; m.dispatchEvent(new Event("change", {bubbles: true}))`)
	want = strings.Replace(want, "title = \"Slow Ferry\"\n", "title = \"Slow Ferry\"\ninstrument = \"88-note-spool\"\n", 1)
	p.Await(`bench.text() === ` + quote(want))
	// A fourth voice brings its speed with it, and takes it away again; undo is one step.
	four := `bench.text().includes('speeds  = "3 : 4 : 5 : 6"') && bench.work.value.voices.length === 4`
	p.click(p.named("Add to canon 1")+" button", "Voice")
	p.Await(four)
	p.click(p.named("Take it away: voice IV"), "")
	p.Await(`bench.text() === ` + quote(want))
	p.JS(`document.querySelector('button[aria-label="Undo"]').click()`)
	p.Await(four)
	p.JS(`document.querySelector('button[aria-label="Undo"]').click()`)
	p.Await(`bench.text() === ` + quote(want))
	p.look("cards")

	// Heard.
	p.click(".play", "")
	p.Await(`bench.soundState().playing && bench.soundState().heard > 0.3`)
	p.click(".play", "")
	// What is found is mended, as long as anything stands there that is more than good to know.
	p.tab("findings")
	for range 6 {
		p.Await(`bench.work.value && !document.querySelector(".findings-old") && document.querySelector(".roll-facts")`)
		p.JS(`await new Promise(r => setTimeout(r, 700))`)
		if !value[bool](p, `!!document.querySelector(".finding-risks, .finding-forbids")`) {
			break
		}
		before := value[string](p, `bench.text()`)
		p.JS(`const f = document.querySelector(".finding-forbids .finding-go, .finding-risks .finding-go"); if (f.ariaExpanded !== "true") f.click()`)
		p.Await(`document.querySelector(".way .main")`)
		p.look("cards-remedies")
		p.JS(`document.querySelector(".way .main").click()`)
		p.Await(`bench.text() !== ` + quote(before))
	}
	p.Await(`!document.querySelector(".finding-risks, .finding-forbids")`)
	p.tab("make")
	p.click(".make > .formats button", "pdf")
	p.Await(`document.querySelector(".made a") && document.querySelector(".made").textContent.includes("Slow Ferry.pdf")`)
	p.look("cards-made")
	if saved := b.disk("Slow Ferry.piece"); saved != value[string](p, `bench.text()`) {
		t.Errorf("the file has\n%s", saved)
	}
}

// look leaves a picture where pictures are wanted, in the sizes that people have.
func (p *visitor) look(name string) {
	p.Helper()
	if *pictures == "" {
		return
	}
	for _, size := range []struct {
		suffix string
		w, h   int64
	}{{"", 1600, 1000}, {"-1280", 1280, 720}, {"-390", 390, 844}} {
		p.Do(chromedp.EmulateViewport(size.w, size.h))
		p.picture(name + size.suffix)
	}
	p.Do(chromedp.EmulateViewport(1600, 1000))
}

// TestPageOpensInstrument: what is wrong with an instrument's file is told of that file,
// which is opened, mended and left again in the page.
func TestPageOpensInstrument(t *testing.T) {
	piece := "instrument = \"own.instrument\"\n" + small
	b := serve(t, map[string]string{"small.piece": piece, "own.instrument": "like = \"88-note\"\ndia = 1\n"})
	tab := chrome(t)
	p := &visitor{tab}
	p.Do(chromedp.EmulateViewport(1600, 1000), chromedp.Navigate(b.address()))
	p.Await(`window.bench && bench.complaints.value.length > 0`)
	p.skipTour()
	p.Await(`document.querySelector(".text-error")?.textContent.startsWith("own.instrument, line 2")`)
	p.click(".text-error button", "Open own.instrument")
	p.Await(`bench.text().startsWith("like") && document.querySelector(".of-instrument")`)
	p.JS(`document.querySelector(".cm-content").focus()`)
	p.Keys("a", chromedp.ModifierCtrl)
	p.Insert("like = \"88-note\"\n")
	p.Await(`bench.complaints.value.length === 0 && bench.saveState.value === "saved"`)
	p.click(".of-instrument button", "Back to small.piece")
	p.Await(`bench.text() === ` + quote(piece) + ` && bench.work.value !== null`)
	if text := b.disk("own.instrument"); text != "like = \"88-note\"\n" {
		t.Errorf("the instrument has %q", text)
	}
}

// TestPageCompletes: the text offers tunes as subjects and closes the quote, the show's own
// attributes, and a block with its end.
func TestPageCompletes(t *testing.T) {
	tune := "tune \"ferry\" {\n  line = \"C4:1\"\n}\n\n"
	b := serve(t, map[string]string{"a.piece": tune + small})
	p := visit(t, chrome(t), b.address())
	p.skipTour()
	offered := func(typed string) []string {
		p.write(tune + small)
		p.Insert("\n" + typed)
		p.Keys(" ", chromedp.ModifierCtrl)
		p.Await(`document.querySelector(".cm-tooltip-autocomplete li")`)
		return value[[]string](p, `[...document.querySelectorAll(".cm-tooltip-autocomplete li .cm-completionLabel")].map(e => e.textContent)`)
	}
	if got := offered("canon \"c\" {\n  subject = \"fe"); len(got) == 0 || got[0] != "ferry" {
		t.Errorf("subjects: %v", got)
	}
	p.JS(`await new Promise(r => setTimeout(r, 200)); document.querySelector(".cm-tooltip-autocomplete li").dispatchEvent(new MouseEvent("mousedown", {bubbles: true, cancelable: true}))`)
	p.Await(`bench.text().includes('subject = "ferry"')`)
	if got := offered("show {\n  mi"); len(got) == 0 || got[0] != "minutes" {
		t.Errorf("in the show: %v", got)
	}
}
