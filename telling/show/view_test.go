package show_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"rollwright/telling/show"
)

// TestViews shows every step in three sizes of screen, before and while it
// sounds, and looks whether anything is cut off or lies outside.
func TestViews(t *testing.T) {
	names := []string{"two-shuttles"}
	if *pictures != "" {
		names = []string{"two-shuttles", "first-thread", "two-sheds", "unwinding", "bobbins"}
		if err := os.MkdirAll(*pictures, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	p := browser(t)
	for i, name := range names {
		l := lectureOf(t, example(t, name), show.Options{})
		path := page(t, l)
		for _, size := range [][2]int64{{1280, 720}, {1920, 1080}, {1024, 768}} {
			if i > 0 && size[0] != 1280 {
				continue
			}
			p.open(path, size[0], size[1])
			for _, s := range l.Steps {
				p.JS(fmt.Sprintf(`rollwright.go(%d); await new Promise(r => setTimeout(r, 60))`, s.Number))
				p.picture(fmt.Sprintf("%s-%d-%02d", name, size[0], s.Number))
				p.fits(s)
				if s.Hear == show.Nothing {
					continue
				}
				p.JS(`const s = rollwright.data.steps[rollwright.state.step].sound; rollwright.seek(s.from + 0.62 * (s.to - s.from)); await new Promise(r => setTimeout(r, 60))`)
				p.picture(fmt.Sprintf("%s-%d-%02d-on", name, size[0], s.Number))
				p.fits(s)
			}
		}
	}
}

// fits looks for text that is cut off, and for elements beyond the screen.
func (p *tab) fits(s *show.Step) {
	p.Helper()
	found := value[string](p, `(() => {
		const wrong = [];
		for (const e of document.querySelectorAll(".step:not([hidden]) *:not(svg *), #bar *:not(svg *)")) {
			const r = e.getBoundingClientRect();
			if (!r.width || e.closest(".strip, .hidden")) continue;
			if (r.right > innerWidth + 1 || r.bottom > innerHeight + 1 || r.left < -1 || r.top < -1) wrong.push("outside: " + e.outerHTML.slice(0, 120) + JSON.stringify(r));
			if (e.scrollWidth > e.clientWidth + 2 && e.clientWidth && getComputedStyle(e).overflow !== "visible") wrong.push("cut off: " + e.outerHTML.slice(0, 120));
		}
		return wrong.slice(0, 3).join("\\n");
	})()`)
	if found != "" {
		p.Errorf("step %d (%s): %s", s.Number, s.Name, found)
	}
}

// smallest is the size in pixels of the smallest letters of the figure that is
// seen, and how much of its panel's width or height it fills; music apart.
const smallest = `(() => {
	const figure = [...document.querySelectorAll(".step:not([hidden]) figure svg")].find(s => s.getClientRects().length);
	if (!figure) return { size: 0, fills: 0, text: "no figure" };
	let size = 1e9, text = "";
	for (const t of figure.querySelectorAll("text")) {
		if (/Music/.test(getComputedStyle(t).fontFamily)) continue;
		const m = t.getScreenCTM(), px = parseFloat(getComputedStyle(t).fontSize) * Math.hypot(m.a, m.b);
		if (px < size) { size = px; text = t.textContent; }
	}
	const box = figure.viewBox.baseVal, room = figure.getBoundingClientRect(), scale = Math.min(room.width / box.width, room.height / box.height);
	return { size, text, fills: Math.min(scale * box.width / room.width, scale * box.height / room.height) };
})()`

type seenFigure struct {
	Size, Fills float64
	Text        string
}

// Figures beside the paper can be read from the last row: 28 pixels at 1280 by
// 720, less what rounding and a line more of text take. Charts and wheels fill
// their panel.
func TestFiguresAreRead(t *testing.T) {
	p := browser(t)
	for name, text := range map[string]string{"ends": ends, "lesson": lesson} {
		l := lectureOf(t, jobOf(t, name, text), show.Options{})
		p.open(page(t, l), 1280, 720)
		for _, s := range l.Steps {
			p.JS(fmt.Sprintf(`rollwright.go(%d); await new Promise(r => setTimeout(r, 60))`, s.Number))
			if s.Figure == nil || s.Kind == show.RhythmAlone || s.Kind == show.MelodyAlone {
				continue // without letters
			}
			p.read(name, s, false)
			if s.Hear == show.Nothing {
				continue
			}
			p.JS(`const s = rollwright.data.steps[rollwright.state.step].sound; rollwright.seek(s.from + 0.62 * (s.to - s.from)); await new Promise(r => setTimeout(r, 60))`)
			p.read(name, s, true)
		}
	}
}

func (p *tab) read(name string, s *show.Step, on bool) {
	p.Helper()
	f := value[seenFigure](p, smallest)
	if f.Size < 26 || f.Size > 80 {
		p.Errorf("%s, step %d (%s), sounding %v: %q has %.1f pixels", name, s.Number, s.Name, on, f.Text, f.Size)
	}
	if notes := s.Notation != nil && !on; f.Fills < 0.8 && !notes {
		p.Errorf("%s, step %d (%s), sounding %v: its figure fills %.0f %% of its panel", name, s.Number, s.Name, on,
			100*f.Fills)
	}
}

// The screen that shows nothing else has the whole figure, with all its words;
// the wheels turn in both copies, which have names of their own.
func TestWholeFigure(t *testing.T) {
	l := lectureOf(t, jobOf(t, "lesson", lesson), show.Options{})
	p := browser(t)
	p.open(page(t, l), 1280, 720)
	s := stepNamed(t, l, "together")
	p.JS(fmt.Sprintf(`rollwright.go(%d); const s = rollwright.data.steps[rollwright.state.step].sound; rollwright.seek(s.from + 0.62 * (s.to - s.from)); await new Promise(r => setTimeout(r, 60))`, s.Number))
	const words = `[...document.querySelectorAll(".step:not([hidden]) figure svg")].filter(s => s.getClientRects().length).map(s => s.textContent).join("|")`
	if got := value[string](p, words); strings.Contains(got, "turns") || strings.Contains(got, "|") {
		t.Errorf("beside the paper: %s", got)
	}
	p.Keys("g")
	if got := value[string](p, words); !strings.Contains(got, "turns") || strings.Contains(got, "|") {
		t.Errorf("large: %s", got)
	}
	if got := value[string](p, `[...new Set([...document.querySelectorAll(".step:not([hidden]) figure.moving [id$=-color-wheel]")].map(e => e.getAttribute("transform")))].join("|")`); !strings.HasPrefix(got, "rotate(") || strings.Contains(got, "|") {
		t.Errorf("the wheels are turned by %s", got)
	}
	if got := value[int](p, `(all => all.length - new Set(all).size)([...document.querySelectorAll("[id]")].map(e => e.id))`); got != 0 {
		t.Errorf("%d elements have the name of another", got)
	}
}
