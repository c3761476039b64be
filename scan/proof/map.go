package proof

import (
	"math"
	"slices"
)

// Map takes places along the scan to places along the plan. It is made of pieces
// between jumps; within a piece it is straight from knot to knot.
type Map struct{ pieces []piece }

// piece is the map from a place of the scan to the next piece.
type piece struct {
	fromMM float64 // along the scan; of the first piece minus infinity
	knots  []knot
}

// knot is the map near one place of the scan.
type knot struct {
	atMM     float64 // along the scan
	offsetMM float64 // plan less scan
	slope    float64 // of the offset along the scan
}

// at is the piece of a place along the scan.
func (m *Map) at(mm float64) *piece {
	i, found := slices.BinarySearchFunc(m.pieces, mm, func(p piece, at float64) int {
		switch {
		case p.fromMM < at:
			return -1
		case p.fromMM > at:
			return 1
		}
		return 0
	})
	if !found {
		i--
	}
	return &m.pieces[max(i, 0)]
}

// ToPlan is the place on the plan of a place on the scan.
func (m *Map) ToPlan(scanMM float64) float64 {
	if len(m.pieces) == 0 {
		return scanMM
	}
	return scanMM + m.at(scanMM).offset(scanMM)
}

// ToScan is the place on the scan of a place on the plan: the nearest one where
// paper is lost. Within a piece it turns ToPlan round to a millionth of a
// millimetre.
func (m *Map) ToScan(planMM float64) float64 {
	if len(m.pieces) == 0 {
		return planMM
	}
	best, off := 0.0, math.Inf(1)
	for i := range m.pieces {
		p := &m.pieces[i]
		x := planMM - p.knots[0].offsetMM
		for range 60 {
			next := planMM - p.offset(x)
			if math.Abs(next-x) < 1e-7 {
				break
			}
			x = next
		}
		low, high := p.fromMM, math.Inf(1)
		if i+1 < len(m.pieces) {
			high = m.pieces[i+1].fromMM
		}
		held := min(max(x, low), high)
		if d := math.Abs(held - x); d < off {
			best, off = held, d
		}
	}
	return best
}

// offset is plan less scan at a place of the scan.
func (p *piece) offset(mm float64) float64 {
	k := p.knots
	if len(k) == 0 {
		return 0
	}
	i, _ := slices.BinarySearchFunc(k, mm, func(n knot, at float64) int {
		if n.atMM < at {
			return -1
		}
		return 1
	})
	switch {
	case i == 0:
		return k[0].offsetMM + k[0].slope*(mm-k[0].atMM)
	case i == len(k):
		last := &k[i-1]
		return last.offsetMM + last.slope*(mm-last.atMM)
	}
	a, b := &k[i-1], &k[i]
	return a.offsetMM + (b.offsetMM-a.offsetMM)*(mm-a.atMM)/(b.atMM-a.atMM)
}

// leastJumpMM is the shortest jump that is worth a word.
const leastJumpMM = 1

// jumps are the places between pieces where the paper jumps.
func (m *Map) jumps() []Jump {
	var out []Jump
	for i := 1; i < len(m.pieces); i++ {
		x := m.pieces[i].fromMM
		j := Jump{FromMM: x + m.pieces[i-1].offset(x), ToMM: x + m.pieces[i].offset(x), ScanMM: x}
		if math.Abs(j.LostMM()) >= leastJumpMM {
			out = append(out, j)
		}
	}
	return out
}
