package flac

import "math"

// Kinds of subframe (RFC 9639, 9.2).
const (
	constant = iota
	verbatim
	fixed
	linear
)

// A subframe is one channel of a block, as it will be written.
type subframe struct {
	kind    int
	samples []int32
	bits    int // of a sample
	order   int
	coef    []int32 // of a linear predictor, the latest sample's first
	shift   uint
	left    []int32 // what the predictor leaves
	rice    rice
	size    int // in bits
}

// precision of the coefficients of a linear predictor, sign included.
const precision = 15

// maxOrder is the longest linear predictor that is tried.
const maxOrder = 10

// plan finds the shortest way to write a channel: one value, the samples as they
// are, a fixed predictor, or a linear one made for it.
func (e *encoder) plan(samples []int32, sampleBits int) *subframe {
	s := &subframe{kind: verbatim, samples: samples, bits: sampleBits, size: 8 + len(samples)*sampleBits}
	if allEqual(samples) {
		s.kind, s.size = constant, 8+sampleBits
		return s
	}
	for _, try := range []*subframe{fixedSubframe(samples, sampleBits), e.linearSubframe(samples, sampleBits)} {
		if try != nil && try.size < s.size {
			s = try
		}
	}
	return s
}

func allEqual(x []int32) bool {
	for _, v := range x {
		if v != x[0] {
			return false
		}
	}
	return true
}

// fixedSubframe takes the fixed predictor of order 0 to 4 (RFC 9639, 9.2.5) whose
// remainder is smallest in sum; nil if the channel is too short for any.
func fixedSubframe(x []int32, sampleBits int) *subframe {
	if len(x) <= 4 {
		return nil
	}
	best, order := uint64(math.MaxUint64), 0
	left := x
	var bestLeft []int32
	for k := 0; k <= 4; k++ {
		if k > 0 {
			next := make([]int32, len(left)-1)
			for i := range next {
				next[i] = left[i+1] - left[i]
			}
			left = next
		}
		sum := uint64(0)
		for _, v := range left[4-k:] {
			sum += uint64(magnitude(v))
		}
		if sum < best {
			best, order, bestLeft = sum, k, left
		}
	}
	s := &subframe{kind: fixed, samples: x, bits: sampleBits, order: order, left: bestLeft}
	s.rice = newRice(bestLeft, order, len(x))
	s.size = 8 + order*sampleBits + s.rice.size
	return s
}

func magnitude(v int32) uint32 {
	if v < 0 {
		return uint32(-int64(v))
	}
	return uint32(v)
}

// linearSubframe makes a linear predictor for the channel; nil if there is none
// that helps.
func (e *encoder) linearSubframe(x []int32, sampleBits int) *subframe {
	if len(x) <= 4*maxOrder {
		return nil
	}
	order, coef := e.predictor(x, sampleBits)
	if order == 0 {
		return nil
	}
	ints, shift, ok := quantize(coef)
	if !ok {
		return nil
	}
	left, ok := remainder(x, ints, shift)
	if !ok {
		return nil
	}
	s := &subframe{kind: linear, samples: x, bits: sampleBits, order: order, coef: ints, shift: shift, left: left}
	s.rice = newRice(left, order, len(x))
	s.size = 8 + order*sampleBits + 4 + 5 + order*precision + s.rice.size
	return s
}

// predictor finds coefficients by autocorrelation under a window, and from the
// error of each order the one that should come out shortest. Order 0: none.
func (e *encoder) predictor(x []int32, sampleBits int) (int, []float64) {
	window := e.window
	if len(x) != len(window) {
		window = tukey(len(x))
	}
	if cap(e.float) < len(x) {
		e.float = make([]float64, len(x))
	}
	y := e.float[:len(x)]
	for i, v := range x {
		y[i] = float64(v) * window[i]
	}
	auto := autocorrelate(y)
	if auto[0] == 0 {
		return 0, nil
	}
	errs, coefs := levinson(auto)
	best, order := math.Inf(1), 0
	for k := 1; k <= maxOrder; k++ {
		perSample := 0.5 * math.Log2(math.Max(errs[k]/float64(len(x))*math.Ln2*math.Ln2/2, 1e-9))
		size := math.Max(perSample, 0)*float64(len(x)-k) + float64(k*(sampleBits+precision))
		if size < best {
			best, order = size, k
		}
	}
	return order, coefs[order]
}

