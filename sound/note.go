package sound

import (
	"math"
	"math/cmplx"
	"sync"

	"rollwright/sound/loudness"
)

// Levels at which notes are computed; between two of them a note is a mixture.
// They are the levels of the eight dynamics, so that plain dynamics need none,
// and 1.
var layerLevels = [...]int{1, 16, 33, 49, 64, 80, 96, 112, 126}

// noteGain brings newtons on the bridge to samples: C4 of felt at mf peaks
// near 0.2, undamped.
const noteGain = 1.0 / 160

// The stop of the stroke beside the force of the strings: the knock starts at this share
// a second of the momentum of hammer and key, N per (kg m/s). What moves of key and action
// is the same at every key, so that the knock is heard beside a treble string and not
// beside a bass one. Chosen by measure, on how a sampled piano's energy from 60 to 125 Hz
// lies below the whole from C5 to C7.
const (
	knockPerMomentum = 28.0
	keyKg            = 0.12 // that moves as fast as the hammer
)

// A timbre is everything that decides what a key at a level sounds like.
type timbre struct {
	hammers Hammers
	dry     float64 // 0 to 1
	rate    int     // frames a second
	tuning  Tuning
	copy    int // which of several instruments alike: see Piano.Copy
}

// course is what a key of the timbre sounds.
func (t timbre) course(key int) *Course {
	c, err := t.tuning.Course(key)
	if err != nil {
		panic(err) // events outside the keys have been refused
	}
	if c.copy = t.copy; t.copy > 0 {
		c.FirstHz *= math.Exp2(apartCents * (2*c.own(3) - 1) / 1200)
		c.tune()
	}
	return &c
}

// apartCents is how far a key of another instrument may lie from the same key of the
// first, to either side: about what two tunings by ear of one piano differ by (a computed
// tuning against a professional one: 2.5 cents in the middle; J. Tuovinen, Aalto University
// 2019).
const apartCents = 1.2

// A spectrum is one note as what rings after the blow, and what was heard until
// the hammer left.
type spectrum struct {
	course  *Course
	rate    int
	strings []damped  // amplitudes at frame 0; the damper stops them
	of      []int     // of the first strings: which partial of the string they are, from 0
	body    []damped  // amplitudes at frame len(head); the damper does not
	knock   []damped  // amplitudes at frame 0
	tick    []damped  // of the metal, likewise
	head    []float64 // strings while the hammer touched
	peak    float64   // a bound of the strings' amplitude
}

// spectrumOf computes the note of a course at a layer. Frame 0 is where the hammer
// touches the string: the knock begins there, and the string's own wave reaches the
// bridge later, by its travel. Were all notes to begin at that wave, those of a chord
// would add up in phase.
//
// A voicer's work is in it: every key is as loud as C4 with the same hammers at the same
// level, up to mostVoicingDB, and then by the last correction of the scale design.
//
// r is what ringingOf says of the course.
func (t timbre) spectrumOf(c *Course, r *ringing, level int) *spectrum {
	sp := t.struck(c, r, level)
	db := max(-mostVoicingDB, min(mostVoicingDB, 10*math.Log10(t.referenceEnergy(level)/r.energy(sp))))
	sp.raise(math.Pow(10, (db+c.VoicingDB)/20))
	return sp
}

// mostVoicingDB is the most that a key is made louder or softer to be even with others.
const mostVoicingDB = 18

// referenceKey is the key by which others are voiced.
const referenceKey = 60

// references are energies of the reference key, by its timbre and level.
var references sync.Map

type reference struct {
	timbre timbre
	level  int
}

