package show_test

import (
	"context"
	"fmt"
	"io"
	"os"
	"testing"
	"time"

	"rollwright/telling/show"
	"rollwright/text/source"
	"rollwright/workshop"
)

// long is a piece of three minutes with 3,000 notes: four voices, 750 notes
// each, on most of the keyboard and at several levels.
func long() string {
	text := "title = \"Three Minutes\"\ntempo = 60\n"
	for i, key := range []string{"C2 G2 D3 A2 F2 Bb2 Eb3", "C3 F#3 D4 A3 E4 B3 G3 C#4 Ab3 F3 Bb3",
		"E4 B4 F5 C5 G4 D5 A4 Eb5 Bb4", "C6 G6 D6 A5 E6 B5 F#6 C7 G#5 D#6 A#6 F6 C#6"} {
		text += fmt.Sprintf("voice \"v%d\" {\n  talea = \"1 1 1/2 3/2 %d/8 %d/8\"\n  color = %q\n  extent = \"750 notes\"\n  lasts = \"180 s\"\n  hold = \"0.9 0.5\"\n  dynamics = \"mf f p ff pp mp\"\n}\n", i+1, 7-i, 9+i, key)
	}
	return text
}

// BenchmarkPage is the whole way from text to page, the notes computed before;
// COLD=1 computes them anew.
func BenchmarkPage(b *testing.B) {
	size := countingWriter(0)
	for b.Loop() {
		if os.Getenv("COLD") != "" {
			b.Setenv("XDG_CACHE_HOME", b.TempDir())
		}
		job, err := workshop.New(context.Background(), &source.File{Name: "long.piece", Text: []byte(long())}, ".")
		if err != nil {
			b.Fatal(err)
		}
		size = 0
		if err := lectureOf(b, job, show.Options{}).WritePage(context.Background(), &size); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(size)/1e6, "MB")
}

// countingWriter counts what is written to it.
type countingWriter int64

func (c *countingWriter) Write(p []byte) (int, error) {
	*c += countingWriter(len(p))
	return len(p), nil
}

var _ io.Writer = (*countingWriter)(nil)

// BenchmarkSlides is the folder of a talk: sounds, pictures, text.
func BenchmarkSlides(b *testing.B) {
	job := jobOf(b, "long", long())
	for b.Loop() {
		if _, err := job.WriteSlides(context.Background(), b.TempDir(), workshop.Slides{Sound: ".flac"}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOpen is how long the page takes from its address to answering keys,
// how long until it has its sound, and how many frames a second it shows while
// the whole piece plays.
func BenchmarkOpen(b *testing.B) {
	l := lectureOf(b, jobOf(b, "long", long()), show.Options{})
	path := page(b, l)
	all := stepNamed(b, l, "all").Number
	p := browser(b)
	var ready, sounding, frames float64
	n := 0.0
	for b.Loop() {
		n++
		p.open(path, 1920, 1080)
		p.JS(`await rollwright.ready(); window.soundAt = performance.now()`)
		ready += value[float64](p, `performance.getEntriesByType("navigation")[0].domInteractive`)
		sounding += value[float64](p, `window.soundAt`)
		p.JS(fmt.Sprintf(`rollwright.go(%d); rollwright.seek(100e6); rollwright.toggle()`, all))
		p.Await(`rollwright.state.playing`)
		time.Sleep(500 * time.Millisecond)
		frames += value[float64](p, `new Promise(done => { const from = rollwright.frames.count, at = performance.now(); setTimeout(() => done((rollwright.frames.count - from) / (performance.now() - at) * 1000), 3000) })`)
	}
	b.ReportMetric(ready/n, "ms-interactive")
	b.ReportMetric(sounding/n, "ms-sound")
	b.ReportMetric(frames/n, "frames/s")
}
