package perform

import "rollwright/music/piece"

// order is how the members of each statement of a cycle are put: rotated, then turned
// backward. The zero value leaves them as they are.
type order struct {
	size      int
	rotate    []int // for each statement in turn
	rotateBy  int   // accumulates, when rotate is empty
	backward  []bool
	reordered bool
}

func newOrder(c *piece.Change, size int) order {
	o := order{size: size, rotate: c.Rotate, rotateBy: c.RotateEach, backward: c.Backward}
	o.reordered = len(o.rotate) > 0 || o.rotateBy != 0 || len(o.backward) > 0
	return o
}

// plain reports whether every statement has its members as they stand.
func (o *order) plain() bool { return !o.reordered }

// of is the member with which a statement, from 0, begins before it is turned backward.
func (o *order) of(statement int) (first int, backward bool) {
	by := o.rotateBy % o.size * (statement % o.size)
	if len(o.rotate) > 0 {
		by = o.rotate[statement%len(o.rotate)]
	}
	if len(o.backward) > 0 {
		backward = o.backward[statement%len(o.backward)]
	}
	return turn(by, o.size), backward
}

// place is the member that stands at place i, from 0, of a statement.
func (o *order) place(statement, i int) int {
	if o.plain() {
		return i
	}
	first, backward := o.of(statement)
	if backward {
		i = o.size - 1 - i
	}
	if i += first; i >= o.size {
		i -= o.size
	}
	return i
}

// period is after how many statements the order comes again.
func (o *order) period() int {
	n := max(len(o.rotate), 1)
	if len(o.rotate) == 0 && o.rotateBy != 0 {
		n = o.size / int(gcd(int64(o.size), int64(turn(o.rotateBy, o.size))))
	}
	return int(lcm(int64(n), int64(max(len(o.backward), 1))))
}
