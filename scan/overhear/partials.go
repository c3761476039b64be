package overhear

import (
	"math"

	"rollwright/sound"
)

// lowestHz is the lowest partial that is listened to: below lie the hum of the
// mains and the room's own noise, and telephones hear nothing.
const lowestHz = 90

// mostPartials is how many partials of a key are known, for what they do to other
// keys; fewer are listened to where onsets are sought.
const (
	mostPartials = 24
	noveltyOf    = 6
	onsetOf      = 10
)

// partial is one of a key's.
type partial struct {
	n  int // 1 is the first
	hz float64
}

// partialsOf are the partials of a key that a take can hold, from the lowest:
// n f0 sqrt(1 + B n^2) (H. Fletcher, JASA 36 (1964) 203), f0 and B of package
// sound's strings, tuned by a factor. They end where the rate does.
func partialsOf(key int, tune, rate float64) []partial {
	var out []partial
	course, err := sound.CourseOf(key)
	first := sound.EqualTemperedHz(key)
	for n := 1; len(out) < mostPartials && n <= 60; n++ {
		hz := first * float64(n)
		if err == nil {
			hz = course.PartialHz(n)
		}
		if hz *= tune; hz >= 0.43*rate || hz > highestHz {
			break
		}
		if hz >= lowestHz {
			out = append(out, partial{n, hz})
		}
	}
	return out
}

// highestHz is the highest partial that is listened to: what lies above is weak,
// and the first to go where sound is coded.
const highestHz = 4700

// bank is the partials of every key.
type bank [128][]partial

func newBank(tune, rate float64) *bank {
	var b bank
	for key := range b {
		b[key] = partialsOf(key, tune, rate)
	}
	return &b
}

// cents is a ratio of frequencies for a distance in cents.
func ratioOf(cents float64) float64 { return math.Exp2(cents / 1200) }
