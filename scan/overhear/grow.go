package overhear

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// observed is a stroke's onset as seen in the novelty.
type observed struct {
	rowMM, sec float64
	weight     float64
}

// place is the highest place of a key's novelty within gate of sec, parabola
// through three frames, and its height.
func (n *novelty) place(key int, sec, gate float64) (at float64, height float32) {
	row := n.of[key]
	from, to := int(math.Ceil((sec-gate)/frameSec)), int(math.Floor((sec+gate)/frameSec))
	best := -1
	for i := max(from, 1); i <= min(to, len(row)-2); i++ {
		if best < 0 || row[i] > row[best] {
			best = i
		}
	}
	if best < 0 {
		return sec, float32(math.Inf(-1))
	}
	a, b, c := float64(row[best-1]), float64(row[best]), float64(row[best+1])
	shift := 0.0
	if bend := a - 2*b + c; bend < 0 && b >= a && b >= c {
		shift = 0.5 * (a - c) / bend
	}
	return (float64(best) + shift) * frameSec, row[best]
}

// seenHeight is how far a rise stands out, in standard deviations of the key's
// novelty, to count while the transport is still being found.
const seenHeight = 1.5

// grown is the curve that begins as the anchor's and reaches farther and farther
// over the roll: each time the strokes within reach are looked for close to where
// the curve has them, and the curve is fitted to what was seen.
func (n *novelty) grown(list []stroke, plan curve, a anchor, takeSec float64) curve {
	c := plan
	c.begin, c.speed = a.begin, plan.speed*a.share
	from, to := list[a.from].plan, list[max(a.to-1, a.from)].plan
	gate := 0.12
	for round := 0; ; round++ {
		for range 3 {
			c = n.refit(list, c, from, to, gate)
			gate = max(gate*0.7, 0.06)
		}
		first, last := list[0].plan, list[len(list)-1].plan
		if from <= first && to >= last || round > 40 {
			return c
		}
		reach := 0.35 * (to - from)
		from, to = max(from-reach, first), min(to+reach, last)
		gate = 0.1
		for from > first && c.sec(rowAt(list, from)) < 0 { // beyond the take nothing is to be seen
			from = first
		}
		if c.sec(rowAt(list, to)) > takeSec {
			to = last
		}
	}
}

// rowAt is the row of the first stroke at or after plan time sec.
func rowAt(list []stroke, sec float64) float64 {
	for i := range list {
		if list[i].plan >= sec {
			return list[i].rowMM
		}
	}
	return list[len(list)-1].rowMM
}

// refit fits c to the strokes whose plan time lies between from and to.
func (n *novelty) refit(list []stroke, c curve, from, to, gate float64) curve {
	var seen []observed
	for i := range list {
		s := &list[i]
		if s.plan < from || s.plan > to {
			continue
		}
		sec := c.sec(s.rowMM)
		at, height := n.place(s.key, sec, gate)
		if height < seenHeight {
			continue
		}
		w := min(float64(height)/4, 1)
		x := (at - sec) / gate
		seen = append(seen, observed{s.rowMM, at, w * (1 - x*x) * (1 - x*x)}) // Tukey's biweight
	}
	return c.fitted(seen, to-from > 15 && len(seen) > 30)
}

// fitted is the curve after one step of Gauss and Newton towards what was seen.
// A slowing is held towards none as if it scattered by slowingPrior.
func (c curve) fitted(seen []observed, slowing bool) curve {
	const slowingPrior, sigma = 0.04, 0.03
	k := 2
	if slowing {
		k = 3
	}
	if len(seen) < k+2 {
		return c
	}
	normal, right := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	var slope [3]float64
	for _, o := range seen {
		off := (o.sec - c.sec(o.rowMM)) / sigma
		slope[0] = 1 / sigma
		slope[1] = -c.unit(o.rowMM) / c.speed / sigma // for a relative change of speed
		if slowing {
			slope[2] = c.slowingSlope(o.rowMM) / sigma
		}
		for i := range k {
			right.SetVec(i, right.AtVec(i)+o.weight*slope[i]*off)
			for j := i; j < k; j++ {
				normal.SetSym(i, j, normal.At(i, j)+o.weight*slope[i]*slope[j])
			}
		}
	}
	if slowing {
		normal.SetSym(2, 2, normal.At(2, 2)+1/(slowingPrior*slowingPrior))
		right.SetVec(2, right.AtVec(2)-c.slowing/(slowingPrior*slowingPrior))
	}
	var chol mat.Cholesky
	var step mat.VecDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&step, right) != nil {
		return c
	}
	c.begin += step.AtVec(0)
	c.speed *= 1 + min(max(step.AtVec(1), -0.05), 0.05)
	if slowing {
		c.slowing = min(max(c.slowing+step.AtVec(2), -mostSlowing), mostSlowing)
	}
	return c
}

// slowingSlope is by how many seconds row mm comes later for a slowing of 1 more.
func (c *curve) slowingSlope(mm float64) float64 {
	up, down := *c, *c
	up.slowing += 1e-4
	down.slowing -= 1e-4
	return (up.unit(mm) - down.unit(mm)) / (2e-4 * c.speed)
}

// agreement is how well the take has, where the curve has them, the strokes that
// lie in it: the mean of their novelty near there, in standard deviations of what
// the same strokes give when all are shifted by some time.
func (n *novelty) agreement(list []stroke, c *curve, takeSec float64) (fit float64, strokes int) {
	total := func(shift float64) (sum float64, count int) {
		for i := range list {
			sec := c.sec(list[i].rowMM) + shift
			if sec < 0 || sec > takeSec {
				continue
			}
			_, h := n.place(list[i].key, sec, 0.025)
			sum += min(max(float64(h), -1), 4)
			count++
		}
		return sum / math.Sqrt(float64(max(count, 1))), count
	}
	sum, squares, shifts := 0.0, 0.0, 0.0
	for k := 1; k <= 20; k++ {
		for _, sign := range [2]float64{-1, 1} {
			x, count := total(sign * 0.137 * float64(k))
			if count == 0 {
				continue
			}
			sum, squares, shifts = sum+x, squares+x*x, shifts+1
		}
	}
	mine, count := total(0)
	if shifts < 3 || count == 0 {
		return 0, count
	}
	mean := sum / shifts
	return (mine - mean) / math.Sqrt(max(squares/shifts-mean*mean, 0.05)), count
}
