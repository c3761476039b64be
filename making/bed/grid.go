package bed

import (
	"cmp"
	"math"
	"slices"
)

// grid finds places that are near: the ends of nodes in square cells. A node
// whose two ends are one place counts once.
type grid struct {
	nodes    []node
	low      point
	size     float64
	nx, ny   int
	begin    []int32 // of each cell in places
	count    []int32 // how many are still there
	places   []place
	cellOf   [][2]int32 // of each node's ends
	distinct []bool     // of each node: its ends are two places
}

func newGrid(nodes []node) *grid {
	g := &grid{nodes: nodes, cellOf: make([][2]int32, len(nodes)), distinct: make([]bool, len(nodes))}
	g.low = point{math.Inf(1), math.Inf(1)}
	high := point{math.Inf(-1), math.Inf(-1)}
	for i := range nodes {
		for _, e := range nodes[i].end {
			g.low = point{min(g.low.x, e.x), min(g.low.y, e.y)}
			high = point{max(high.x, e.x), max(high.y, e.y)}
		}
		g.distinct[i] = nodes[i].end[0] != nodes[i].end[1]
	}
	w, h := max(high.x-g.low.x, 1), max(high.y-g.low.y, 1)
	g.size = max(math.Sqrt(w*h/float64(len(nodes))), w/2000, h/2000)
	g.nx, g.ny = int(w/g.size)+1, int(h/g.size)+1
	g.fill()
	return g
}

func (g *grid) fill() {
	cells := g.nx * g.ny
	g.begin, g.count = make([]int32, cells+1), make([]int32, cells)
	for i := range g.nodes {
		for e := range g.ends(i) {
			c := g.cell(g.nodes[i].end[e])
			g.cellOf[i][e] = c
			g.count[c]++
		}
	}
	sum := int32(0)
	for c := range cells {
		g.begin[c] = sum
		sum += g.count[c]
		g.count[c] = 0
	}
	g.begin[cells] = sum
	g.places = make([]place, sum)
	for i := range g.nodes {
		for e := range g.ends(i) {
			c := g.cellOf[i][e]
			g.places[g.begin[c]+g.count[c]] = place{int32(i), int8(e)}
			g.count[c]++
		}
	}
}

// ends is how many places node i has.
func (g *grid) ends(i int) int {
	if g.distinct[i] {
		return 2
	}
	return 1
}

func (g *grid) cell(p point) int32 {
	x := min(max(int((p.x-g.low.x)/g.size), 0), g.nx-1)
	y := min(max(int((p.y-g.low.y)/g.size), 0), g.ny-1)
	return int32(y*g.nx + x)
}

// remove takes a node out.
func (g *grid) remove(n int32) {
	for e := range g.ends(int(n)) {
		c := g.cellOf[n][e]
		cell := g.places[g.begin[c] : g.begin[c]+g.count[c]]
		for i, p := range cell {
			if p == (place{n, int8(e)}) {
				copy(cell[i:], cell[i+1:])
				g.count[c]--
				break
			}
		}
	}
}

// farthest is how many rings of cells closest looks through.
const farthest = 40

// closest is the nearest place still there, and false when none is within
// about farthest cells. Of places equally near it is that of the first node.
func (g *grid) closest(at point) (best place, ok bool) {
	least := math.Inf(1)
	g.rings(at, farthest, func(ring int, cell int32) {
		for _, p := range g.places[g.begin[cell] : g.begin[cell]+g.count[cell]] {
			d := at.to(g.nodes[p.node].end[p.end])
			if d < least || d == least && p.node < best.node {
				best, least, ok = p, d, true
			}
		}
	}, func(ring int) bool { return least <= float64(ring)*g.size })
	return best, ok
}

// rings visits the cells around a place, ring after ring, until done is true of
// the ring that is complete: everything nearer than that many cells has been
// seen.
func (g *grid) rings(at point, most int, visit func(ring int, cell int32), done func(ring int) bool) {
	c := int(g.cell(at))
	cx, cy := c%g.nx, c/g.nx
	for r := 0; r <= most; r++ {
		y0, y1 := cy-r, cy+r
		for y := max(y0, 0); y <= min(y1, g.ny-1); y++ {
			step := 2 * r
			if y == y0 || y == y1 || r == 0 {
				step = 1
			}
			for x := cx - r; x <= cx+r; x += step {
				if x >= 0 && x < g.nx {
					visit(r, int32(y*g.nx+x))
				}
			}
		}
		if done(r) {
			return
		}
	}
}

// neighbours are, for each end of each node (2*node+end), the nearest k ends of
// other nodes, nearest first.
func (g *grid) neighbours(k int) [][]place {
	out := make([][]place, 2*len(g.nodes))
	room := make([]place, 0, k*len(g.places))
	type found struct {
		place
		d float64
	}
	var list []found
	for i := range g.nodes {
		for e := range g.ends(i) {
			at := g.nodes[i].end[e]
			list = list[:0]
			g.rings(at, 8, func(_ int, cell int32) {
				for _, p := range g.places[g.begin[cell] : g.begin[cell]+g.count[cell]] {
					if int(p.node) != i {
						list = append(list, found{p, at.to(g.nodes[p.node].end[p.end])})
					}
				}
			}, func(ring int) bool { return ring > 0 && len(list) >= 2*k })
			slices.SortFunc(list, func(a, b found) int {
				return cmp.Or(cmp.Compare(a.d, b.d), cmp.Compare(a.node, b.node), cmp.Compare(a.end, b.end))
			})
			from := len(room)
			for _, f := range list[:min(k, len(list))] {
				room = append(room, f.place)
			}
			out[2*i+e] = room[from:len(room):len(room)]
		}
		if !g.distinct[i] {
			out[2*i+1] = out[2*i]
		}
	}
	return out
}
