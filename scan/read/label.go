package read

// Connected stretches of backing are put together row by row: a run belongs to
// the part that a run of the row before overlaps by a pixel; parts that a run
// joins become one. A part is closed at the first row that adds nothing to it.

// part is a connected piece of backing while rows still add to it.
type part struct {
	parent         int32 // itself at the root
	head, tail     int32 // its runs, as a list in nodes; -1 for none
	count          int32
	lastY          int32
	lastX          int32 // middle of the last run
	x0, x1, y0, y1 float64
	area, sx, sy   float64
	squares, cubes int64 // of how far the middles of all runs lie below the paper
	runs           int32 // all, kept or not
	cut            edges // edges of the picture that it reaches
}

// edges are edges of the picture.
type edges struct{ top, bottom, left, right bool }

func (e edges) or(o edges) edges {
	return edges{e.top || o.top, e.bottom || o.bottom, e.left || o.left, e.right || o.right}
}

// node is a run in the list of a part.
type node struct {
	run
	y, next int32
	deep    uint8 // how far its deepest pixel lies below the paper
}

// strip is a run of a closed part, in pixels.
type strip struct {
	y, x0, x1 int32
	deep      float32 // how far its deepest pixel is from paper to backing
}

// shape is a closed part.
type shape struct {
	x0, x1, y0, y1 float64 // ends between pixels, from the picture's upper left corner
	cx, cy         float64 // middle of its area
	area           float64
	depth          float64 // how far its middle is from paper to backing: 1 is as the backing
	cut            edges   // edges of the picture that it reaches
	strips         []strip // nil where it is a plain hole
}

// labeller puts parts together.
type labeller struct {
	width   int
	parts   []part
	free    []int32
	nodes   []node
	spare   int32 // first free node, -1
	above   []run
	ids     []int32 // of the runs above
	next    []int32
	y       int32
	last    []byte // the row above
	kept    []byte // its copy, from one band to the next
	joined  []int32
	dropped int // specks

	upright  bool
	speck    float64                   // area in pixels below which nothing is kept
	plain    func(p *part) bool        // a hole as it should be: its runs are not needed
	closed   func(s shape)             // takes each closed part
	level    func(x int) (uint8, byte) // level and backing of a column in this band
	paper    func(x int) byte
	flip     byte
	tooMany  bool
	keptRuns int
}

// mostRuns bounds the runs that wait in parts: far above any roll, far below
// noise in memory.
const mostRuns = 6_000_000

func newLabeller(width int, upright bool) *labeller {
	return &labeller{width: width, spare: -1, upright: upright, kept: make([]byte, width)}
}

func (l *labeller) root(i int32) int32 {
	for l.parts[i].parent != i {
		l.parts[i].parent = l.parts[l.parts[i].parent].parent
		i = l.parts[i].parent
	}
	return i
}

// row adds the runs of the next row, whose pixels are given.
func (l *labeller) row(runs []run, pixels []byte) {
	l.next = l.next[:0]
	k := 0
	for _, r := range runs {
		for k < len(l.above) && l.above[k].x1 <= r.x0 {
			k++
		}
		id := int32(-1)
		for j := k; j < len(l.above) && l.above[j].x0 < r.x1; j++ {
			other := l.root(l.ids[j])
			switch {
			case id < 0:
				id = other
			case id != other:
				id = l.join(id, other)
			}
		}
		if id < 0 {
			id = l.born(r, pixels)
		}
		l.add(id, r, pixels)
		l.next = append(l.next, id)
	}
	l.close(pixels)
	l.above = append(l.above[:0], runs...)
	l.ids, l.next = l.next, l.ids
	l.last = pixels
	l.y++
}

// born begins a part whose upper end lies between this row and the one above.
func (l *labeller) born(r run, pixels []byte) int32 {
	var i int32
	if n := len(l.free); n > 0 {
		i, l.free = l.free[n-1], l.free[:n-1]
	} else {
		i = int32(len(l.parts))
		l.parts = append(l.parts, part{})
	}
	y := float64(l.y)
	if l.y > 0 {
		y = float64(l.y) - 0.5 + l.across(r, l.last, pixels)
	}
	l.parts[i] = part{parent: i, head: -1, tail: -1, x0: r.left(), x1: r.right(), y0: y, y1: y, cut: edges{top: l.y == 0}}
	return i
}

// across is how far from the centre of the row outside to that of the row within
// the light crosses the level in the middle of r.
func (l *labeller) across(r run, outer, inner []byte) float64 {
	m := int(r.x0+r.x1) / 2
	var o, i, n int
	for x := max(m-1, int(r.x0)); x <= min(m+1, int(r.x1)-1); x++ {
		o += int(outer[x] ^ l.flip)
		i += int(inner[x] ^ l.flip)
		n++
	}
	level, _ := l.level(m)
	t := (float64(level) - 0.5) * float64(n)
	if o <= i {
		return 0.5
	}
	return min(max((float64(o)-t)/float64(o-i), 0), 1)
}

// join makes one part of two.
func (l *labeller) join(a, b int32) int32 {
	if l.parts[a].count < l.parts[b].count {
		a, b = b, a
	}
	p, q := &l.parts[a], &l.parts[b]
	q.parent = a
	l.joined = append(l.joined, b)
	if q.head >= 0 {
		if p.head < 0 {
			p.head = q.head
		} else {
			l.nodes[p.tail].next = q.head
		}
		p.tail = q.tail
	}
	p.count += q.count
	p.runs += q.runs
	p.x0, p.x1, p.y0, p.y1 = min(p.x0, q.x0), max(p.x1, q.x1), min(p.y0, q.y0), max(p.y1, q.y1)
	p.area, p.sx, p.sy = p.area+q.area, p.sx+q.sx, p.sy+q.sy
	p.squares, p.cubes = p.squares+q.squares, p.cubes+q.cubes
	p.cut = p.cut.or(q.cut)
	if q.lastY > p.lastY {
		p.lastY, p.lastX = q.lastY, q.lastX
	}
	q.head, q.tail, q.count = -1, -1, 0
	return a
}

