package web

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"rollwright/paper/roll"
	"rollwright/workshop"
)

// longRows is how many rows of pixels the long paper has: 42 m at 150 an inch.
const longRows = 250_000

// BenchmarkPageLongPaper lays a picture of a quarter of a million rows on the light
// table and runs along it in a real browser: seconds until it lies there, milliseconds
// to paint a frame (the 95th of 100), tiles fetched.
func BenchmarkPageLongPaper(b *testing.B) {
	dir := b.TempDir()
	text := "title = \"Long\"\ntempo = 60\n\nvoice \"one\" {\n  talea  = \"2 3 1 2\"\n  color  = \"C3 G3 E4 A3 D4 F5 B4\"\n  extent = \"1030 s\"\n}\n"
	name := filepath.Join(dir, "long.piece")
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		b.Fatal(err)
	}
	job, err := workshop.Open(b.Context(), name, nil)
	if err != nil {
		b.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		b.Fatal(err)
	}
	if err := drawLong(filepath.Join(dir, "long.pgm"), rolls[0]); err != nil {
		b.Fatal(err)
	}
	bench := serveFolder(b, dir)
	v := &viewer{visitor: visit(b, chrome(b), bench.address())}
	v.skipTour()
	for b.Loop() {
		start := time.Now()
		id, l, _ := bench.light(m{"name": "long.piece", "text": text, "pictures": []string{"long.pgm"}})
		if l.Unlike != "" || len(l.Differences) > 0 {
			b.Fatalf("job %s: %s %+v", id, l.Unlike, l.Differences[:min(3, len(l.Differences))])
		}
		b.ReportMetric(time.Since(start).Seconds(), "s/laid")
		v.tab("light")
		v.click(".light button.main", "")
		v.Await(`bench.light.light.value`)
		v.JS(`bench.painted.times.length = 0`)
		v.JS(`for (let i = 0; i < 300; i++) { bench.seek(2 + i * 3.3); await new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r))) }`)
		times := value[[]float64](v.visitor, `bench.painted.times`)
		slices.Sort(times)
		b.ReportMetric(times[len(times)*95/100], "ms/frame95")
		b.ReportMetric(value[float64](v.visitor, `bench.light.light.value.tiles.fetched`), "tiles")
		v.picture("long")
	}
}

// drawLong draws a roll as PGM at 150 pixels an inch, row by row, the music from below.
func drawLong(name string, r *roll.Roll) error {
	perMM := 150 / 25.4
	file, err := os.Create(name)
	if err != nil {
		return err
	}
	defer file.Close()
	paper := r.Instrument.Paper.WidthMM
	margin := int(6 * perMM)
	width := int(paper*perMM) + 2*margin
	plain := make([]byte, width)
	for x := range plain {
		if plain[x] = 210; x < margin || x >= width-margin {
			plain[x] = 40
		}
	}
	w := bufio.NewWriterSize(file, 1<<20)
	fmt.Fprintf(w, "P5\n%d %d\n255\n", width, longRows)
	// Slots by their trailing edges, for rows run from the end of the music.
	slots := slices.Clone(r.Slots)
	slices.SortFunc(slots, func(a, b roll.Slot) int { return int(1e3 * (b.TrailMM - a.TrailMM)) })
	var open []roll.Slot
	line := make([]byte, width)
	for y := range longRows {
		at := (longRows-float64(y)-0.5)/perMM - 15
		for len(slots) > 0 && slots[0].TrailMM >= at {
			open, slots = append(open, slots[0]), slots[1:]
		}
		open = slices.DeleteFunc(open, func(s roll.Slot) bool { return s.LeadMM > at })
		copy(line, plain)
		for _, s := range open {
			for d := -0.5; d <= 0.5; d += 0.05 {
				line[margin+int((r.Instrument.Bar.Ports[s.Port].AcrossMM+d*r.Instrument.Die.DiameterMM)*perMM)] = 40
			}
		}
		if _, err := w.Write(line); err != nil {
			return err
		}
	}
	return w.Flush()
}
