package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// The numbers that the documents state of the page, in Debian's chromium
// without a graphics card. They are measured, not asserted.

// manyNotes is a piece of 40 voices, on keys of their own, with so many notes
// in all, 300 a second.
func manyNotes(notes int) string {
	var b strings.Builder
	fmt.Fprintln(&b, "title = \"Many\"\ntempo = 112.5\nhold = 0.5")
	const voices = 40
	for v := range voices {
		fmt.Fprintf(&b, "voice \"v%d\" {\n  talea = \"1\"\n  color = %q\n  extent = \"%d notes\"\n}\n", v, pitchOf(24+2*v)+
			" "+pitchOf(25+2*v), notes/voices)
	}
	return b.String()
}

func pitchOf(key int) string {
	return [...]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}[key%12] + fmt.Sprint(key/12-1)
}

// BenchmarkPageKeyToRoll is from the press of a key in the text, as the browser dates it,
// to the end of the first painted frame with the new roll, both side panels open: with
// the findings, with the cycles, with the meetings.
func BenchmarkPageKeyToRoll(b *testing.B) {
	for _, notes := range []int{10_000, 200_000} {
		w := serve(b, map[string]string{"many.piece": manyNotes(notes)})
		p := visit(b, chrome(b), w.address())
		p.skipTour()
		p.Await(fmt.Sprintf(`bench.work.value.pianos[0].slots.count === %d`, notes))
		p.JS(`addEventListener("keydown", e => { window.pressed = e.timeStamp }, true)`)
		for _, panel := range []string{"findings", "cycles", "meetings"} {
			b.Run(fmt.Sprintf("%d/%s", notes, panel), func(b *testing.B) {
				p.tab(panel)
				p.JS(`document.querySelector(".cm-content").focus()`)
				var all []float64
				for b.Loop() {
					p.Await(`bench.found.value === bench.work.value`) // as after a pause
					p.JS(`window.before = bench.painted.work`)
					p.Keys("#")
					p.Await(`bench.painted.work !== window.before`)
					all = append(all, value[float64](p, `bench.painted.at - window.pressed`))
				}
				report(b, all, "ms/key")
			})
		}
	}
}

// report tells the median of what was measured, and what one in twenty is beyond.
func report(b *testing.B, all []float64, unit string) {
	slices.Sort(all)
	b.ReportMetric(all[len(all)/2], unit)
	b.ReportMetric(all[len(all)*95/100], unit+"95")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkPageDrag carries the start of a voice along the paper, a place a frame: from
// what is wanted to its roll in the page.
func BenchmarkPageDrag(b *testing.B) {
	w := serve(b, map[string]string{"many.piece": manyNotes(10_000)})
	p := visit(b, chrome(b), w.address())
	p.skipTour()
	p.Await(`bench.work.value.pianos[0].slots.count === 10000`)
	v := &viewer{visitor: p}
	var all []float64
	for b.Loop() {
		p.JS(`bench.grip.carried.length = 0`)
		letGo := v.drag("start v0", 1, false)
		p.Await(`bench.grip.trial.value?.there`)
		all = append(all, value[[]float64](p, `bench.grip.carried`)...)
		p.JS(`document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "Escape", bubbles: true}))`)
		letGo()
		p.Await(`bench.grip.trial.value === null`)
	}
	report(b, all, "ms/place")
}

// BenchmarkPageFrames pulls the paper with 200,000 slots along, a frame at a
// time, at several distances.
func BenchmarkPageFrames(b *testing.B) {
	w := serve(b, map[string]string{"many.piece": manyNotes(200_000)})
	p := visit(b, chrome(b), w.address())
	p.skipTour()
	for _, zoom := range []struct {
		name  string
		steps int // of the zoom buttons, away from the whole width
	}{{"width", 0}, {"near", 5}, {"far", -3}, {"whole", -12}} {
		b.Run(zoom.name, func(b *testing.B) {
			p.JS(`document.querySelectorAll(".zoom button")[2].click(); await new Promise(r => setTimeout(r, 200))`)
			for range max(zoom.steps, -zoom.steps) {
				p.JS(fmt.Sprintf(`document.querySelectorAll(".zoom button")[%d].click()`,
					map[bool]int{true: 0, false: 1}[zoom.steps > 0]))
			}
			type result struct{ Paint, Paint95, Frame, Frame95 float64 }
			var r result
			for b.Loop() {
				r = value[result](p, `(async () => {
					bench.painted.times.length = 0;
					const gaps = []; let last = performance.now();
					for (let i = 0; i < 120; i++) {
						bench.seek(100 + i / 60);
						await new Promise(requestAnimationFrame);
						const now = performance.now(); gaps.push(now - last); last = now;
					}
					const at = (list, share) => list.slice(10).sort((a, b) => a - b)[Math.floor((list.length - 11) * share)];
					const t = bench.painted.times;
					return {Paint: at(t, .5), Paint95: at(t, .95), Frame: at(gaps, .5), Frame95: at(gaps, .95)};
				})()`)
			}
			b.ReportMetric(r.Paint, "ms/paint")
			b.ReportMetric(r.Paint95, "ms/paint95")
			b.ReportMetric(r.Frame, "ms/frame")
			b.ReportMetric(r.Frame95, "ms/frame95")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkPageFirstSound is from the press of the play key to the first sound
// at the device, once the notes are there.
func BenchmarkPageFirstSound(b *testing.B) {
	w := serve(b, map[string]string{"small.piece": small})
	p := visit(b, chrome(b), w.address())
	p.skipTour()
	p.JS(`document.querySelector(".paper-canvas").focus()`)
	p.Keys(" ")
	p.Await(`bench.soundState().playing`)
	time.Sleep(500 * time.Millisecond)
	p.Keys(" ")
	var all []float64
	for b.Loop() {
		p.Keys("b")
		p.Keys(" ")
		p.Await(`bench.soundState().playing`)
		time.Sleep(100 * time.Millisecond)
		all = append(all, value[float64](p, `bench.soundState().delay`))
		p.Keys(" ")
		p.Await(`!bench.soundState().playing`)
	}
	slices.Sort(all)
	b.ReportMetric(all[len(all)/2], "ms")
	b.ReportMetric(0, "ns/op")
}
