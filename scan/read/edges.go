package read

// edgeFinder notes where paper and backing meet at the paper's two edges while
// the rows go by.
type edgeFinder struct {
	s     *swept
	width int
	// upright: the crossings of the rows of one stretch
	rows [2][]float64
	y    int
	from int
	// on its side: the state of every step-th column
	step    int
	least   int // rows of paper that are no speck
	columns []column
}

// column is one column of a roll on its side, from the top: what it is known to show
// once backing ends a stretch of paper, so that paper costs nothing.
type column struct {
	back        int32 // the last row of backing; -1: none so far
	top, bottom float32
	hasTop      bool
	hasBottom   bool
}

// stretchRows is how many rows make one point of an edge.
const stretchRows = 8

func newEdges(s *swept, width, height int, die [2]float64) *edgeFinder {
	e := &edgeFinder{s: s, width: width}
	if !s.light.upright {
		e.step = max(width/20000, 4)
		e.least = max(int(1.2*die[1]), 3)
		e.columns = make([]column, (width+e.step-1)/e.step)
		for i := range e.columns {
			e.columns[i].back = -1
		}
	}
	return e
}

func (e *edgeFinder) row(runs []run) {
	if e.s.light.upright {
		e.across(runs)
	} else {
		e.down(runs)
	}
	e.y++
}

// across takes the ends of the backing at both sides of a row: runs from the
// border on, over gaps of specks.
func (e *edgeFinder) across(runs []run) {
	if n := len(runs); n > 0 && e.s.light.sides[0] && runs[0].x0 <= 2 {
		k := 0
		for k+1 < n && runs[k+1].x0-runs[k].x1 <= 2 {
			k++
		}
		if int(runs[k].x1) < e.width*9/10 {
			e.rows[0] = append(e.rows[0], runs[k].right())
		}
	}
	if n := len(runs); n > 0 && e.s.light.sides[1] && int(runs[n-1].x1) >= e.width-2 {
		k := n - 1
		for k > 0 && runs[k].x0-runs[k-1].x1 <= 2 {
			k--
		}
		if int(runs[k].x0) > e.width/10 {
			e.rows[1] = append(e.rows[1], runs[k].left())
		}
	}
	if e.y-e.from+1 == stretchRows {
		e.stretch()
	}
}

func (e *edgeFinder) stretch() {
	middle := float64(e.from) + float64(e.y-e.from+1)/2
	for k := range e.rows {
		if len(e.rows[k]) > stretchRows/2 {
			e.s.edges[k] = append(e.s.edges[k], point{middle, median(e.rows[k])})
		}
		e.rows[k] = e.rows[k][:0]
	}
	e.from = e.y + 1
}

// down goes on with the columns of a roll on its side that a row has backing in.
func (e *edgeFinder) down(runs []run) {
	for _, r := range runs {
		for i := (int(r.x0) + e.step - 1) / e.step; i*e.step < int(r.x1); i++ {
			c := &e.columns[i]
			if e.paperEnds(c) {
				c.bottom, c.hasBottom = float32(e.y), true
			}
			c.back = int32(e.y)
		}
	}
}

// paperEnds takes the top of the paper from the stretch of it that ends here, and
// reports whether it is more than a speck.
func (e *edgeFinder) paperEnds(c *column) bool {
	if e.y-1-int(c.back) < e.least {
		return false
	}
	if !c.hasTop && c.back >= 0 {
		c.top, c.hasTop = float32(c.back+1), true
	}
	return true
}

// end makes points of what is left.
func (e *edgeFinder) end() {
	if e.s.light.upright {
		if e.y > e.from {
			e.y--
			e.stretch()
		}
		return
	}
	const group = 4
	for i := range e.columns {
		c := &e.columns[i]
		if e.paperEnds(c) { // the paper goes on beyond the picture
			c.hasBottom = false
		}
	}
	for i := 0; i+group <= len(e.columns); i += group {
		var tops, bottoms []float64
		for _, c := range e.columns[i : i+group] {
			if c.hasTop && e.s.light.sides[0] {
				tops = append(tops, float64(c.top))
			}
			if c.hasBottom && e.s.light.sides[1] {
				bottoms = append(bottoms, float64(c.bottom))
			}
		}
		at := (float64(i) + group/2) * float64(e.step)
		if len(tops) > group/2 {
			e.s.edges[0] = append(e.s.edges[0], point{at, median(tops)})
		}
		if len(bottoms) > group/2 {
			e.s.edges[1] = append(e.s.edges[1], point{at, median(bottoms)})
		}
	}
}
