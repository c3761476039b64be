package labels

import (
	"strings"

	"rollwright/draw/typeface"
)

// block is a text in lines of one size.
type block struct {
	lines []string
	size  float64
	whole bool // nothing is cut off
}

// leading is from line to line, in sizes of type; ascent is from the top of a
// line to its foot, descent from there to its lowest.
const leading, ascent, descent = 1.17, 0.7, 0.25

// room is where a block goes, and how.
type room struct {
	width, height float64
	size, least   float64 // of the type: as large as can be
	lines         int     // at most
}

// set breaks text into lines, then shrinks it, and cuts it last.
func (r room) set(face typeface.Face, text string) block {
	const step = 0.25
	for size := r.size; ; size -= step {
		size = max(size, r.least)
		lines := face.Wrap(text, size, r.width)
		n := min(r.lines, max(1, 1+int((r.height-(ascent+descent)*size)/(leading*size)+1e-9)))
		if len(lines) <= n && (size == r.least || !breaks(face, text, size, r.width)) {
			return block{lines, size, true}
		}
		if size == r.least {
			last := face.Fit(strings.Join(lines[n-1:], " "), size, r.width)
			return block{append(lines[:n-1:n-1], last), size, false}
		}
	}
}

// breaks reports whether a word is too long for a line.
func breaks(face typeface.Face, text string, size, width float64) bool {
	for word := range strings.FieldsSeq(text) {
		if face.Width(word, size) > width {
			return true
		}
	}
	return false
}

// lead is from line to line.
func (b block) lead() float64 { return leading * b.size }

// rise is from the foot of the first line to that of the last.
func (b block) rise() float64 { return float64(len(b.lines)-1) * b.lead() }

// shortened sets a text of which only the name may be cut: what comes before
// and after it is needed.
func (r room) shortened(face typeface.Face, before, name, after string) block {
	b := r.set(face, before+name+after)
	fits := b.whole
	for runes := []rune(name); !fits && len(runes) > 0; {
		runes = runes[:len(runes)-1]
		b = r.set(face, before+strings.TrimRight(string(runes), " ")+"…"+after)
		fits, b.whole = b.whole, false
	}
	return b
}
