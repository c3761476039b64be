package read

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rollwright/internal/scancase"
	"rollwright/paper/instrument"
)

// drawn draws and saves a stretch of a case.
func drawn(t testing.TB, c scancase.Case, name string, from, to float64) string {
	t.Helper()
	c.From, c.To = from, to
	dpi := c.DPIAlong
	if strings.HasSuffix(name, ".jpg") {
		dpi = 0
	}
	return save(t, name, c.Draw(), dpi, dpi)
}

func plainCase() scancase.Case {
	return scancase.Case{Seed: 11, DPIAlong: 100, DPIAcross: 100, Margin: [2]float64{9, 8}, First: "bottom", Paper: grey,
		Behind: black, Ink: ink}
}

func options(t testing.TB) Options {
	return Options{Instruments: []*instrument.Instrument{load(t, "88-note")}, First: Bottom}
}

// TestRowsAndSnap: a roll cut in rows of 25.4/45 mm on paper that has grown by
// 0.4 %: the rows are found, and the edges put on them are the plan's to a tenth of
// a micrometre.
func TestRowsAndSnap(t *testing.T) {
	const step = 25.4 / 45
	c := plainCase()
	c.Along, c.Across, c.Noise = 0.004, 0.003, 3
	c.Slots = scancase.Music(5, 160, step, 3.2)
	c.From, c.To = -12, c.Slots[len(c.Slots)-1].Lead+70
	path := drawn(t, c, "rows.png", c.From, c.To)
	r, err := Read(context.Background(), []string{path}, options(t))
	if err != nil {
		t.Fatal(err)
	}
	if r.Rows.AnInch != 45 || !strings.HasPrefix(r.Rows.String(), "cut in rows of 0.5644 mm (45 an inch), ") {
		t.Fatalf("%v", r.Rows)
	}
	if err := r.Snap(); err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(c.Slots, func(a, b scancase.Slot) int {
		return cmp.Or(cmp.Compare(math.Round(a.Lead*1e4), math.Round(b.Lead*1e4)), a.Port-b.Port)
	})
	off := 0
	for i, s := range r.Slots {
		if i >= len(c.Slots) {
			break
		}
		want := c.Slots[i]
		if abs(s.LeadMM-want.Lead) > 1e-4 || abs(s.TrailMM-want.Trail) > 1e-4 {
			off++
			t.Logf("port %d: %.4f to %.4f, want %.4f to %.4f", s.Port+1, s.LeadMM, s.TrailMM, want.Lead, want.Trail)
		}
	}
	if off > len(c.Slots)/100 {
		t.Errorf("%d of %d slots off their rows", off, len(c.Slots))
	}
}

// TestNoRows: a continuous perforator leaves none, and --snap says so.
func TestNoRows(t *testing.T) {
	c := plainCase()
	c.Slots = scancase.Music(6, 120, 0, 2)
	r, err := Read(context.Background(), []string{drawn(t, c, "a.png", -12, 260)}, options(t))
	if err != nil {
		t.Fatal(err)
	}
	if r.Rows.StepMM != 0 || r.Snap() == nil {
		t.Errorf("%v", r.Rows)
	}
}

// TestOverlap: three pictures, each askew in its own way, read as one roll; pictures
// that share nothing, or out of order, are told.
func TestOverlap(t *testing.T) {
	c := plainCase()
	c.Slots = scancase.Music(8, 170, 0, 2.6)
	var names []string
	for i, at := range [][3]float64{{-12, 190, 0.6}, {140, 330, -0.8}, {285, 460, 0.3}} {
		c.Skew, c.Margin = at[2], [2]float64{11, 10}
		names = append(names, drawn(t, c, fmt.Sprintf("s%d.png", i), at[0], at[1]))
	}
	r, err := Read(context.Background(), names, options(t))
	if err != nil {
		t.Fatal(err)
	}
	c.From, c.To = -12, 455
	if o := compare(c.Truths(), r.Slots, false); o.lost+o.more > 0 || o.worst > 0.6 {
		t.Error(o)
	}
	_, err = Read(context.Background(), []string{names[0], names[2]}, options(t))
	if err == nil || !strings.Contains(err.Error(), "do not overlap") || !strings.Contains(err.Error(), "s0.png") ||
		!strings.Contains(err.Error(), "s2.png") {
		t.Errorf("pictures that share nothing: %v", err)
	}
}