func (l *labeller) add(id int32, r run, pixels []byte) {
	p := &l.parts[id]
	left, right := r.left(), r.right()
	p.x0, p.x1 = min(p.x0, left), max(p.x1, right)
	n := right - left
	p.area += n
	p.sx += n * (left + right) / 2
	p.sy += n * (float64(l.y) + 0.5)
	m := (r.x0 + r.x1) / 2
	p.lastY, p.lastX = l.y, m
	d := int64(max(int(l.paper(int(m)))-int(pixels[m]^l.flip), 0))
	p.squares, p.cubes = p.squares+d*d, p.cubes+d*d*d
	p.runs++
	p.cut.left, p.cut.right = p.cut.left || r.x0 == 0, p.cut.right || int(r.x1) == l.width
	if l.upright && (r.x0 == 0 || int(r.x1) == l.width) {
		return // the backing beside the paper
	}
	if l.keptRuns >= mostRuns {
		l.tooMany = true
		return
	}
	l.keptRuns++
	i := l.spare
	if i >= 0 {
		l.spare = l.nodes[i].next
	} else {
		i = int32(len(l.nodes))
		l.nodes = append(l.nodes, node{})
	}
	l.nodes[i] = node{run: r, y: l.y, next: -1, deep: l.deepest(r, pixels)}
	if p.head < 0 {
		p.head = i
	} else {
		l.nodes[p.tail].next = i
	}
	p.tail = i
	p.count++
}

// deepest is how far the deepest of some pixels of a run lies below the paper: every
// third of a long one, so that a hole that a line of ink runs through is met.
func (l *labeller) deepest(r run, pixels []byte) uint8 {
	n := int(r.x1 - r.x0)
	step := max(n/128, min(n/8, 3), 1)
	low := byte(255)
	for x := int(r.x0) + step/2; x < int(r.x1); x += step {
		low = min(low, pixels[x]^l.flip)
	}
	return uint8(max(int(l.paper(int(r.x0+r.x1)/2))-int(low), 0))
}

// close closes the parts above that this row did not go on with. pixels is nil
// after the last row.
func (l *labeller) close(pixels []byte) {
	for k, id := range l.ids {
		p := &l.parts[id]
		if p.parent == id && (p.lastY < l.y || pixels == nil) {
			l.finish(id, l.above[k], pixels)
		}
	}
	for i, id := range l.next {
		l.next[i] = l.root(id)
	}
	l.free = append(l.free, l.joined...)
	l.joined = l.joined[:0]
}

// outside reports whether a part reaches the sides of the picture that lie beside
// the paper.
func (l *labeller) outside(e edges) bool {
	if l.upright {
		return e.left || e.right
	}
	return e.top || e.bottom
}

func (l *labeller) finish(id int32, r run, pixels []byte) {
	p := &l.parts[id]
	s := shape{x0: p.x0, x1: p.x1, y0: p.y0, y1: float64(l.y), area: p.area, cut: p.cut}
	s.cut.bottom = pixels == nil
	if pixels != nil {
		s.y1 = float64(l.y) + 0.5 - l.across(r, pixels, l.last)
	}
	if p.area > 0 {
		s.cx, s.cy = p.sx/p.area, p.sy/p.area
	}
	switch {
	case p.area < l.speck:
		l.dropped++
	default:
		s.depth = l.depth(p, int(s.cx))
		if l.outside(s.cut) || !l.plain(p) {
			s.strips = l.strips(p)
		}
		l.closed(s)
	}
	l.release(p)
	p.parent = -2
	l.free = append(l.free, id)
}

// depth is how far the middles of a part's runs lie from paper to backing, the deeper
// ones counting more: the outermost runs are half paper.
func (l *labeller) depth(p *part, x int) float64 {
	x = min(max(x, 0), l.width-1)
	_, back := l.level(x)
	paper := float64(l.paper(x))
	if p.squares == 0 || paper <= float64(back) {
		return 1
	}
	return float64(p.cubes) / float64(p.squares) / (paper - float64(back))
}

func (l *labeller) strips(p *part) []strip {
	out := make([]strip, 0, p.count)
	for i := p.head; i >= 0; i = l.nodes[i].next {
		n := &l.nodes[i]
		out = append(out, strip{n.y, n.x0, n.x1, l.share(n)})
	}
	return out
}

// share is a run's deep as a share of the way from paper to backing.
func (l *labeller) share(n *node) float32 {
	m := int(n.x0+n.x1) / 2
	_, back := l.level(m)
	paper := l.paper(m)
	if paper <= back {
		return 1
	}
	return float32(n.deep) / float32(paper-back)
}

func (l *labeller) release(p *part) {
	if p.head >= 0 {
		l.nodes[p.tail].next = l.spare
		l.spare = p.head
		l.keptRuns -= int(p.count)
	}
	p.head, p.tail = -1, -1
}

// end closes everything after the last row.
func (l *labeller) end() {
	l.next = l.next[:0]
	l.close(nil)
}

// keep takes a copy of the last row, whose band is about to be used again.
func (l *labeller) keep() {
	copy(l.kept, l.last)
	l.last = l.kept
}
