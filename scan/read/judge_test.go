package read

import (
	"context"
	"strconv"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/internal/scancase"
)

// TestOpeningsAsOthersCount: on a clean picture scipy's labelling and OpenCV's
// connected components (Debian) count the same openings.
func TestOpeningsAsOthersCount(t *testing.T) {
	c := plainCase()
	c.Slots = scancase.Music(21, 80, 0, 2)
	path := drawn(t, c, "clean.png", -12, c.Slots[len(c.Slots)-1].Lead+80)
	r, err := Read(context.Background(), []string{path}, options(t))
	if err != nil {
		t.Fatal(err)
	}
	mine := 0
	for _, s := range r.Slots {
		mine += s.Openings
	}
	// The backing beside the paper is two parts that touch the picture's sides.
	script := `
import cv2, sys
from scipy import ndimage
a = (cv2.imread(sys.argv[1], 0) < 102).astype("uint8")
print(ndimage.label(a)[1] - 2, cv2.connectedComponents(a, connectivity=4)[0] - 1 - 2)
`
	judge.Python(t, "scipy")
	out := judge.Script(t, "cv2", script, path)
	for _, word := range strings.Fields(string(out)) {
		if n, err := strconv.Atoi(word); err != nil || n != mine {
			t.Errorf("%s openings, %d read", word, mine)
		}
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
