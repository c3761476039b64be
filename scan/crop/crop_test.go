package crop

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rollwright/paper/instrument"
	"rollwright/scan/read"
)

// TestCut: a dot at 100 mm along and at port 40 across lies in the middle of the
// piece that is cut out around it, start at the left and bass above, whichever way
// the picture lies. Twelve holes around say where that is. Ten pixels a millimetre
// make every pixel of the piece stand for one and two thirds of the picture.
func TestCut(t *testing.T) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	for name, turn := range map[string]func(along, across float64) (x, y float64){
		"start below":            func(along, across float64) (x, y float64) { return across * 10, 2500 - along*10 },
		"start left, bass above": func(along, across float64) (x, y float64) { return along * 10, across * 10 },
		"a little askew": func(along, across float64) (x, y float64) {
			return along*9.99 + across*.2 + 5, across*9.99 - along*.2 + 60
		},
	} {
		t.Run(name, func(t *testing.T) {
			picture := image.NewGray(image.Rect(0, 0, 3000, 3000))
			for i := range picture.Pix {
				picture.Pix[i] = 200
			}
			port := in.Bar.Ports[39].AcrossMM
			cx, cy := turn(100, port)
			for y := range 3000 {
				for x := range 3000 {
					if math.Hypot(float64(x)+.5-cx, float64(y)+.5-cy) < 10 {
						picture.SetGray(x, y, color.Gray{0})
					}
				}
			}
			path := filepath.Join(t.TempDir(), "p.png")
			file, err := os.Create(path)
			if err != nil {
				t.Fatal(err)
			}
			if err := png.Encode(file, picture); err != nil {
				t.Fatal(err)
			}
			if err := file.Close(); err != nil {
				t.Fatal(err)
			}
			r := &read.Reading{Instrument: in, Pictures: []*read.Picture{{Name: path, Width: 3000, Height: 3000}}}
			for k := range 12 {
				s := read.Slot{Port: 30 + k*7%12, LeadMM: 40 + 10*float64(k), TrailMM: 44 + 10*float64(k)}
				x, y := turn((s.LeadMM+s.TrailMM)/2, in.Bar.Ports[s.Port].AcrossMM)
				s.Box = read.Box{X0: x - 20, Y0: y - 20, X1: x + 20, Y1: y + 20}
				r.Slots = append(r.Slots, s)
			}
			// The dot lies a third from the left and a quarter from above.
			windows := []Window{{90, 120, port - 5, port + 15}, {90, 120, port - 5, port + 15}}
			out, err := Cut(r, windows)
			if err != nil || len(out) != 2 || !bytes.Equal(out[0], out[1]) {
				t.Fatal(len(out), err)
			}
			m, err := png.Decode(bytes.NewReader(out[0]))
			if err != nil {
				t.Fatal(err)
			}
			var n, sx, sy float64
			for y := range m.Bounds().Dy() {
				for x := range m.Bounds().Dx() {
					if v, _, _, _ := m.At(x, y).RGBA(); v < 0x4000 {
						n, sx, sy = n+1, sx+float64(x)+.5, sy+float64(y)+.5
					}
				}
			}
			scale := float64(m.Bounds().Dx()) / 30
			if x, y := sx/n/scale, sy/n/scale; n == 0 || math.Abs(x-10) > .3 || math.Abs(y-5) > .3 {
				t.Errorf("the dot lies at %.2f, %.2f mm of the piece, want 10, 5", x, y)
			}
		})
	}
}

// TestCutNothing: where holes lie on one line, or there are none, nothing is cut,
// and a picture that is gone is an error.
func TestCutNothing(t *testing.T) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	r := &read.Reading{Instrument: in, Pictures: []*read.Picture{{Name: "gone.png", Width: 100, Height: 100}}}
	if out, err := Cut(r, []Window{{0, 10, 0, 10}}); err != nil || out[0] != nil {
		t.Error(out, err)
	}
	for k := range 5 {
		r.Slots = append(r.Slots, read.Slot{Port: 10, LeadMM: float64(k) * 10, TrailMM: float64(k)*10 + 2})
	}
	if out, err := Cut(r, []Window{{0, 10, 0, 10}}); err != nil || out[0] != nil {
		t.Error(out, err)
	}
	for k := range r.Slots {
		r.Slots[k].Port = 3 + k*k
		r.Slots[k].Box = read.Box{X0: float64(k) * 10, Y0: float64(k * k * 3), X1: float64(k)*10 + 1, Y1: float64(k*k*3) + 1}
	}
	if _, err := Cut(r, []Window{{0, 10, 10, 30}}); err == nil {
		t.Error("a picture that is gone is cut")
	}
}