// autocorrelate sums y[i]*y[i-lag] for lags 0 to maxOrder, all lags in one pass.
func autocorrelate(y []float64) [maxOrder + 1]float64 {
	var r [maxOrder + 1]float64
	for lag := range r {
		var a, b, c, d float64
		u, v := y[lag:], y[:len(y)-lag]
		i := 0
		for ; i+4 <= len(v); i += 4 {
			a += u[i] * v[i]
			b += u[i+1] * v[i+1]
			c += u[i+2] * v[i+2]
			d += u[i+3] * v[i+3]
		}
		for ; i < len(v); i++ {
			a += u[i] * v[i]
		}
		r[lag] = (a + b) + (c + d)
	}
	return r
}

// levinson solves the normal equations for every order (N. Levinson 1947, J.
// Durbin 1960): the error that remains and the coefficients, the latest sample's
// first.
func levinson(r [maxOrder + 1]float64) (errs [maxOrder + 1]float64, coefs [maxOrder + 1][]float64) {
	err := r[0]
	var a [maxOrder]float64
	errs[0] = err
	for k := range maxOrder {
		if err <= 0 {
			err = 0
			errs[k+1], coefs[k+1] = err, append([]float64(nil), a[:k+1]...)
			continue
		}
		acc := r[k+1]
		for j := range k {
			acc -= a[j] * r[k-j]
		}
		reflect := acc / err
		b := a
		for j := range k {
			a[j] = b[j] - reflect*b[k-1-j]
		}
		a[k] = reflect
		err *= 1 - reflect*reflect
		errs[k+1], coefs[k+1] = err, append([]float64(nil), a[:k+1]...)
	}
	return errs, coefs
}

// quantize makes integers of coefficients, with the largest shift at which all
// fit, carrying each one's rounding error to the next.
func quantize(coef []float64) ([]int32, uint, bool) {
	high := 0.0
	for _, c := range coef {
		high = math.Max(high, math.Abs(c))
	}
	if high == 0 || math.IsInf(high, 0) || math.IsNaN(high) {
		return nil, 0, false
	}
	_, exp := math.Frexp(high)
	shift := min(precision-1-exp, 15)
	if shift < 0 {
		return nil, 0, false
	}
	const most = 1<<(precision-1) - 1
	ints := make([]int32, len(coef))
	carry := 0.0
	for i, c := range coef {
		carry += c * float64(int(1)<<shift)
		q := math.Max(-most-1, math.Min(most, math.RoundToEven(carry)))
		carry -= q
		ints[i] = int32(q)
	}
	return ints, uint(shift), true
}

// remainder is what a linear predictor leaves; false if it does not fit 32 bits.
func remainder(x []int32, coef []int32, shift uint) ([]int32, bool) {
	order := len(coef)
	// Turned round, so that coefficients and samples run the same way.
	var c [maxOrder]int64
	for i, v := range coef {
		c[order-1-i] = int64(v)
	}
	left := make([]int32, len(x)-order)
	for i := range left {
		sum := int64(0)
		past := x[i : i+order]
		for j, v := range past {
			sum += c[j] * int64(v)
		}
		d := int64(x[i+order]) - sum>>shift
		if d != int64(int32(d)) || d == math.MinInt32 {
			return nil, false
		}
		left[i] = int32(d)
	}
	return left, true
}

// tukey is a window that is flat in its middle half.
func tukey(n int) []float64 {
	w := make([]float64, n)
	edge := n / 4
	for i := range w {
		w[i] = 1
		if d := min(i, n-1-i); d < edge {
			w[i] = 0.5 - 0.5*math.Cos(math.Pi*(float64(d)+0.5)/float64(edge))
		}
	}
	return w
}

// write puts a subframe (RFC 9639, 9.2).
func (s *subframe) write(w *bitWriter) {
	code := map[int]uint64{constant: 0, verbatim: 1, fixed: 8 + uint64(s.order), linear: 31 + uint64(s.order)}[s.kind]
	w.put(code<<1, 8)
	n := uint(s.bits)
	switch s.kind {
	case constant:
		w.put(uint64(s.samples[0]), n)
		return
	case verbatim:
		for _, v := range s.samples {
			w.put(uint64(v), n)
		}
		return
	}
	for _, v := range s.samples[:s.order] {
		w.put(uint64(v), n)
	}
	if s.kind == linear {
		w.put(precision-1, 4)
		w.put(uint64(s.shift), 5)
		for _, c := range s.coef {
			w.put(uint64(c), precision)
		}
	}
	s.rice.write(w, s.left)
}
