package musicxml

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"rollwright/music/notation"
)

// Held is a stretch during which the sustaining pedal is down, in seconds of
// the piece.
type Held struct{ FromSec, ToSec float64 }

// foot is one movement of the pedal.
type foot struct {
	sec  float64
	down bool
}

// feet are the movements of a part's pedal in their order. Stretches that meet
// or overlap become one.
func feet(held []Held) []foot {
	sorted := slices.Clone(held)
	slices.SortStableFunc(sorted, func(a, b Held) int { return cmp.Compare(a.FromSec, b.FromSec) })
	var out []foot
	for _, h := range sorted {
		switch n := len(out); {
		case !(h.ToSec > h.FromSec):
		case n > 0 && h.FromSec <= out[n-1].sec:
			out[n-1].sec = max(out[n-1].sec, h.ToSec)
		default:
			out = append(out, foot{h.FromSec, true}, foot{h.ToSec, false})
		}
	}
	return out
}

// aheadSec is how far before a note a movement may lie and still be at it.
const aheadSec = 1e-6

// pedalDuring writes the movements that lie within a note, and those before it
// that are not written yet, at their place from its beginning.
func (w *partWriter) pedalDuring(n *notation.Note) {
	for len(w.feet) > 0 && w.feet[0].sec < n.EndSec-aheadSec {
		w.pedal(w.feet[0], w.offset(n, w.feet[0].sec))
		w.feet = w.feet[1:]
	}
}

// pedalAtEnd writes what is left at the end of the part.
func (w *partWriter) pedalAtEnd() {
	for _, f := range w.feet {
		if f.down { // after the last note there is nothing to hold
			break
		}
		w.pedal(f, 0)
	}
	w.feet = nil
}

// offset is a time within a note in divisions from its beginning, the nearest
// whole one.
func (w *partWriter) offset(n *notation.Note, sec float64) int64 {
	whole := int64(0)
	for _, v := range n.Values {
		whole += w.inDivisions(v)
	}
	share := (sec - n.StartSec) / (n.EndSec - n.StartSec)
	return int64(math.Round(float64(whole) * min(max(share, 0), 1)))
}

// pedal writes one movement, under the lowest staff.
func (w *partWriter) pedal(f foot, offset int64) {
	kind := "stop"
	if f.down {
		kind = "start"
	}
	w.open("direction", "placement", "below")
	w.open("direction-type")
	w.empty("pedal", "type", kind, "line", "yes")
	w.close("direction-type")
	if offset > 0 {
		w.leaf("offset", strconv.FormatInt(offset, 10), "sound", "yes")
	}
	if n := len(w.part.Staves); n > 1 {
		w.whole("staff", int64(n))
	}
	w.close("direction")
}