// TestPhotographs: overlapping photographs, tilted and bent, as JPEG.
func TestPhotographs(t *testing.T) {
	c := plainCase()
	c.DPIAlong, c.DPIAcross, c.Margin, c.Noise = 120, 120, [2]float64{22, 24}, 3
	c.Slots = scancase.Music(9, 170, 0, 2.6)
	var names []string
	for i, at := range [][5]float64{{-12, 230, 2.5, -1.5, 0.009}, {150, 390, -2, 2.8, 0.009}} {
		c.TiltX, c.TiltY, c.Bend = at[2], at[3], at[4]
		names = append(names, drawn(t, c, fmt.Sprintf("p%d.jpg", i), at[0], at[1]))
	}
	r, err := Read(context.Background(), names, options(t))
	if err != nil {
		t.Fatal(err)
	}
	c.From, c.To = -12, 375
	o := compare(c.Truths(), r.Slots, true)
	if o.lost+o.more > 1 || o.p95 > 0.5 {
		t.Error(o)
	}
	t.Log(o)
	for _, p := range r.Pictures {
		if !p.Photograph {
			t.Errorf("%s is not taken for a photograph", p.Name)
		}
	}
}

// TestAuto: the ports say whose roll it is.
func TestAuto(t *testing.T) {
	c := plainCase()
	c.Slots = scancase.Music(12, 90, 0, 2)
	o := options(t)
	o.Instruments = []*instrument.Instrument{load(t, "65-note"), load(t, "88-note")}
	r, err := Read(context.Background(), []string{drawn(t, c, "a.png", -12, 180)}, o)
	if err != nil || r.Instrument.Name != "88-note" {
		t.Errorf("%v", err)
	}
}

// TestHand, by hand: the eight ways a picture may lie.
func TestHand(t *testing.T) {
	for _, tt := range []struct {
		first, bass   Side
		width, height int
		want          hand
		back          bool
	}{
		{Unsaid, Unsaid, 10, 20, hand{Bottom, Left}, false},
		{Unsaid, Unsaid, 20, 10, hand{Left, Top}, false},
		{Top, Unsaid, 10, 20, hand{Top, Right}, false},
		{Right, Unsaid, 20, 10, hand{Right, Bottom}, false},
		{Bottom, Right, 10, 20, hand{Bottom, Right}, true},
		{Left, Bottom, 20, 10, hand{Left, Bottom}, true},
		{Unsaid, Right, 10, 20, hand{Bottom, Right}, true},
		{Unsaid, Top, 10, 20, hand{Left, Top}, false},
	} {
		got, err := handOf(tt.first, tt.bass, tt.width, tt.height)
		if err != nil || got != tt.want || got.back() != tt.back {
			t.Errorf("%v %v: %v, %v", tt.first, tt.bass, got, err)
		}
		f := frame{hand: got, width: 10, height: 20}
		a, c := f.place(3, 4)
		if x, y := f.picture(a, c); x != 3 || y != 4 {
			t.Errorf("%v: (3, 4) comes back as (%v, %v)", got, x, y)
		}
	}
}

// TestCrossing, by hand: between a paper of 200 and a backing of 0, at level 100,
// light crosses halfway; nearer to the pixel that is nearer to the level.
func TestCrossing(t *testing.T) {
	levels := []byte{100}
	runs := appendRuns(nil, []byte{200, 0, 0, 200, 200, 150, 50, 200}, levels, 0)
	if len(runs) != 2 || runs[0].x0 != 1 || runs[0].x1 != 3 || runs[1].x0 != 6 || runs[1].x1 != 7 {
		t.Fatalf("%+v", runs)
	}
	// 200 to 0 passes 99.5 at 100.5/200 = 0.5025 of the way from pixel 0's centre (0.5): 1.0025.
	if l := runs[0].left(); math.Abs(l-1.0025) > 0.005 {
		t.Errorf("left %v", l)
	}
	// 150 to 50 from 5.5: 50.5/100 = 0.505; 50 to 200 from 6.5: 49.5/150 = 0.33.
	if l, r := runs[1].left(), runs[1].right(); math.Abs(l-6.005) > 0.006 || math.Abs(r-6.83) > 0.006 {
		t.Errorf("%v to %v", l, r)
	}
}

// TestMiddle: as sorting has it, the upper of two.
func TestMiddle(t *testing.T) {
	for _, v := range [][]byte{{7}, {3, 200}, {255, 0, 16}, {15, 16, 17, 31, 32}, {9, 9, 9, 250, 251, 252, 253}} {
		sorted := slices.Sorted(slices.Values(v))
		if got, want := middle(v), float64(sorted[len(v)/2]); got != want {
			t.Errorf("%v: %v, want %v", v, got, want)
		}
	}
}

// TestBelow: one bit a pixel below the level, whatever level and flip.
func TestBelow(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	p := make([]byte, blockPixels)
	for range 2000 {
		level, flip := byte(r.IntN(256)), byte(255*r.IntN(2))
		for i := range p {
			p[i] = byte(r.IntN(256))
			if r.IntN(2) == 0 { // near the level, or all paper
				p[i] = (level + byte(r.IntN(3))) ^ flip
			}
		}
		var want uint64
		for i, v := range p {
			if v^flip < level {
				want |= 1 << i
			}
		}
		if got := below(p, level, uint64(flip)*ones); got != want {
			t.Fatalf("level %d, flip %d: %064b, want %064b", level, flip, got, want)
		}
	}
}
