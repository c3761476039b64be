package sound

import (
	"math"
	"math/cmplx"
)

// A damped is Re(c e^(st)): one thing that rings, t in seconds.
type damped struct {
	s, c complex128
}

// How the strings of a unison differ: in units of half of what lies between the outer
// ones. The blow is a little uneven, as no hammer is flat (chosen by measure).
var (
	unisonCents = [4][]float64{1: {0}, 2: {-1, 1}, 3: {-1, 0.15, 0.85}}
	unisonBlow  = [4][]float64{1: {1}, 2: {1.05, 0.95}, 3: {1, 0.94, 1.06}}
)

// The outer strings of a unison lie this far apart, cents: 1 to 2 is what listeners prefer
// and tuners leave (R. E. Kirk, JASA 31 (1959) 1644).
const (
	leastApart = 1.0
	mostApart  = 2.0
)

// The strings also swing along the board, where the bridge hardly yields: the
// share of the blow that ends up there, and of the bridge's loss it meets. Both
// chosen by measure: the after-sound of C4 sets in about 25 dB down.
const (
	sidewaysShare = 0.06
	sidewaysLoss  = 0.15
)

// A strand is one damped oscillation that a partial splits into: its s and how
// much of the partial's amplitude it begins with.
type strand struct {
	s, share complex128
}

// strands are what the n-th partial of a course splits into because its strings
// meet at one bridge: together they lose the more, against each other the less
// (G. Weinreich, JASA 62 (1977) 1474). dry, 0 to 1, is how much of a strip of felt lies
// on the strings.
//
// The strings' amplitudes follow a' = (D - k 11')a, D the strings alone, k the
// bridge. Eigenvalues x of a diagonal less a rank-one matrix solve
// 1 + k sum 1/(x - d_j) = 0, their vectors are 1/(d_j - x).
func (c *Course) strands(n int, dry float64) []strand {
	hz, faster := c.PartialHz(n), felted(n, dry)
	own := complex(-c.lossAt(hz)*faster, 2*math.Pi*hz)
	k := complex(c.BridgePerSec*faster, 0)
	d := make([]complex128, c.Strings)
	for j, cents := range unisonCents[c.Strings] {
		d[j] = complex(0, 2*math.Pi*hz*(math.Exp2(cents*c.mistuning()/1200)-1))
	}
	blow := unisonBlow[c.Strings]
	out := []strand{{own - k*sidewaysLoss, sidewaysShare}}
	const upright = 1 - sidewaysShare
	for _, x := range secularRoots(d, k) {
		var all, struck, norm complex128
		for j := range d {
			u := 1 / (d[j] - x)
			all += u
			struck += u * complex(blow[j], 0)
			norm += u * u
		}
		out = append(out, strand{own + x, upright * all * struck / norm / complex(float64(c.Strings), 0)})
	}
	return out
}

// A strip of felt across the strings makes a first partial fall up to dryRange times as
// fast, and takes more from partials that move more where it lies: stripAt of the length
// from the end. The shares are assumed.
const (
	dryRange   = 6
	stripAt    = 0.03
	stripShare = 2.0
)

// felted is how many times as fast partial n falls under the strip.
func felted(n int, dry float64) float64 {
	moves := math.Sin(float64(n) * math.Pi * stripAt)
	return 1 + (math.Pow(dryRange, dry)-1)*(1+stripShare*moves*moves)
}

// mistuning of the course: half of what lies between its outer strings, cents.
func (c *Course) mistuning() float64 {
	return (leastApart + (mostApart-leastApart)*c.own(0)) / 2
}

// secularRoots solves 1 + k sum 1/(x - d_j) = 0 by K. Dochev's and E. Durand's
// simultaneous iteration.
func secularRoots(d []complex128, k complex128) []complex128 {
	if len(d) == 1 {
		return []complex128{d[0] - k}
	}
	size := cmplx.Abs(k)
	for _, x := range d {
		size += cmplx.Abs(x)
	}
	poly := func(x complex128) complex128 {
		p := complex(1, 0)
		for _, dj := range d {
			p *= x - dj
		}
		for i := range d {
			q := k
			for j, dj := range d {
				if j != i {
					q *= x - dj
				}
			}
			p += q
		}
		return p
	}
	roots := make([]complex128, len(d))
	for i := range roots {
		roots[i] = cmplx.Rect(size, 0.4+2*math.Pi*float64(i)/float64(len(d)))
	}
	for range 60 {
		moved := 0.0
		for i, x := range roots {
			q := complex(1, 0)
			for j, y := range roots {
				if j != i {
					q *= x - y
				}
			}
			if q != 0 {
				by := poly(x) / q
				roots[i] = x - by
				moved = max(moved, math.Abs(real(by))+math.Abs(imag(by)))
			}
		}
		if moved <= 1e-14*size {
			break
		}
	}
	return roots
}
