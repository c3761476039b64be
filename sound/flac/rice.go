package flac

import "math/bits"

// maxPartition is the finest division of a block that is tried: 64 parts.
const maxPartition = 6

// A rice is how the remainders of a predictor are written: in 2^order parts, each
// with its own parameter (RFC 9639, 9.2.7).
type rice struct {
	order  int
	params []uint
	wide   bool // parameters of 5 bits
	counts []int
	size   int // in bits, all included
}

// newRice finds the division that comes out shortest. before is how many samples
// of the block, frames long, come without a remainder.
func newRice(left []int32, before, frames int) rice {
	finest := 0
	for finest < maxPartition && frames%(2<<finest) == 0 && frames>>(finest+1) > before {
		finest++
	}
	sums := partSums(left, before, frames, finest)
	var best rice
	for order := finest; order >= 0; order-- {
		r := withParts(sums, before, frames, order)
		if best.params == nil || r.size < best.size {
			best = r
		}
		for i := range len(sums) / 2 {
			sums[i] = sums[2*i] + sums[2*i+1]
		}
		sums = sums[:len(sums)/2]
	}
	return best
}

// folded brings signed numbers to unsigned: 0, -1, 1, -2 to 0, 1, 2, 3.
func folded(v int32) uint32 { return uint32(v)<<1 ^ uint32(v>>31) }

func partSums(left []int32, before, frames, order int) []uint64 {
	sums := make([]uint64, 1<<order)
	size := frames >> order
	i := 0
	for p := range sums {
		end := (p+1)*size - before
		sum := uint64(0)
		for _, v := range left[i:end] {
			sum += uint64(folded(v))
		}
		sums[p], i = sum, end
	}
	return sums
}

// withParts chooses a parameter for each part.
func withParts(sums []uint64, before, frames, order int) rice {
	r := rice{order: order, size: 2 + 4}
	most := uint(0)
	for p, sum := range sums {
		n := frames >> order
		if p == 0 {
			n -= before
		}
		k, size := bestParam(uint64(n), sum)
		r.params, r.counts = append(r.params, k), append(r.counts, n)
		r.size += int(size)
		most = max(most, k)
	}
	r.wide = most > 14
	if r.wide {
		r.size += 5 * len(sums)
	} else {
		r.size += 4 * len(sums)
	}
	return r
}

func bestParam(n, sum uint64) (uint, uint64) {
	if n == 0 {
		return 0, 0
	}
	guess := bits.Len64(sum / n)
	best, size := uint(0), ^uint64(0)
	for k := max(0, guess-2); k <= min(30, guess+1); k++ {
		s := n*uint64(k+1) + uint64(float64(n)*highPart(float64(sum)/float64(n), k))
		if s < size {
			best, size = uint(k), s
		}
	}
	return best, size
}

// highPart is about what numbers of a mean, spread as remainders are, average
// when shifted by k: 1/(e^(1/r) - 1) with r = mean/2^k, near enough to choose by.
func highPart(mean float64, k int) float64 {
	r := mean / float64(int64(1)<<k)
	switch {
	case k == 0:
		return mean
	case r > 0.4:
		return r - 0.5 + 1/(12*r)
	}
	return 0.6 * r * r
}

// write puts the remainders.
func (r *rice) write(w *bitWriter, left []int32) {
	method, width := uint64(0), uint(4)
	if r.wide {
		method, width = 1, 5
	}
	w.put(method, 2)
	w.put(uint64(r.order), 4)
	i := 0
	for p, k := range r.params {
		w.put(uint64(k), width)
		for _, v := range left[i : i+r.counts[p]] {
			u := uint64(folded(v))
			high := u >> k
			if high+1+uint64(k) <= 56 {
				w.put(1<<k|u&(1<<k-1), uint(high)+1+k)
				continue
			}
			w.putUnary(high)
			w.put(u, k)
		}
		i += r.counts[p]
	}
}
