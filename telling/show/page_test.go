package show_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"rollwright/examples"
	seeds "rollwright/internal/long"
	"rollwright/music/perform"
	"rollwright/telling/show"
	"rollwright/workshop"
)

// mostBytes is how large the page of a piece of three minutes may be.
const mostBytes = 15_000_000

// lesson is a piece with every kind of step, short enough to be played through.
const lesson = `
title = "Lesson"
note  = "Two cycles that do not line up, then one line at two speeds."
tempo = 150
tune "line" {
  talea = "2 1 (1) 3"
  color = "E4 B4 D5 A4 G4"
}
canon "pair" {
  subject = "line"
  meet    = "note 10"
  voice "low" {
    transpose = -12
  }
  voice "high" {
    speed     = "sqrt(2)"
    transpose = 12
  }
}
voice "floor" {
  talea  = "5 4 3"
  color  = "A2 E2 D2 G2"
  extent = "until low ends"
}
show {
  minutes = 10
  page "why" {
    title = "Why it never settles"
    text  = "Three strokes, five pitches."
  }
}
`

// Every step is shown, by the keys of a presenter's remote: forward plays what
// has sound first and then goes on.
func TestEveryStepIsShown(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	var kinds []string
	for _, s := range l.Steps {
		kinds = append(kinds, s.Kind.String())
	}
	if got, want := strings.Join(kinds, " "), "title rhythm hall melody together against interval voice all meeting meeting text"; got != want {
		t.Fatalf("steps: %s, want %s", got, want)
	}
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	for _, s := range l.Steps {
		got := value[string](p, `[...document.querySelectorAll(".step:not([hidden])")].map(s => s.id + " " + s.querySelector("h1").innerText).join("|")`)
		want := fmt.Sprintf("step-%d %d %s", s.Number, s.Number, s.Title)
		if s.Number == 1 {
			want = "step-1 " + s.Title
		}
		if got != want {
			t.Errorf("step %d shows %q, want %q", s.Number, got, want)
		}
		if s.Figure != nil && !value[bool](p, `[...document.querySelectorAll(".step:not([hidden]) figure svg")].find(f => f.getClientRects().length).getBoundingClientRect().height > 60`) {
			t.Errorf("step %d: its figure is not seen", s.Number)
		}
		if s.Hear != show.Nothing {
			p.Keys(kb.PageDown)
			p.Await(`rollwright.state.playing`)
		}
		p.Keys(kb.PageDown)
	}
	// After the talk comes the page that asks what if.
	if got := value[int](p, `rollwright.state.step`); got != len(l.Steps) {
		t.Errorf("after the last step the page is at %d", got+1)
	}
}

// counted is what the page says of a voice.
type counted struct {
	Voice  int  `json:"voice"`
	Begun  bool `json:"begun"`
	Ended  bool `json:"ended"`
	Note   int  `json:"note"`
	Talea  int  `json:"talea"`
	TaleaN int  `json:"taleaN"`
	Color  int  `json:"color"`
	ColorN int  `json:"colorN"`
}

// itemAt is the item of a line that is on at a time, found by walking.
func itemAt(line *perform.Line, sec float64) (item perform.Item, note int, begun bool) {
	for it := range line.All() {
		if it.StartSec > sec {
			break
		}
		item, begun = it, true
		if !it.Silent {
			note = it.Note
		}
	}
	return item, note, begun
}

// The counters on the page are those of the performance, at a hundred times of
// each step. The pieces are neither rotated nor backward, so statements and
// places count as they are written.
func TestCountersAreRight(t *testing.T) {
	p := browser(t)
	for _, job := range []*workshop.Job{jobOf(t, "lesson", lesson), example(t, "first-thread")} {
		l := lectureOf(t, job, show.Options{})
		p.open(page(t, l), 1280, 720)
		for _, s := range l.Steps {
			if s.Hear == show.Nothing || s.Hear == show.Melody || s.Events() != nil {
				continue
			}
			const samples = 100
			times := make([]float64, samples)
			text := make([]string, samples)
			for i := range times {
				// Not at an onset, where a microsecond decides.
				times[i] = s.FromSec + (s.ToSec-s.FromSec)*(float64(i)+0.137)/samples
				text[i] = fmt.Sprint(math.Round(times[i] * 1e6))
			}
			all := value[[][]counted](p, fmt.Sprintf(`(rollwright.go(%d), [%s].map(at => rollwright.counts(at)))`, s.Number,
				strings.Join(text, ",")))
			for i, counts := range all {
				for k, c := range counts {
					line := job.Performance.Lines[s.Voices[k]]
					item, note, begun := itemAt(line, times[i])
					if c.Begun != begun || c.Note != note || c.Ended != (times[i] >= line.EndSec) {
						t.Fatalf("%s, step %d, %.6f s, voice %d: page %+v, performance note %d, begun %v", l.Title, s.Number, times[i],
							s.Voices[k], c, note, begun)
					}
					if !begun {
						continue
					}
					if c.Talea != item.TaleaPlace+1 || c.TaleaN != item.Talea+1 {
						t.Fatalf("%s, step %d, %.6f s: page %+v, talea place %d statement %d", l.Title, s.Number, times[i], c,
							item.TaleaPlace+1, item.Talea+1)
					}
					if !item.Silent && (c.Color != item.ColorPlace+1 || c.ColorN != item.Color+1) {
						t.Fatalf("%s, step %d, %.6f s: page %+v, color place %d statement %d", l.Title, s.Number, times[i], c,
							item.ColorPlace+1, item.Color+1)
					}
				}
			}
		}
	}
}