// referenceEnergy is that of the reference key at a layer: never less than that of the
// layer below it and leastStepDB, for a second touch of a tack may still the string.
func (t timbre) referenceEnergy(level int) float64 {
	t.tuning, t.copy = Tuning{}, 0
	if e, known := references.Load(reference{t, level}); known {
		return e.(float64)
	}
	c := t.course(referenceKey)
	r := t.ringingOf(c)
	least := 0.0
	for _, layer := range layerLevels {
		if layer > level {
			break
		}
		is := max(least, r.energy(t.struck(c, r, layer)))
		references.Store(reference{t, layer}, is)
		least = is * math.Pow(10, leastStepDB/10.0)
	}
	e, _ := references.Load(reference{t, level})
	return e.(float64)
}

// leastStepDB is what a layer is louder than the one below it, at least.
const leastStepDB = 1

// energySec is the stretch of a note whose energy is its loudness, that of a short
// note.
const energySec = 0.2

// energy is that of the strings of a note in its first energySec, as loudness weighs
// it, in closed form: strands of one partial are near enough in frequency to add up or
// cancel, those of two are not.
func (r *ringing) energy(sp *spectrum) float64 {
	sum := 0.0
	after := float64(len(sp.head)) / float64(sp.rate) // before it, what rings is not yet what is heard
	begun := make([]complex128, len(r.strands))
	for i := range begun {
		begun[i] = cmplx.Exp(sp.strings[i].s * complex(after, 0))
	}
	for i := range r.strands {
		a := sp.strings[i]
		for j := i; j < len(r.strands) && r.partial[j] == r.partial[i]; j++ {
			b := sp.strings[j]
			s := a.s + cmplx.Conj(b.s)
			rang := r.later[i]*cmplx.Conj(r.later[j]) - begun[i]*cmplx.Conj(begun[j])
			both := real(a.c * cmplx.Conj(b.c) * rang / s)
			if j > i {
				both *= 2
			}
			sum += both / 2 * r.weight[i]
		}
	}
	return sum
}

// partial tells strings apart by the partial they belong to: those that are none of the
// string's, waves along it, are each by itself.
func (sp *spectrum) partial(i int) int {
	if i < len(sp.of) {
		return sp.of[i]
	}
	return -i
}

// raise multiplies all but the knock.
func (sp *spectrum) raise(by float64) {
	for _, rings := range [][]damped{sp.strings, sp.body, sp.tick} {
		for i := range rings {
			rings[i].c *= complex(by, 0)
		}
	}
	for i := range sp.head {
		sp.head[i] *= by
	}
	sp.peak *= by
}

// struck is spectrumOf as the blow leaves it.
func (t timbre) struck(c *Course, r *ringing, level int) *spectrum {
	speed := LevelSpeed(level)
	b := Strike(c, t.hammers, speed, t.rate)
	gain := noteGain * float64(c.Strings)
	for i := range b.bridge {
		b.bridge[i] *= gain
	}
	sp := &spectrum{course: c, rate: t.rate, of: r.partial, head: make([]float64, len(b.bridge))}
	force := r.afterBlow(b, gain)
	sp.body = r.rest(b.bridge, force, t.rate, sp.head)
	for k, f := range force {
		f.c *= r.heard[k]
		sp.strings = append(sp.strings, f)
		sp.peak += cmplx.Abs(f.c)
	}
	later(sp.strings, -float64(len(b.bridge))/float64(t.rate))
	sp.addLengthwise(c, speed, t.rate)
	sp.knock, sp.tick = t.stopOf(c, r.board, speed)
	for i, x := range t.bodyBefore(sp.body, len(sp.head)) {
		sp.head[i] -= x
	}
	return sp
}

// later moves what rings to so many seconds later, or earlier.
func later(rings []damped, sec float64) {
	for i := range rings {
		rings[i].c *= cmplx.Exp(rings[i].s * complex(sec, 0))
	}
}

// softFrames is how long the strings take to come in beside the knock: the first
// ripples of partials cut off at heardHz must not hide the beginning by cancelling the
// knock.
const softFrames = 3

