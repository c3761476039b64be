package notation

import (
	"math"
	"math/bits"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// Value is a note value: 1/2^Log whole notes, with dots, Actual of them in the
// time of Normal.
type Value struct {
	Log            int // -1 breve, 0 whole, 1 half, 2 quarter ... 8 the 256th
	Dots           int // 0 to 2
	Actual, Normal int // 3 and 2 for a triplet; 1 and 1 for a plain value
}

// Length is the value in whole notes.
func (v Value) Length() exact.Rat {
	num, den := int64(1), int64(1)
	if v.Log < 0 {
		num <<= -v.Log
	} else {
		den <<= v.Log
	}
	num *= int64(2<<v.Dots - 1) // 1, 3, 7 of
	den <<= v.Dots              // 1, 2, 4
	return exact.NewRat(num*int64(v.Normal), den*int64(v.Actual))
}

// Tuplet reports whether the value belongs to a tuplet.
func (v Value) Tuplet() bool { return v.Actual != v.Normal }

const (
	finest     = 8  // 256th notes
	maxActual  = 63 // of a tuplet
	maxTied    = 16 // values that are tied together
	breveParts = 2 << finest
	maxMeasure = 1 << 22 // least common denominator of all values of a part
)

// Split writes a length in whole notes as values to be tied, the longest
// first; false for a length that has no sensible writing: finer than 256th
// notes, a tuplet of more than 63, more than 16 values.
func Split(length exact.Rat) ([]Value, bool) {
	if length.Sign() <= 0 {
		return nil, false
	}
	den := length.Den()
	odd := den >> bits.TrailingZeros64(uint64(den))
	if odd > maxActual {
		return nil, false
	}
	actual, normal := int(odd), 1
	if odd > 1 {
		normal = 1 << (bits.Len64(uint64(odd)) - 1) // the power of two below
	}
	plain, ok := length.Mul(exact.NewRat(int64(actual)<<finest, int64(normal)))
	if !ok || !plain.IsInt() {
		return nil, false
	}
	var out []Value
	for n := plain.Num(); n > 0; {
		if len(out) == maxTied {
			return nil, false
		}
		v, size := largest(n)
		v.Actual, v.Normal = actual, normal
		out = append(out, v)
		n -= size
	}
	return out, true
}

// largest is the longest value, dots included, in n 256th notes.
func largest(n int64) (Value, int64) {
	for log := -1; ; log++ {
		base := int64(breveParts) >> (log + 1)
		for dots := 2; dots >= 0; dots-- {
			if size := 2*base - base>>dots; base>>dots > 0 && size <= n {
				return Value{Log: log, Dots: dots}, size
			}
		}
	}
}

// nearestValue is the value of at most one dot that is nearest to so many whole
// notes, by ratio.
func nearestValue(wholes float64) Value {
	best, error := Value{Log: finest, Actual: 1, Normal: 1}, math.Inf(1)
	for log := -1; log <= finest; log++ {
		for dots := range 2 {
			v := Value{Log: log, Dots: dots, Actual: 1, Normal: 1}
			if e := math.Abs(math.Log(v.Length().Float64() / wholes)); e < error {
				best, error = v, e
			}
		}
	}
	return best
}

// lengths gives items their written lengths.
type lengths struct {
	line    *perform.Line
	voice   *piece.Voice
	lattice perform.Lattice
	step    exact.Rat // of the lattice, in whole notes; 0: none that can be written
	manner  Manner
	measure int64 // least common denominator of the values so far
	known   map[exact.Rat][]Value
}

func newLengths(l *perform.Line, v *piece.Voice) *lengths {
	w := &lengths{line: l, voice: v, measure: 1, known: map[exact.Rat][]Value{}}
	if lattice, ok := l.Lattice(); ok {
		if big, rational := lattice.Step().Rat(); rational {
			if step, fits := exact.FromBig(big); fits {
				if whole, fits := step.Mul(v.Unit); fits {
					w.lattice, w.step = lattice, whole
				}
			}
		}
	}
	if w.step.Sign() > 0 && w.allPerformed() {
		return w
	}
	w.manner, w.measure = AsInTalea, 1
	clear(w.known)
	for _, d := range v.Talea {
		if length, ok := d.Units.Mul(v.Unit); !ok || !w.can(length) {
			w.manner = Nearest
		}
	}
	return w
}

// allPerformed reports whether every item can be written as it is performed.
func (w *lengths) allPerformed() bool {
	seen := map[int64]bool{}
	for n := range w.line.Items {
		steps := w.lattice.Item(n+1) - w.lattice.Item(n)
		if seen[steps] {
			continue
		}
		seen[steps] = true
		if length, ok := w.step.Mul(exact.Int(steps)); !ok || !w.can(length) {
			return false
		}
	}
	return true
}

func (w *lengths) can(length exact.Rat) bool {
	if _, ok := w.known[length]; ok {
		return true
	}
	values, ok := Split(length)
	for _, v := range values {
		den := v.Length().Den()
		if w.measure *= den / gcd(w.measure, den); w.measure > maxMeasure {
			return false
		}
	}
	if ok {
		w.known[length] = values
	}
	return ok
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// at is where item n begins, in whole notes from the start of the voice: of what is written
// as performed. It is false where that does not fit.
func (w *lengths) at(n int) (exact.Rat, bool) { return w.step.Mul(exact.Int(w.lattice.Item(n))) }

// of is the written length of an item with its values.
func (w *lengths) of(it perform.Item) (exact.Rat, []Value) {
	switch w.manner {
	case AsPerformed:
		length, _ := w.step.Mul(exact.Int(w.lattice.Item(it.N+1) - w.lattice.Item(it.N)))
		return length, w.known[length]
	case AsInTalea:
		length, _ := w.voice.Talea[it.TaleaPlace].Units.Mul(w.voice.Unit)
		return length, w.known[length]
	}
	v := nearestValue(it.Units * w.voice.Unit.Float64())
	return v.Length(), []Value{v}
}