// The counters that are drawn are those that are counted, and the two series of
// 11 on 8 end together after 88 notes: 8 times through one, 11 times through the
// other (lcm, common practice).
func TestCountersAreDrawn(t *testing.T) {
	l := lectureOf(t, example(t, "first-thread"), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	p.JS(`rollwright.go(5); const s = rollwright.data.steps[4].sound; rollwright.seek(s.to - 1000); await new Promise(r => setTimeout(r, 60))`)
	// The talea has 9 durations, one of them silent; its last note is the ninth.
	if got := value[string](p, `document.querySelector(".step:not([hidden]) .counters").innerText.replace(/\s+/g, " ")`); !strings.Contains(got, "9 duration 9 of 9, time through 11") || !strings.Contains(got, "11 pitch 11 of 11, time through 8") {
		t.Errorf("before the end: %s", got)
	}
	p.JS(`rollwright.seek(rollwright.data.steps[4].sound.to); await new Promise(r => setTimeout(r, 60))`)
	if got := value[string](p, `document.querySelector(".step:not([hidden]) .said").innerText`); got != "Both end together." {
		t.Errorf("at the end: %q", got)
	}
}

// Every step has its sound: rendered into memory, each of its notes is there at
// its onset, and before the first one there is silence.
func TestEveryStepSounds(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	for _, s := range l.Steps {
		if s.Hear == show.Nothing || s.Hear == show.Pulses { // TestPulsesAreTones
			continue
		}
		got := value[map[string]float64](p, fmt.Sprintf(`(async () => {
			rollwright.go(%d);
			const step = rollwright.data.steps[%d], { from, to, events, rate, voices } = step.sound, set = rollwright.data.events[events];
			const sec = (to - from) / 1e6 / rate + 0.5, sound = await rollwright.rendered(%d, from, sec);
			const left = sound.getChannelData(0), right = sound.getChannelData(1);
			const loud = (a, b) => { let sum = 0; for (let i = Math.max(0, Math.round(a * 48000)); i < Math.min(left.length, Math.round(b * 48000)); i++) sum += left[i] ** 2 + right[i] ** 2; return sum / (b - a); };
			let onsets = 0, missing = 0, peak = 0, last = -1;
			for (let i = 0; i < set.at.length; i++) {
				if (set.at[i] < from || set.at[i] >= to || !voices.includes(set.voice[i])) continue;
				const at = (set.at[i] - from) / 1e6 / rate;
				onsets++;
				// A blow is louder than what rang just before it; blows close together
				// are one.
				if (at - last > 0.12 && loud(at, at + 0.03) < 1.02 * loud(at - 0.015, at)) missing++;
				last = at;
			}
			for (const x of left) peak = Math.max(peak, Math.abs(x));
			for (const x of right) peak = Math.max(peak, Math.abs(x));
			return { onsets, missing, peak };
		})()`, s.Number, s.Number-1, s.Number))
		if got["onsets"] == 0 || got["peak"] < 0.03 || got["peak"] > 1.2 {
			t.Errorf("step %d (%s): %v", s.Number, s.Name, got)
		}
		if got["missing"] > got["onsets"]*0.04 {
			t.Errorf("step %d (%s): of %v notes %v are not heard at their onset", s.Number, s.Name, got["onsets"],
				got["missing"])
		}
	}
}

// At half speed the same notes come twice as late, and no lower.
func TestSlowMotion(t *testing.T) {
	l := lectureOf(t, jobOf(t, "slow", "voice \"a\" {\n  talea = \"8 8 8\"\n  color = \"A4 A4\"\n  hold = 0.5\n}\n"),
		show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	// Onsets by the jump of energy in windows of 10 ms, and the pitch by crossings
	// of zero: 440 Hz has 440 upward ones a second.
	const heard = `(async (slow) => {
		rollwright.go(4); rollwright.setSlow(slow);
		const sound = await rollwright.rendered(4, 0, 6), left = sound.getChannelData(0), onsets = [];
		let before = 0;
		for (let i = 0; i + 480 < left.length; i += 480) {
			let sum = 0;
			for (let k = i; k < i + 480; k++) sum += left[k] ** 2;
			if (sum > 1e-4 && sum > 6 * before) onsets.push(i / 48000);
			before = sum;
		}
		return onsets;
	})`
	whole := value[[]float64](p, heard+"(1)")
	half := value[[]float64](p, heard+"(0.5)")
	if len(whole) < 3 || len(half) < 3 {
		t.Fatalf("onsets at full speed %v, at half speed %v", whole, half)
	}
	for i := 1; i < 3; i++ { // eight sixteenths at 120 quarter notes a minute are a second
		if math.Abs(whole[i]-float64(i)) > 0.021 || math.Abs(half[i]-2*float64(i)) > 0.021 {
			t.Errorf("onset %d at %v s, and %v s at half speed", i+1, whole[i], half[i])
		}
	}
}

// The test tone is 1 kHz at 20 dB below full scale, in the channel that is asked
// for and not in the other.
func TestTone(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	for side, want := range map[string][2]bool{"left": {true, false}, "right": {false, true}, "both": {true, true}} {
		got := value[[][]float64](p, fmt.Sprintf(`rollwright.toneRendered(%q).then(s => [0, 1].map(c => {
			const x = s.getChannelData(c); let peak = 0, up = 0;
			for (let i = 1; i < x.length; i++) { peak = Math.max(peak, Math.abs(x[i])); if (x[i - 1] < 0 && x[i] >= 0) up++; }
			return [peak, up];
		}))`, side))
		for c, on := range want {
			if on && (math.Abs(got[c][0]-0.1) > 0.002 || math.Abs(got[c][1]-1000) > 2) || !on && got[c][0] != 0 {
				t.Errorf("%s, channel %d: peak %v, %v periods a second", side, c, got[c][0], got[c][1])
			}
		}
	}
}

// The keys of the page.
func TestKeys(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	at := func(want int) {
		t.Helper()
		if got := value[int](p, `rollwright.state.step + 1`); got != want {
			t.Errorf("at step %d, want %d", got, want)
		}
	}
	p.Keys("1")
	p.Keys("0")
	p.Keys("\r")
	at(10)
	p.Keys(kb.PageUp)
	at(9)
	p.Keys("b")
	if !value[bool](p, `!document.getElementById("cover").hidden && getComputedStyle(document.getElementById("cover")).backgroundColor === "rgb(0, 0, 0)"`) {
		t.Error("B does not blank the screen")
	}
	p.Keys("b")
	if value[bool](p, `!document.getElementById("cover").hidden`) {
		t.Error("B does not bring the screen back")
	}
	// While it is blank the arrows, which some remotes send, turn pages and bring it back.
	p.Keys("b")
	p.Keys(kb.ArrowLeft)
	at(8)
	if value[bool](p, `!document.getElementById("cover").hidden`) {
		t.Error("an arrow leaves the screen blank")
	}
	p.Keys("2")
	p.Keys("\r")
	at(2)
	// The arrow goes on without playing; Page Down plays first. The menu says so.
	p.Keys(kb.ArrowRight)
	at(3)
	if value[bool](p, `rollwright.state.started`) {
		t.Error("the right arrow plays")
	}
	p.Keys(kb.ArrowLeft)
	at(2)
	keys := value[string](p, `[...document.querySelectorAll(".keys li")].map(e => e.textContent).join("\n")`)
	for _, want := range []string{"Page Down, Space: play, then go on\n", "→: go on without playing\n",
		"Page Up, ←: back\n"} {
		if !strings.Contains(keys, want) {
			t.Errorf("the menu lacks %q:\n%s", want, keys)
		}
	}
	p.Keys("p")
	p.Await(`rollwright.state.playing && rollwright.state.at > rollwright.data.steps[1].sound.from + 3e5`)
	p.Keys("p")
	p.Await(`!rollwright.state.playing`)
	p.Keys("-")
	if got := value[float64](p, `rollwright.state.slow`); got != 0.75 {
		t.Errorf("- makes the speed %v", got)
	}
	p.Keys("+")
	p.Keys("m")
	if !value[bool](p, `rollwright.state.mono`) {
		t.Error("M does not make it mono")
	}
	p.Keys("k")
	p.Await(`!document.getElementById("menu").hidden`)
	p.Keys("\x1b")
	p.Await(`document.getElementById("menu").hidden`)
	p.Keys("e")
	p.Await(`document.fullscreenElement`)
	p.Keys("e")
	p.Await(`!document.fullscreenElement`)
	p.Keys("g")
	p.Await(`document.body.classList.contains("large")`)
	p.Keys("g")
}

// A swipe of the finger turns the page.
func TestTouch(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 420, 860)
	swipe := func(from, to int) {
		p.JS(fmt.Sprintf(`for (const [name, x] of [["pointerdown", %d], ["pointerup", %d]]) document.getElementById("stage").dispatchEvent(new PointerEvent(name, {bubbles: true, pointerType: "touch", clientX: x, clientY: 300}))`, from, to))
	}
	swipe(350, 80)
	swipe(350, 80)
	if got := value[int](p, `rollwright.state.step`); got != 2 {
		t.Errorf("two swipes to the left lead to step %d", got+1)
	}
	swipe(80, 350)
	if got := value[int](p, `rollwright.state.step`); got != 1 {
		t.Errorf("a swipe to the right leads to step %d", got+1)
	}
	p.picture("phone")
	p.fits(l.Steps[1])
}

// The second window has the speaker's notes, what comes next, and the times.
func TestSpeakersWindow(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	p.JS(`rollwright.go(2); rollwright.seek(rollwright.data.steps[1].sound.from + 2e6)`)
	// A press of the key is what lets the page open a window.
	p.Keys("n")
	p.Await(`rollwright.speaker.window && rollwright.speaker.window.document.querySelector(".say p")`)
	text := value[string](p, `rollwright.speaker.window.document.body.innerText`)
	for _, want := range []string{l.Steps[1].Title, l.Steps[1].Say[0], "Then: " + l.Steps[2].Title, "0:02 / ", "2 of 12"} {
		if !strings.Contains(text, want) {
			t.Errorf("the second window lacks %q:\n%s", want, text)
		}
	}
	// Planned for ten minutes, of which a few seconds are gone.
	got := value[map[string]float64](p, `rollwright.times()`)
	if math.Abs(got["elapsed"]+got["remaining"]-600) > 0.01 || got["elapsed"] > 20 || math.Abs(got["inStep"]-2) > 0.01 {
		t.Errorf("times: %v", got)
	}
	// A picture of this step and its text, the next one's too; a point on it is one on the screen.
	for _, want := range []string{l.Steps[1].Text[0], l.Steps[2].Text[0]} {
		if !strings.Contains(text, want) {
			t.Errorf("the second window lacks the text %q", want)
		}
	}
	if n := value[int](p, `rollwright.speaker.window.document.querySelectorAll(".mirror svg, .mirror canvas, .then svg").length`); n != 2 { // the next step has no figure
		t.Errorf("the second window has %d pictures", n)
	}
	p.JS(`const m = rollwright.speaker.window.document.querySelector(".mirror"), box = m.getBoundingClientRect();
		m.dispatchEvent(new PointerEvent("pointermove", {clientX: box.left + box.width / 4, clientY: box.top + box.height / 2}))`)
	if got := value[string](p, `(b => Math.round(100 * (b.left + b.width / 2) / innerWidth) + " " + Math.round(100 * (b.top + b.height / 2) / innerHeight))(document.getElementById("point").getBoundingClientRect())`); got != "25 50" {
		t.Errorf("the point is at %s per cent of the screen, want 25 50", got)
	}
	p.JS(`rollwright.speaker.window.dispatchEvent(new KeyboardEvent("keydown", {key: "PageUp"}))`)
	if got := value[int](p, `rollwright.state.step`); got != 0 {
		t.Errorf("a key in the second window leads to step %d", got+1)
	}
	if *pictures != "" {
		p.JS(`rollwright.go(4); await new Promise(r => setTimeout(r, 300)); document.body.innerHTML = rollwright.speaker.window.document.body.innerHTML; document.querySelector("style").textContent = rollwright.speaker.window.document.querySelector("style").textContent`)
		p.picture("speaker")
	}
}

// Without a planned length what remains is the sound that is left.
func TestRemainingSound(t *testing.T) {
	text := strings.Replace(lesson, "  minutes = 10\n", "", 1)
	l := lectureOf(t, jobOf(t, "lesson", text), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	got := value[map[string]float64](p, `rollwright.times()`)
	if math.Abs(got["remaining"]-l.Seconds()) > 0.02 {
		t.Errorf("remaining %v s, the sound of all steps is %v s", got["remaining"], l.Seconds())
	}
}

// Nothing is in the way of those who do not see the page as it was drawn.
// axe-core is Deque's implementation of the W3C's accessibility rules.
func TestAccessible(t *testing.T) {
	axe, err := os.ReadFile("testdata/axe/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	path := page(t, l)
	for _, theme := range []string{"light", "dark"} {
		t.Run(theme, func(t *testing.T) {
			t.Parallel() // a tab for each core
			p := browser(t)
			p.open(path, 1280, 720)
			p.JS(string(axe))
			p.accessible(l, theme)
		})
	}
}

// accessible asks axe-core, which the page has, of every step before and after it
// has begun, of what if, and of the menu.
func (p *tab) accessible(l *show.Lecture, theme string) {
	p.Helper()
	look := func(where string) {
		p.Helper()
		found := value[string](p, `axe.run().then(r => r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 160) + " " + n.failureSummary).join("; ")).join("\n"))`)
		if found != "" {
			p.Errorf("%s: %s", where, found)
		}
	}
	for _, s := range l.Steps {
		p.JS(fmt.Sprintf(`document.documentElement.dataset.theme = %q; rollwright.go(%d)`, theme, s.Number))
		look(fmt.Sprintf("step %d, %s", s.Number, theme))
		if s.Hear != show.Nothing {
			p.JS(`rollwright.seek(rollwright.state.at + 1e6); await new Promise(r => setTimeout(r, 40))`)
			look(fmt.Sprintf("step %d started, %s", s.Number, theme))
		}
	}
	p.JS(`rollwright.whatIf.turn()`)
	p.Await(`rollwright.whatIf.answer`)
	look("what if, " + theme)
	p.JS(`document.getElementById("menu-open").click()`)
	look("menu, " + theme)
	p.picture("menu-" + theme)
	p.JS(`document.getElementById("menu-close").click()`)
}

// Who asks for less motion sees paper that stands still for two seconds, and
// wheels that do not turn.
func TestReducedMotion(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.reduced()
	p.open(page(t, l), 1280, 720)
	p.JS(`rollwright.go(4); rollwright.seek(rollwright.state.at + 15e5); await new Promise(r => setTimeout(r, 60))`)
	if got := value[int](p, `document.querySelectorAll(".step:not([hidden]) [transform^=rotate]").length`); got != 0 {
		t.Errorf("%d wheels turn", got)
	}
}

// Each lesson that comes with the program has a lecture page: small enough, and
// every step of it is shown without an error. A few, all where ROLLWRIGHT_LONG is
// set, are told twice, in the same bytes.
func TestLecturesOfExamples(t *testing.T) {
	list := examples.List()
	twice := list[:seeds.Of(3, len(list))]
	for half := range 2 { // a tab for each core
		t.Run(fmt.Sprint("half ", half+1), func(t *testing.T) {
			t.Parallel()
			p := browser(t)
			for i, e := range list {
				if i%2 == half {
					lookAtLecture(t, p, e.Name, i < len(twice))
				}
			}
		})
	}
}

// lookAtLecture looks at every step of an example's lecture, which is told once or
// twice.
func lookAtLecture(t *testing.T, p *tab, name string, twice bool) {
	t.Helper()
	l := lectureOf(t, example(t, name), show.Options{})
	path := page(t, l)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(data) > mostBytes {
		t.Errorf("%s: %d bytes", name, len(data))
	}
	if twice {
		again, err := os.ReadFile(page(t, lectureOf(t, example(t, name), show.Options{})))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(again, data) {
			t.Errorf("%s: two pages of one piece differ", name)
		}
	}
	p.open(path, 1280, 720)
	if sec := value[float64](p, `rollwright.ready().then(() => rollwright.data.bank.reduce((sum, t) => sum + t.len, 0) / rollwright.data.rate)`); sec < 1 {
		t.Errorf("%s: its notes last %v s together", name, sec)
	}
	for _, s := range l.Steps {
		p.JS(fmt.Sprintf(`rollwright.go(%d); await new Promise(r => setTimeout(r, 20))`, s.Number))
		p.fits(s)
	}
	if len(l.Steps) < 4 {
		t.Errorf("%s: only %d steps", name, len(l.Steps))
	}
}
