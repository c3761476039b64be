package sound

import "gonum.org/v1/gonum/blas/blas32"

// What dampers leave longer of low partials is added up by itself, a value every lowEvery
// frames, and brought to all frames when a run is mixed. A value finds its way into the sound
// when two more have followed it, so each is laid lowDelay early: what is low comes after a
// damper, never at the beginning of a note, so that nothing is too early to be laid.
const (
	lowTaps  = 4
	lowDelay = 2 * lowEvery
)

// addLows adds what is left of low partials beside the strings.
func (a *adder) addLows(s *stroke, n *layered) {
	begin := int(floorDiv64(s.at+lowEvery/2-lowDelay, lowEvery)) - int(a.begin/lowEvery) // of value 0 in the piece
	for i := range s.acts {
		now := &s.acts[i]
		if !now.parts() {
			continue
		}
		end := s.lowEnd
		if i+1 < len(s.acts) {
			end = s.acts[i+1].from
		}
		from := max((int(now.from)+lowEvery-1)/lowEvery, -begin)
		to := min((int(end)+lowEvery-1)/lowEvery, len(a.low[0])-begin)
		for from < to {
			segment, in := from/lowFrames, from%lowFrames
			next := min(to, from-in+lowFrames)
			x, weight := n.mixed(a.strings, func(of *note) []float32 { return of.low[segment][in : in+next-from] })
			y := a.done[:len(x)]
			now.leaves(y, x, from)
			for ch, g := range s.gain(weight) {
				if g != 0 && a.low[ch] != nil {
					blas32.Axpy(g, vector(y), vector(a.low[ch][begin+from:][:len(y)]))
				}
			}
			from = next
		}
	}
}

// leaves writes to y what an act leaves of values of low partials, x, from one on, beside what
// it leaves of all. It takes the act as if it began with a value: that is less than 0.2 ms off.
func (a *act) leaves(y, x []float32, from int) {
	more := a.low - a.high
	c := a.curve
	if c == nil {
		times(y, x, more)
		return
	}
	since := from - (int(a.from)+lowEvery-1)/lowEvery
	if n := min(len(x), len(c.every)-since); n > 0 { // low partials go their own way, or all one
		if c.more == nil {
			multiply(y[:n], x[:n], c.every[since:])
			times(y[:n], y[:n], more)
		} else {
			for i, left := range c.every[since : since+n] {
				y[i] = x[i] * (a.low*c.more[since+i] + more*left)
			}
		}
		x, y = x[n:], y[n:]
	}
	last := float32(0)
	if !c.damps {
		last = c.high[len(c.high)-1]
	}
	times(y, x, more*last)
}

func times(y, x []float32, by float32) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] = v * by
	}
}

// A lowTail is the last values before some.
type lowTail [lowTaps - 1]float32

// follow is the tail of x after what it was the tail of.
func (t *lowTail) follow(x []float32) {
	for i := range t {
		if at := len(x) - len(t) + i; at >= 0 {
			t[i] = x[at]
		}
	}
}

// lowCurve are the weights of four values for the frames between the two in the middle: the
// curve through all of them whose slope at each is that between its neighbours (E. Catmull,
// R. Rom, 1974).
var lowCurve = func() (w [lowEvery][lowTaps]float32) {
	for i := range w {
		x := float32(i) / lowEvery
		w[i] = [lowTaps]float32{x * (-1 + x*(2-x)) / 2, 1 + x*x*(-5+3*x)/2, x * (1 + x*(4-3*x)) / 2, x * x * (x - 1) / 2}
	}
	return w
}()

// addLow adds low values, after those before them, to the frames of a run, and leaves them as
// silence.
func addLow(out []float32, before lowTail, low []float32) {
	a, b, c := before[0], before[1], before[2]
	for i, d := range low {
		low[i] = 0
		if a == 0 && b == 0 && c == 0 && d == 0 {
			continue
		}
		y := out[i*lowEvery : min((i+1)*lowEvery, len(out))]
		for j := range y {
			w := &lowCurve[j&(lowEvery-1)]
			y[j] += w[0]*a + w[1]*b + w[2]*c + w[3]*d
		}
		a, b, c = b, c, d
	}
}

func floorDiv64(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
