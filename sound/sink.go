package sound

import (
	"math"
	"math/cmplx"
)

// How far a note has sunk when a held key adds nothing that anyone hears: 60 dB, by
// which reverberation times are measured (ISO 3382-1), at the level of mf.
const (
	sinkDB    = 60
	sinkLevel = 80
)

// SinkSec is how many seconds after its beginning a held note of a key has sunk by
// 60 dB for good, as it sounds with its pedal up and with none of its ring taken away (Dry 0): the energy of its
// strings in every fifth of a second from then on lies so far below that of the
// first. It is rounded up by at most a fiftieth of itself and 0.02 s. A key without
// strings is an error.
func SinkSec(key int, h Hammers) (float64, error) {
	c, err := CourseOf(key)
	if err != nil {
		return 0, err
	}
	t := timbre{hammers: h, rate: DefaultOptions().SampleRate}
	r := t.ringingOf(&c)
	sp := t.spectrumOf(&c, r, sinkLevel)
	least := r.energy(sp) * math.Pow(10, -sinkDB/10.0)
	sunk, sec := 0.0, 0.0
	for r.most(sp, sec) > least {
		next := sec*1.02 + 0.02
		if r.energy(r.after(sp, sec)) > least {
			sunk = next
		}
		sec = next
	}
	return sunk, nil
}

// after is what of the strings of a note rings on so much later.
func (r *ringing) after(sp *spectrum, sec float64) *spectrum {
	out := &spectrum{rate: sp.rate, strings: append([]damped(nil), sp.strings[:len(r.strands)]...)}
	later(out.strings, sec)
	return out
}

// mostWeight is a bound of how much loudness raises a partial.
const mostWeight = 2.6

// most is a bound of the energy at a time and after: all strands of a partial in
// phase.
func (r *ringing) most(sp *spectrum, sec float64) float64 {
	sum := 0.0
	for i := 0; i < len(r.strands); {
		amplitude, partial := 0.0, r.partial[i]
		for ; i < len(r.strands) && r.partial[i] == partial; i++ {
			a := sp.strings[i]
			amplitude += cmplx.Abs(a.c) * math.Exp(real(a.s)*sec)
		}
		sum += amplitude * amplitude * energySec / 2 * mostWeight
	}
	return sum
}
