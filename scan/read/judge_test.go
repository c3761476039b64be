package read

import (
	"context"
	"image/color"
	"strconv"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/internal/scancase"
)

// TestOpeningsAsOthersCount: on clean pictures scipy's labelling and OpenCV's connected
// components (Debian) count the same openings: parts of the backing that do not reach
// the picture's border.
func TestOpeningsAsOthersCount(t *testing.T) {
	judge.Python(t, "scipy")
	for _, tt := range []struct {
		name   string
		change func(c *scancase.Case)
		level  int  // between paper and backing
		lit    bool // the backing is lighter
	}{
		{"upright", func(*scancase.Case) {}, 102, false},
		{"on its side", func(c *scancase.Case) { c.First = "left" }, 102, false},
		{"from the top, its back", func(c *scancase.Case) { c.First, c.Back = "top", true }, 102, false},
		{"200 an inch", func(c *scancase.Case) { c.DPIAlong, c.DPIAcross = 200, 200 }, 102, false},
		{"askew, grown", func(c *scancase.Case) {
			c.Skew, c.Along, c.DPIAlong, c.DPIAcross = 0.8, 0.006, 150, 150
		}, 102, false},
		{"lit from behind", func(c *scancase.Case) {
			c.Paper, c.Behind, c.Lit = color.RGBA{120, 112, 96, 255}, white, true
		}, 185, true},
		{"one bit", func(c *scancase.Case) { c.Bilevel, c.DPIAlong, c.DPIAcross = true, 200, 200 }, 128, false},
		{"in rows", func(c *scancase.Case) {
			c.Slots, c.DPIAlong, c.DPIAcross = scancase.Music(5, 80, 25.4/45, 2), 200, 200
		}, 102, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := plainCase()
			c.Slots = scancase.Music(21, 80, 0, 2)
			tt.change(&c)
			path := drawn(t, c, "clean.png", -12, c.Slots[len(c.Slots)-1].Lead+80)
			first, err := ParseSide(c.First)
			if err != nil {
				t.Fatal(err)
			}
			o := options(t)
			o.First = first
			if c.Back {
				o.Bass = Right // seen from the front, what begins at the top has it at the left
				if front[first] == Right {
					o.Bass = Left
				}
			}
			r, err := Read(context.Background(), []string{path}, o)
			if err != nil {
				t.Fatal(err)
			}
			openings := 0
			for _, s := range r.Slots {
				openings += s.Openings
			}
			script := `
import cv2, numpy, sys
from scipy import ndimage
grey = cv2.imread(sys.argv[1], 0)
back = ((grey > int(sys.argv[2])) if sys.argv[3] == "true" else (grey < int(sys.argv[2]))).astype("uint8")
for labels in (ndimage.label(back)[0], cv2.connectedComponents(back, connectivity=4)[1]):
    outside = set(numpy.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    print(len(set(numpy.unique(labels)) - outside - {0}))
`
			out := judge.Script(t, "cv2", script, path, strconv.Itoa(tt.level), strconv.FormatBool(tt.lit))
			counts := strings.Fields(string(out))
			if len(counts) != 2 {
				t.Fatalf("%s", out)
			}
			for _, n := range counts {
				if n != strconv.Itoa(openings) {
					t.Errorf("%s openings, %d read", n, openings)
				}
			}
		})
	}
}

// TestNotPaper: pictures of something else are told in a sentence.
func TestNotPaper(t *testing.T) {
	c := plainCase()
	blank := drawn(t, c, "blank.png", 0, 150)
	if _, err := Read(context.Background(), []string{blank}, options(t)); err == nil ||
		!strings.Contains(err.Error(), "no holes are seen") {
		t.Errorf("blank paper: %v", err)
	}
	c.Behind, c.Noise = grey, 60
	noise := drawn(t, c, "noise.png", 0, 150)
	if _, err := Read(context.Background(), []string{noise}, options(t)); err == nil {
		t.Error("noise is read as a roll")
	}
}