// body is soundboard and case: with cloth behind the board, where strings are dry, which
// takes half as many dB from its ring as the strip does from theirs. The board of another
// instrument has its resonances elsewhere, by up to boardApart.
func (t timbre) body() *body {
	b := theBody().drier(math.Sqrt(math.Pow(dryRange, t.dry)))
	if t.copy > 0 {
		for i := range b.board {
			r := &b.board[i]
			key := Course{Key: i, copy: t.copy}
			r.pole = complex(real(r.pole), imag(r.pole)*(1+boardApart*(2*key.own(1)-1)))
			if imag(r.pole) != 0 {
				r.gain *= complex(1+boardUneven*(2*key.own(2)-1), 0)
			}
		}
	}
	return b
}

// How two boards of one maker differ: places and strengths of resonances, as shares. Both
// assumed.
const (
	boardApart  = 0.05
	boardUneven = 0.4
)

// A ringing is what is the same for all notes of a key: the strands of its partials,
// and what the board makes of each.
type ringing struct {
	board   *body
	strands []strand
	partial []int          // of each strand, from 0
	heard   []complex128   // of each strand: what the board makes of its force
	drives  [][]complex128 // by resonance of the board, of each strand: 1/(s - pole)
	against [][]complex128 // the same of the strand's mirror image: 1/(conj(s) - pole)
	weight  []float64      // of each strand: by how much loudness raises its power
	later   []complex128   // of each strand: what it is after energySec
}

// ringingOf is that of the partials that sound, from the first.
func (t timbre) ringingOf(c *Course) *ringing {
	r := &ringing{board: t.body()}
	for n := 1; c.PartialHz(n) < heardHz(t.rate); n++ {
		for _, st := range c.strands(n, t.dry) {
			r.strands, r.partial = append(r.strands, st), append(r.partial, n-1)
			r.heard = append(r.heard, r.board.response(st.s))
			r.weight = append(r.weight, loudness.Weight(imag(st.s)/(2*math.Pi)))
			r.later = append(r.later, cmplx.Exp(st.s*energySec))
		}
	}
	for _, res := range r.board.board {
		drives, against := make([]complex128, len(r.strands)), make([]complex128, len(r.strands))
		for k, st := range r.strands {
			drives[k], against[k] = 1/(st.s-res.pole), 1/(cmplx.Conj(st.s)-res.pole)
		}
		r.drives, r.against = append(r.drives, drives), append(r.against, against)
	}
	return r
}

// afterBlow is the force on the bridge from the moment the blow is over.
func (r *ringing) afterBlow(b *Blow, gain float64) []damped {
	force := make([]damped, len(r.strands))
	for k, st := range r.strands {
		i := r.partial[k]
		z := complex(b.bank.re[i], b.bank.im[i])
		// atBridge * Im(z) = Re(-i atBridge z)
		force[k] = damped{st.s, complex(0, -b.bank.atBridge[i]*gain) * z * st.share}
	}
	return force
}

// rest drives the board with the force on the bridge, frame by frame during the
// blow, and returns what of the board's ring is its own afterwards: its state
// then less what the strings' further force accounts for. Into head goes all that
// is heard during the blow, force and board.
func (r *ringing) rest(bridge []float64, force []damped, rate int, head []float64) []damped {
	start := len(bridge) - len(head)
	copy(head, bridge[start:])
	dt := complex(1/float64(rate), 0)
	began := 0.0 // the force when the blow is over
	for _, f := range force {
		began += real(f.c)
	}
	var out []damped
	for j, res := range r.board.board {
		pdt := res.pole * dt
		grow := cmplx.Exp(pdt)
		g1 := (grow - 1 - pdt) / (res.pole * pdt)
		g0 := (grow-1)/res.pole - g1
		var z complex128
		var last float64
		for i := 0; i <= len(bridge); i++ {
			next := 0.0
			if i < len(bridge) {
				next = bridge[i]
			} else {
				next = began
			}
			z = grow*z + g0*complex(last, 0) + g1*complex(next, 0)
			last = next
			if i >= start && i < len(bridge) {
				head[i-start] += real(res.gain * z)
			}
		}
		for k, f := range force {
			z -= (f.c*r.drives[j][k] + cmplx.Conj(f.c)*r.against[j][k]) / 2
		}
		out = append(out, damped{res.pole, res.gain * z})
	}
	return out
}

