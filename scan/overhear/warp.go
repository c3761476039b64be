package overhear

import "math"

// The bounds of the warp: how far the take may lie beside the curve, and how much
// that may change from one block to the next.
const (
	blockSec    = 0.4
	warpStepSec = 0.005
	warpSteps   = 50 // each way: 0.25 s
	warpMove    = 3  // steps from block to block: 4 % of speed
	warpPrice   = 0.6
)

// warp is by how much the take lies later than the curve, block by block of the
// curve's time, from first on.
type warp struct {
	first float64
	late  []float64
}

// newWarp finds the path through a band around the curve along which the strokes'
// novelty is greatest, each change of its distance from the curve paying a price:
// dynamic time warping within bounds of place and slope (H. Sakoe and S. Chiba,
// IEEE Trans. ASSP 26 (1978) 43).
func (n *novelty) newWarp(list []stroke, c *curve) *warp {
	first, last := c.sec(list[0].rowMM), c.sec(list[len(list)-1].rowMM)
	blocks := max(int((last-first)/blockSec), 0) + 1
	const width = 2*warpSteps + 1
	gain := make([][width]float32, blocks)
	for i := range list {
		sec := c.sec(list[i].rowMM)
		row := &gain[min(max(int((sec-first)/blockSec), 0), blocks-1)]
		for k := range row {
			row[k] += n.value(list[i].key, sec+float64(k-warpSteps)*warpStepSec)
		}
	}
	w := &warp{first: first, late: make([]float64, blocks)}
	for b, k := range bestPath(gain) {
		w.late[b] = float64(k-warpSteps) * warpStepSec
	}
	return w
}

// value is a key's novelty at any time, between frames straight, bounded so that
// no one stroke decides.
func (n *novelty) value(key int, sec float64) float32 {
	x := sec / frameSec
	i := int(math.Floor(x))
	row := n.of[key]
	if i < 0 || i+1 >= len(row) {
		return 0
	}
	f := float32(x - float64(i))
	return min(max(row[i]+f*(row[i+1]-row[i]), 0), 4)
}

// bestPath is the path of greatest gain, a column a block. It begins and ends
// anywhere; staying nearer to the middle is preferred by very little.
func bestPath[T interface{ ~[2*warpSteps + 1]float32 }](gain []T) []int {
	const width = 2*warpSteps + 1
	total := make([]float32, width)
	from := make([][width]int8, len(gain))
	for b := range gain {
		next := make([]float32, width)
		for k := range next {
			best, move := float32(math.Inf(-1)), 0
			for m := -warpMove; m <= warpMove; m++ {
				if j := k + m; j >= 0 && j < width {
					if t := total[j] - warpPrice*float32(max(m, -m)); t > best {
						best, move = t, m
					}
				}
			}
			off := float32(k-warpSteps) / warpSteps
			next[k], from[b][k] = best+gain[b][k]-0.05*off*off, int8(move)
		}
		total = next
	}
	k := 0
	for j := range total {
		if total[j] > total[k] {
			k = j
		}
	}
	path := make([]int, len(gain))
	for b := len(gain) - 1; b >= 0; b-- {
		path[b] = k
		k += int(from[b][k])
	}
	return path
}

// at is by how much the take lies later at a time of the curve, straight between
// the middles of blocks.
func (w *warp) at(sec float64) float64 {
	x := (sec-w.first)/blockSec - 0.5
	i := int(math.Floor(x))
	if i < 0 {
		return w.late[0]
	}
	if i+1 >= len(w.late) {
		return w.late[len(w.late)-1]
	}
	f := x - float64(i)
	return w.late[i] + f*(w.late[i+1]-w.late[i])
}
