package workshop

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/making/machine"
	"rollwright/paper/instrument"
	scan "rollwright/scan/read"
	"rollwright/text/source"
)

const drawnPiece = `tempo = 120
voice "low" {
  talea = "3 2 (1) 6"
  color = "C3 G3 E4"
  extent = "30 notes"
  start  = "1 s"
}
voice "high" {
  talea = "2 1 5"
  color = "A5 C6"
  extent = "40 notes"
  start  = "1 s"
}
`

// TestDrawingsReadBack: what rollwright draws (a picture of one strip; the long SVG
// turned to pixels by librsvg) reads back to the slots it was drawn from.
func TestDrawingsReadBack(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	job, err := New(ctx, &source.File{Name: "drawn.piece", Text: []byte(drawnPiece)}, dir)
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		o      Options
		off    float64 // mm an edge may be off: 0.15, half a pixel, and a picture's hairline about holes
		within float64 // mm that are drawn
	}{
		{"strip.png", Options{FromSec: 0, ToSec: 9, WidthPX: 3000, Strips: 1}, 0.3, 9*40.64 - 50},
		{"long.svg", Options{}, 0.28, math.Inf(1)},
	} {
		path := filepath.Join(dir, tt.name)
		if _, err := job.Write(ctx, path, tt.o); err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(path, ".svg") {
			out, err := exec.Command("rsvg-convert", "-d", "100", "-p", "100", "-b", "white", "-o", path+".png",
				path).CombinedOutput()
			if err != nil {
				t.Skipf("no rsvg-convert to turn SVG to pixels: %v %s", err, out)
			}
			path += ".png"
		}
		r, err := scan.Read(ctx, []string{path}, scan.Options{Instruments: []*instrument.Instrument{rolls[0].Instrument}})
		if err != nil {
			t.Fatal(err)
		}
		i := 0
		for _, s := range rolls[0].Slots {
			if s.TrailMM > tt.within {
				continue
			}
			found, zero := false, rolls[0].Slots[0].LeadMM
			s.LeadMM, s.TrailMM = s.LeadMM-zero, s.TrailMM-zero
			for _, q := range r.Slots {
				found = found || q.Port == int(s.Port) && math.Abs(q.LeadMM-s.LeadMM) < tt.off &&
					math.Abs(q.TrailMM-s.TrailMM) < tt.off
			}
			if !found {
				t.Errorf("%s: the slot of port %d from %.2f to %.2f mm is not read: %s", tt.name, s.Port+1, s.LeadMM, s.TrailMM,
					near(r, int(s.Port), s.LeadMM))
			}
			i++
		}
		if i < 20 || math.IsInf(tt.within, 1) && len(r.Slots) != i {
			t.Errorf("%s: %d slots read, %d drawn", tt.name, len(r.Slots), i)
		}
	}
}

// near are the slots that were read about a place.
func near(r *scan.Reading, port int, at float64) (text string) {
	for _, q := range r.Slots {
		if q.Port == port && math.Abs(q.LeadMM-at) < 40 {
			text += fmt.Sprintf(" %.2f to %.2f", q.LeadMM, q.TrailMM)
		}
	}
	return text
}

// TestReadingIntoFiles: a picture reads into every kind of file, and stands where a
// piece does.
func TestReadingIntoFiles(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	job, err := New(ctx, &source.File{Name: "drawn.piece", Text: []byte(drawnPiece)}, dir)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "strip.png")
	if _, err := job.Write(ctx, path, Options{FromSec: 0, ToSec: 9, WidthPX: 3000, Strips: 1}); err != nil {
		t.Fatal(err)
	}
	again, err := Open(ctx, path, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := scan.Read(ctx, []string{path}, scan.Options{Instruments: again.Instruments})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a.csv", "a.mid", "a.html", "a.pdf", "a.svg", "a.dxf", "a.png"} {
		out := filepath.Join(dir, name)
		if err := CanWriteReading(out, &Options{}); err != nil {
			t.Error(err)
		}
		made, err := WriteReading(ctx, out, r, &Options{}, nil)
		if err != nil || len(made) != 1 {
			t.Errorf("%s: %v %v", name, made, err)
			continue
		}
		if info, err := os.Stat(out); err != nil || info.Size() < 100 {
			t.Errorf("%s: %v", name, err)
		}
	}
	retoldAgain(t, r, dir)
	machined(t, r, dir)
	page, err := os.ReadFile(filepath.Join(dir, "a.html"))
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(page), `<rect class="`); n < len(r.Slots) {
		t.Errorf("the page outlines %d slots of %d", n, len(r.Slots))
	}
}

// retoldAgain: the piece that a picture is written as plays the same slots: their
// edges to half a tick at each end, 0.1 ms of 40.64 mm/s or 4 um, and the rounding
// of the paper.
func retoldAgain(t *testing.T, r *scan.Reading, dir string) {
	t.Helper()
	out := filepath.Join(dir, "a.piece")
	if err := CanWriteReading(out, &Options{}); err != nil {
		t.Fatal(err)
	}
	if _, err := WriteReading(t.Context(), out, r, &Options{}, nil); err != nil {
		t.Fatal(err)
	}
	job, err := Open(t.Context(), out, nil)
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := job.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	if len(rolls[0].Slots) != len(r.Slots) {
		t.Fatalf("%d slots, %d read", len(rolls[0].Slots), len(r.Slots))
	}
	zero := rolls[0].Slots[0].LeadMM - r.Slots[0].LeadMM
	for _, s := range rolls[0].Slots {
		found := false
		for _, q := range r.Slots {
			found = found || q.Port == int(s.Port) && math.Abs(q.LeadMM+zero-s.LeadMM) < 0.006 &&
				math.Abs(q.TrailMM+zero-s.TrailMM) < 0.006
		}
		if !found {
			t.Errorf("port %d from %.4f to %.4f mm is not among what was read: %s", s.Port+1, s.LeadMM, s.TrailMM,
				near(r, int(s.Port), s.LeadMM))
		}
	}
}

// machined: a program needs a machine, and is written for the one that is named.
func machined(t *testing.T, r *scan.Reading, dir string) {
	t.Helper()
	out := filepath.Join(dir, "a.nc")
	if err := CanWriteReading(out, &Options{}); err == nil || !strings.Contains(err.Error(), "name it with") {
		t.Errorf("a program for no machine: %v", err)
	}
	o := &Options{Machining: Machining{Machine: machine.Names()[0]}}
	if err := CanWriteReading(out, o); err != nil {
		t.Fatal(err)
	}
	made, err := WriteReading(t.Context(), out, r, o, nil)
	if err != nil || len(made) == 0 {
		t.Fatal(made, err)
	}
	text, err := os.ReadFile(made[0])
	if err != nil || !strings.Contains(string(text), "G21") {
		t.Errorf("no program in millimetres: %v", err)
	}
}