// stopOf is the knock of key and case and the ring of the metal, at once with
// the blow.
func (t timbre) stopOf(c *Course, b *body, speed float64) (knock, tick []damped) {
	h := heads()[t.hammers]
	momentum := ((c.FeltMassKg*h.mass+h.tipKg)*float64(c.Strings) + keyKg) * speed
	for _, r := range b.knock {
		knock = append(knock, damped{r.pole, r.gain * complex(knockPerMomentum*momentum*noteGain, 0)})
	}
	if h.tickDB == 0 {
		return knock, nil
	}
	// The harder the blow, the more of it goes into the metal (assumed).
	loud := math.Pow(10, h.tickDB/20) * 2 * c.impedance() * speed * (speed / tickSpeed) * noteGain * float64(c.Strings)
	for _, r := range b.tick {
		tick = append(tick, damped{r.pole, r.gain * complex(loud, 0)})
	}
	return knock, tick
}

// Waves along the strings of the bass, one to three half waves long, at the speed of sound in the core
// that drags its winding: sqrt(E A/mu)/2L (H. A. Conklin, Five Lectures on the Acoustics of
// the Piano, Royal Swedish Academy of Music 1990: 12 to 20 times the first partial). They go
// with the square of the blow (Etchenique, Collin, Moore, JASA 137 (2015) 1766). How loud and how
// long is assumed.
const (
	lengthwiseTo     = 60  // key
	lengthwiseDB     = -36 // of the first, below the strings, at a hammer speed of lengthwiseSpeed
	lengthwiseSpeed  = 6.0
	lengthwiseT60Sec = 0.35
)

// lengthwiseHz is the first wave along the string.
func (c *Course) lengthwiseHz() float64 {
	core := math.Pi * c.CoreM * c.CoreM / 4
	return math.Sqrt(steelYoung*core/c.KgPerM) / (2 * c.LengthM)
}

// addLengthwise adds them to what rings; they begin with the blow, from nothing.
func (sp *spectrum) addLengthwise(c *Course, speed float64, rate int) {
	if c.Key > lengthwiseTo {
		return
	}
	loud := sp.peak * math.Pow(10, lengthwiseDB/20.0) * speed / lengthwiseSpeed
	for n := 1; n <= 3; n++ {
		hz := c.lengthwiseHz() * float64(n)
		s := complex(-3*math.Ln10/lengthwiseT60Sec*float64(n), 2*math.Pi*hz)
		d := damped{s, complex(0, -loud/float64(n))}
		sp.strings = append(sp.strings, d)
		for i := range sp.head {
			sp.head[i] += real(d.c * cmplx.Exp(s*complex(float64(i)/float64(rate), 0)))
		}
	}
}

// tickSpeed is the speed of the hammer, m/s, at which the metal rings as hammers.txt says.
const tickSpeed = 2.4

// bodyBefore is what counts as the board's own ring during the n frames of the
// blow: it swells to what is there at the end. The strings' part is the rest, so
// that only how a damper could divide the two in the first milliseconds depends
// on this, and no damper is that quick.
func (t timbre) bodyBefore(after []damped, n int) []float64 {
	out := make([]float64, n)
	for _, d := range after {
		turn := cmplx.Exp(complex(0, imag(d.s)/float64(t.rate)))
		z := d.c * cmplx.Exp(complex(0, -imag(d.s)*float64(n)/float64(t.rate)))
		for i := range out {
			out[i] += real(z)
			z *= turn
		}
	}
	for i := range out {
		x := float64(i) / float64(n)
		out[i] *= x * x * (3 - 2*x)
	}
	return out
}
