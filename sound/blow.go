package sound

import (
	"math"
	"math/cmplx"
)

// oversample is how many steps of the blow fall on one sample of sound: 2.6
// microseconds a step at 48 kHz, a hundredth of the shortest contact.
const oversample = 8

// Bounds of the blow's simulation, seconds. A hammer that has been off the
// string for quietSec does not come back.
const (
	quietSec   = 1.2e-3
	longestSec = 14e-3
)

// A bank is the partials of one string while the hammer may touch it. Its n-th
// entry moves by scale * Im(z), z = integral of F(t') e^(s(t-t')) dt'. Kept as
// columns of real numbers: the loop over them is what a blow costs.
//
// For a force linear within the step, z after it is grow*z + g0*F0 + g1*F1, F0
// at its start and F1 at its end. The columns hold z without the last g1*F1,
// which is only known when F1 has been solved for; the next step brings it in
// through gain = grow*g1 + g0.
type bank struct {
	s              []complex128 // -decay + i w
	re, im         []float64
	growRe, growIm []float64
	gainRe, gainIm []float64
	endRe, endIm   []float64 // g1
	atHammer       []float64 // displacement under the hammer, m per Im(z)
	atBridge       []float64 // force on the bridge, N per Im(z)
	giveMPerN      float64   // of the string under the hammer to the force at the step's end
	heard          int       // partials that sound; the rest let the string give way in a point
}

// A Blow is what a hammer did to one string of a course.
type Blow struct {
	StepSec    float64   // time between forces
	ForceN     []float64 // on the string, from first contact
	ContactSec float64   // in touch, all touches together
	Touches    int       // how often hammer and string met
	SpeedMPerS float64   // of the hammer before
	ReboundMPS float64   // of the hammer after, away from the string

	bridge []float64 // force on the bridge, N, a sample each
	bank   *bank     // as the blow left it, at sample len(bridge)
}

// Strike lets the hammer of a course hit one of its strings at a speed in m/s,
// stepped at oversample times the sample rate.
//
// The string is its modes, each advanced exactly for a force that is linear
// within the step; the force at the end of a step is solved for, not carried
// over, so that steel on steel is as stable as felt.
func Strike(c *Course, hammers Hammers, speed float64, sampleRate int) *Blow {
	return strikeOn(newBank(c, heads()[hammers].widthM, sampleRate), c, hammers, speed, sampleRate)
}

// strikeOn is Strike on a string that may move already.
func strikeOn(bank *bank, c *Course, hammers Hammers, speed float64, sampleRate int) *Blow {
	dt := 1 / (float64(sampleRate) * oversample)
	b := &Blow{StepSec: dt, SpeedMPerS: speed, bank: bank}
	h := newStriker(c, hammers, speed)
	force, lastTouch, touching := 0.0, 0.0, false
	for step := 0; ; step++ {
		t := float64(step) * dt
		if step%oversample == 0 {
			if t-lastTouch > quietSec && !h.approaching() || t > longestSec {
				break
			}
			b.bridge = append(b.bridge, b.bank.bridgeForce(force))
		}
		b.ForceN = append(b.ForceN, force)
		next := h.step(b.bank.advance(force), b.bank.giveMPerN, force, dt)
		if next > 0 {
			lastTouch = t + dt
			b.ContactSec += dt
			if !touching {
				b.Touches++
			}
		}
		touching, force = next > 0, next
	}
	b.bank.settle(force)
	b.ReboundMPS = -h.v
	return b
}

// newBank is the partials of one string at rest: all that are heard and enough
// above for the string to give way in a point.
func newBank(c *Course, widthM float64, sampleRate int) *bank {
	const (
		fewest = 40
		mostHz = 150e3
	)
	b := &bank{}
	dt := 1 / (float64(sampleRate) * oversample)
	mass := c.KgPerM * c.LengthM / 2
	bend := math.Pi * math.Pow(c.CoreM, 4) / 64 * steelYoung // E I
	for n := 1; ; n++ {
		hz := c.PartialHz(n)
		heard := hz < heardHz(sampleRate)
		if !heard && n > fewest || hz > mostHz {
			b.re, b.im = make([]float64, len(b.s)), make([]float64, len(b.s))
			return b
		}
		if heard {
			b.heard++
		}
		w := 2 * math.Pi * hz
		k := float64(n) * math.Pi / c.LengthM
		shape := math.Sin(float64(n)*math.Pi*c.Strike) * sinc(k*widthM/2)
		far := shape // at the bridge, every second partial pulls the other way
		if n%2 == 0 {
			far = -shape
		}
		b.add(complex(-c.lossAt(hz)-c.BridgePerSec, w), dt, shape*shape/(mass*w),
			far/(mass*w)*(c.TensionN*k+bend*k*k*k))
	}
}

// sinc is the mean of cos over -x to x: how much of a wave a wide hammer meets.
func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(x) / x
}

// heardHz is the bound of the partials that sound: below half the sample rate
// with room for a player's filter, and not above what is heard.
func heardHz(sampleRate int) float64 { return min(20e3, 0.45*float64(sampleRate)) }

func (b *bank) add(s complex128, dt, atHammer, atBridge float64) {
	sdt := s * complex(dt, 0)
	grow := cmplx.Exp(sdt)
	g1 := (grow - 1 - sdt) / (s * sdt)
	g0 := (grow-1)/s - g1
	gain := grow*g1 + g0
	b.s = append(b.s, s)
	b.growRe, b.growIm = append(b.growRe, real(grow)), append(b.growIm, imag(grow))
	b.gainRe, b.gainIm = append(b.gainRe, real(gain)), append(b.gainIm, imag(gain))
	b.endRe, b.endIm = append(b.endRe, real(g1)), append(b.endIm, imag(g1))
	b.atHammer, b.atBridge = append(b.atHammer, atHammer), append(b.atBridge, atBridge)
	b.giveMPerN += atHammer * imag(g1)
}

