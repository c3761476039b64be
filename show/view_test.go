package show_test

import (
	"fmt"
	"os"
	"testing"

	"rollwright/show"
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
				p.js(fmt.Sprintf(`rollwright.go(%d); await new Promise(r => setTimeout(r, 60))`, s.Number))
				p.picture(fmt.Sprintf("%s-%d-%02d", name, size[0], s.Number))
				p.fits(s)
				if s.Hear == show.Nothing {
					continue
				}
				p.js(`const s = rollwright.data.steps[rollwright.state.step].sound; rollwright.seek(s.from + 0.62 * (s.to - s.from)); await new Promise(r => setTimeout(r, 60))`)
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
