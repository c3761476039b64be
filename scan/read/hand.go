package read

import "fmt"

// Side is an edge of the picture.
type Side int8

// The edges; Unsaid where the caller leaves it to the picture's shape.
const (
	Unsaid Side = iota
	Bottom
	Top
	Left
	Right
)

var sideNames = [...]string{"", "bottom", "top", "left", "right"}

func (s Side) String() string { return sideNames[s] }

// ParseSide reads the name of an edge; "" is Unsaid.
func ParseSide(name string) (Side, error) {
	for i, n := range sideNames {
		if n == name {
			return Side(i), nil
		}
	}
	return Unsaid, fmt.Errorf("%q is no edge of a picture; write bottom, top, left or right", name)
}

func (s Side) upright() bool { return s == Bottom || s == Top }

// hand is how the paper lies in the picture: where the music begins, and where
// the lowest port lies.
type hand struct{ first, bass Side }

// front is the bass edge of paper seen from the front that begins at first: the
// picture turned, never mirrored.
var front = map[Side]Side{Bottom: Left, Left: Top, Top: Right, Right: Bottom}

// handOf settles what is unsaid: a picture taller than wide begins at the bottom,
// a wider one at the left, seen from the front.
func handOf(first, bass Side, width, height int) (hand, error) {
	if first == Unsaid {
		first = Left
		if height >= width {
			first = Bottom
		}
		if bass != Unsaid && bass.upright() == first.upright() {
			for f, b := range front {
				if b == bass {
					first = f
				}
			}
		}
	}
	if bass == Unsaid {
		bass = front[first]
	}
	if bass.upright() == first.upright() {
		return hand{}, fmt.Errorf("the music cannot begin at the %s with the bass at the %s: one of them is an end of the paper, the other a side", first, bass)
	}
	return hand{first, bass}, nil
}

// back reports whether the picture shows the face that lies on the bar.
func (h hand) back() bool { return front[h.first] != h.bass }

// frame turns places of a picture, in pixels, into along (from the end where the
// music begins) and across (from the bass).
type frame struct {
	hand
	width, height float64
}

// place turns a point of the picture.
func (f frame) place(x, y float64) (along, across float64) {
	return f.edge(f.first, x, y), f.edge(f.bass, x, y)
}

// edge is how far (x, y) lies from an edge of the picture.
func (f frame) edge(s Side, x, y float64) float64 {
	switch s {
	case Bottom:
		return f.height - y
	case Top:
		return y
	case Left:
		return x
	}
	return f.width - x
}

// picture turns a place on the paper back into the picture.
func (f frame) picture(along, across float64) (x, y float64) {
	for _, s := range []struct {
		side Side
		at   float64
	}{{f.first, along}, {f.bass, across}} {
		switch s.side {
		case Bottom:
			y = f.height - s.at
		case Top:
			y = s.at
		case Left:
			x = s.at
		case Right:
			x = f.width - s.at
		}
	}
	return x, y
}

// long and broad are the picture's lengths along and across the paper.
func (f frame) long() float64 {
	if f.first.upright() {
		return f.height
	}
	return f.width
}

func (f frame) broad() float64 {
	if f.first.upright() {
		return f.width
	}
	return f.height
}

// opening is a piece of backing that shows in the paper, in pixels of the paper's
// frame.
type opening struct {
	a0, a1  float64 // leading and trailing edge
	am, c   float64 // middle of its area
	w       float64 // width across
	area    float64
	depth   float64 // 1: as light as the backing
	cutLow  bool    // the picture's end cuts it where the music comes from
	cutHigh bool
	part    bool // only part of a hole, by its size
	rest    bool // it sticks out of one
	joined  bool // it was taken out of something larger: ink, a tear, a line beside it
}

// opening makes one of a plain shape.
func (f frame) opening(s shape) opening {
	a0, c0 := f.place(s.x0, s.y0)
	a1, c1 := f.place(s.x1, s.y1)
	if a0 > a1 {
		a0, a1 = a1, a0
	}
	am, c := f.place(s.cx, s.cy)
	o := opening{a0: a0, a1: a1, am: am, c: c, area: s.area, depth: s.depth}
	o.w = stadiumWidth(s.area, a1-a0, abs(c1-c0))
	o.cutLow, o.cutHigh = f.cuts(s.cut)
	return o
}

// cuts says which ends of the paper's stretch cut a shape.
func (f frame) cuts(e edges) (low, high bool) {
	switch f.first {
	case Bottom:
		return e.bottom, e.top
	case Top:
		return e.top, e.bottom
	case Left:
		return e.left, e.right
	}
	return e.right, e.left
}

// outside reports whether a shape reaches the picture's sides beside the paper.
func (f frame) outside(e edges) bool {
	if f.first.upright() {
		return e.left || e.right
	}
	return e.top || e.bottom
}