// advance moves every partial on by a step that begins with this force and ends
// with none, and returns where the string then is under the hammer.
func (b *bank) advance(force float64) float64 {
	n := len(b.re)
	re, im := b.re, b.im[:n]
	growRe, growIm := b.growRe[:n], b.growIm[:n]
	gainRe, gainIm := b.gainRe[:n], b.gainIm[:n]
	at := b.atHammer[:n]
	y := 0.0
	for i, r := range re {
		m := im[i]
		re[i] = growRe[i]*r - growIm[i]*m + gainRe[i]*force
		m = growRe[i]*m + growIm[i]*r + gainIm[i]*force
		im[i] = m
		y += at[i] * m
	}
	return y
}

// settle brings in the force at the end of the last step.
func (b *bank) settle(force float64) {
	for i := range b.re {
		b.re[i] += b.endRe[i] * force
		b.im[i] += b.endIm[i] * force
	}
}

// bridgeForce is what the heard partials put on the bridge, N, force
// being that at the end of the last step.
func (b *bank) bridgeForce(force float64) float64 {
	sum := 0.0
	for i := range b.heard {
		sum += b.atBridge[i] * (b.im[i] + b.endIm[i]*force)
	}
	return sum
}

// A striker is the moving hammer: position (0 where the string rests) and
// speed of what touches the string, and behind a loose tip the felt's own.
type striker struct {
	x, v, mass float64
	contact    spring
	back       spring // between tip and what is behind it; stiffness 0: nothing behind
	bx, bv, bm float64
	gap        float64
}

// A spring is F = K (d^p - relax * memory of d^p), never pulling (A. Stulov,
// JASA 97 (1995) 2577).
type spring struct {
	k, p            float64
	relax, relaxSec float64
	memory          float64
	last            float64 // d the last time the spring was pressed
}

// What steel on steel loses when it touches, as hysteresis. Chosen by measure, so
// that a loose tack rattles a few times and not for ever.
const (
	tipRelax    = 0.6
	tipRelaxSec = 15e-6
)

func newStriker(c *Course, hammers Hammers, speed float64) *striker {
	h := heads()[hammers]
	felt := spring{k: c.FeltStiffness * h.stiffness, p: c.FeltExponent + h.exponent, relax: h.relax, relaxSec: h.relaxSec}
	mass := c.FeltMassKg * h.mass
	if h.tipKg == 0 {
		return &striker{v: speed, mass: mass, contact: felt}
	}
	return &striker{v: speed, mass: h.tipKg, contact: spring{k: h.tipK, p: 1.5, relax: tipRelax, relaxSec: tipRelaxSec},
		back: felt, bx: -h.gapM, bv: speed, bm: mass, gap: h.gapM}
}

// approaching reports whether something still flies at the string.
func (h *striker) approaching() bool {
	return h.v > 0 || h.back.k > 0 && h.bv > 0
}

// step moves the striker on by dt against a string that would be at y without
// a force at the end of the step, and gives way by give per newton of it. It
// returns that force.
func (h *striker) step(y, give, force, dt float64) float64 {
	pushed := 0.0
	if h.back.k > 0 {
		pushed = h.back.force(h.bx-h.x, dt)
		h.bv -= pushed / h.bm * dt
		h.bx += h.bv * dt
		pushed /= h.mass
	}
	x := h.x + h.v*dt + dt*dt*(pushed/2-force/(3*h.mass))
	next := h.contact.meet(x-y, give+dt*dt/(6*h.mass), dt)
	h.x = x - dt*dt/6*next/h.mass
	h.v += dt * (pushed - (force+next)/(2*h.mass))
	return next
}

// force is that of a spring pressed by d, whose memory then moves on by dt.
func (s *spring) force(d, dt float64) float64 {
	pressed := 0.0
	if d > 0 {
		pressed = power(d, s.p)
	}
	if s.relax > 0 {
		s.memory += (pressed - s.memory) * -math.Expm1(-dt/s.relaxSec)
	}
	return max(0, s.k*(pressed-s.relax*s.memory))
}

// meet solves F = force(d) with d = free - give*F, by Newton's steps kept inside
// [0, free]. The left side grows with d, so there is one answer.
func (s *spring) meet(free, give, dt float64) float64 {
	if free <= 0 {
		return s.force(0, dt)
	}
	share, kept := 1.0, 0.0 // F = K (share * d^p - kept)
	if s.relax > 0 {
		a := -math.Expm1(-dt / s.relaxSec)
		share, kept = 1-s.relax*a, s.relax*s.memory*(1-a)
	}
	lo, hi := 0.0, free
	d := free / 2
	if 0 < s.last && s.last < free {
		d = s.last
	}
	for range 60 {
		power := power(d, s.p)
		f := s.k * (share*power - kept)
		slope := s.k * share * s.p * power / d
		if f < 0 {
			f, slope = 0, 0
		}
		miss := d + give*f - free
		if math.Abs(miss) <= 1e-11*free {
			break
		}
		if miss > 0 {
			hi = d
		} else {
			lo = d
		}
		d -= miss / (1 + give*slope)
		if d <= lo || d >= hi {
			d = (lo + hi) / 2
		}
	}
	s.last = d
	return s.force(d, dt)
}

// power is d^p for d > 0, in half the time of math.Pow, whose care for the last
// bit a contact does not need.
func power(d, p float64) float64 { return math.Exp(p * math.Log(d)) }
