package sound

import (
	_ "embed"
	"fmt"
	"math"
	"sync"
)

// The compass of the strings: A0 to C8 (common practice, no source).
const (
	LowestKey  = 21
	HighestKey = 108
)

// Steel of piano wire. E/rho is that of R. W. Young, JASA 24 (1952) 267
// (25.5e10 cm^2/s^2); the density is the usual one of carbon steel.
const (
	steelDensity = 7850.0                // kg/m^3
	steelYoung   = 25.5e6 * steelDensity // Pa: 2.0e11
	concertPitch = 440.0                 // Hz, A4, ISO 16
)

//go:embed scale.txt
var scaleText string

// A Course is what one key sounds: a unison of one to three strings alike but
// for a slight mistuning, their hammer and their damper. Masses, tensions and
// forces are those of one string and the hammer's share of it.
type Course struct {
	Key     int
	Strings int // in the unison, 1 to 3
	Wound   bool

	FirstHz   float64 // first partial, where the tuning has it
	StringHz  float64 // f0 of the formula, so that the first partial is FirstHz
	Stiffness float64 // B of f_n = n f0 sqrt(1 + B n^2)
	LengthM   float64
	CoreM     float64 // diameter of the steel
	KgPerM    float64
	TensionN  float64
	Strike    float64 // striking point, share of the length

	LossPerSec    float64 // b1: the amplitude of a partial falls at b1 + b3 w^2
	LossSec       float64 // b3, seconds
	BridgePerSec  float64 // lost to the bridge by one string alone
	DamperT60Sec  float64 // in which it takes 60 dB; 0: no damper
	DamperLowSec  float64 // the same of low partials
	KeptShare     float64 // of what rings when the hammer strikes again, the share that goes on
	HammerSec     float64 // in which it takes the rest
	FeltMassKg    float64 // of the hammer, a string
	FeltStiffness float64 // K of F = K x^p, N/m^p
	FeltExponent  float64 // p
	VoicingDB     float64

	copy int // which of several instruments alike
}

// own is a number of 0 to 1 that each key of each instrument has for itself, one for
// every use: multiples of the golden ratio, so that neighbours differ.
func (c *Course) own(use int) float64 {
	_, frac := math.Modf((float64(c.Key) + 0.37*float64(use) + 0.71*float64(c.copy)) * (math.Sqrt(5) - 1) / 2)
	return frac
}

// EqualTemperedHz is the frequency of a key in equal temperament on A4 = 440
// Hz (ISO 16), without stretch.
func EqualTemperedHz(key int) float64 {
	return concertPitch * math.Exp2(float64(key-69)/12)
}

// PartialHz is the n-th partial, n from 1: n f0 sqrt(1 + B n^2) (H. Fletcher,
// JASA 36 (1964) 203).
func (c *Course) PartialHz(n int) float64 {
	x := float64(n)
	return x * c.StringHz * math.Sqrt(1+c.Stiffness*x*x)
}

// lossAt is the decay rate, per second, of a partial at hz inside the string
// and in the air (A. Chaigne and A. Askenfelt, JASA 95 (1994) 1112).
func (c *Course) lossAt(hz float64) float64 {
	w := 2 * math.Pi * hz
	return c.LossPerSec + c.LossSec*w*w
}

// impedance is the wave impedance of the string, sqrt(T mu), kg/s.
func (c *Course) impedance() float64 { return math.Sqrt(c.TensionN * c.KgPerM) }

// CourseOf is the course of a key in the stretched tuning on A4 = 440 Hz. Keys without
// strings are an error.
func CourseOf(key int) (Course, error) { return Tuning{}.Course(key) }

// Course is the course of a key, tuned. Keys without strings are an error.
func (t Tuning) Course(key int) (Course, error) {
	if key < LowestKey || key > HighestKey {
		return Course{}, fmt.Errorf("sound: key %d has no strings; the instrument has keys %d to %d", key, LowestKey,
			HighestKey)
	}
	c := scale()[key-LowestKey]
	if t != (Tuning{}) {
		c.FirstHz = t.FirstHz(key)
		c.tune()
	}
	return c, nil
}

// designed are the strings of the embedded scale design, a Course a key from LowestKey,
// in equal temperament. That it reads without error is tested, so an error here is a bug
// of our own.
func designed() []Course {
	courses, err := readScale(scaleText)
	if err != nil {
		panic(err)
	}
	return courses
}

// scale are the strings in the stretched tuning.
var scale = sync.OnceValue(func() []Course {
	courses := designed()
	for i := range courses {
		courses[i].FirstHz = EqualTemperedHz(LowestKey+i) * math.Exp2(stretch()[i]/1200)
		courses[i].tune()
	}
	return courses
})

func readScale(text string) ([]Course, error) {
	rows, err := parseTable("scale.txt", text)
	if err != nil {
		return nil, err
	}
	t := map[string][]row{}
	for word, n := range map[string]int{"wound": 5, "plain": 4, "strike": 2, "loss": 3, "felt": 4, "damper": 3, "kept": 3,
		"voicing": 2, "octave": 2} {
		if t[word], err = tableRows(rows, word, n); err != nil {
			return nil, err
		}
	}
	var courses []Course
	for key := LowestKey; key <= HighestKey; key++ {
		courses = append(courses, readCourse(key, t))
	}
	return courses, nil
}

// readCourse interpolates the course of a key from the tables and computes
// what follows: stiffness, tension, what goes into the bridge.
func readCourse(key int, t map[string][]row) Course {
	c := Course{Key: key, FirstHz: EqualTemperedHz(key)}
	if wound := t["wound"]; float64(key) <= wound[len(wound)-1].num[0] {
		c.Wound = true
		c.Strings = int(stepped(wound, key, 1))
		c.LengthM = geometric(wound, key, 2) / 1e3
		c.CoreM = geometric(wound, key, 3) / 1e3
		c.KgPerM = geometric(wound, key, 4) / 1e3
	} else {
		c.Strings = int(stepped(t["plain"], key, 1))
		c.LengthM = geometric(t["plain"], key, 2) / 1e3
		c.CoreM = geometric(t["plain"], key, 3) / 1e3
		c.KgPerM = steelDensity * math.Pi * c.CoreM * c.CoreM / 4
	}
	c.Strike = linear(t["strike"], key, 1)
	c.LossPerSec = geometric(t["loss"], key, 1)
	c.LossSec = geometric(t["loss"], key, 2)
	c.FeltMassKg = geometric(t["felt"], key, 1) / 1e3
	c.FeltStiffness = geometric(t["felt"], key, 2)
	c.FeltExponent = linear(t["felt"], key, 3)
	c.KeptShare, c.HammerSec = linear(t["kept"], key, 1), geometric(t["kept"], key, 2)/1e3
	c.VoicingDB = linear(t["voicing"], key, 1)
	if damper := t["damper"]; float64(key) <= damper[len(damper)-1].num[0] {
		c.DamperT60Sec, c.DamperLowSec = geometric(damper, key, 1), geometric(damper, key, 2)
	}
	c.tune()
	return c
}

// tune finds f0, T and B that belong together: B depends on T, T on f0, and f0
// on B through the first partial. Ten rounds settle to the last bit. What the string
// loses to the bridge follows.
func (c *Course) tune() {
	for range 10 {
		c.StringHz = c.FirstHz / math.Sqrt(1+c.Stiffness)
		c.TensionN = 4 * c.LengthM * c.LengthM * c.KgPerM * c.StringHz * c.StringHz
		d2 := c.CoreM * c.CoreM
		c.Stiffness = math.Pow(math.Pi, 3) * steelYoung * d2 * d2 / (64 * c.TensionN * c.LengthM * c.LengthM)
	}
	c.BridgePerSec = 2 * c.StringHz * c.impedance() * bridgeMobility()
}

// span finds the anchors around a key and how far between them it lies, 0 to
// 1. Beyond the first or last anchor it is that anchor.
func span(rows []row, key int) (a, b row, x float64) {
	k := float64(key)
	a, b = rows[0], rows[0]
	for _, r := range rows {
		if r.num[0] <= k {
			a, b = r, r
			continue
		}
		if a.num[0] <= k {
			return a, r, (k - a.num[0]) / (r.num[0] - a.num[0])
		}
		break
	}
	return a, b, 0
}

func linear(rows []row, key, col int) float64 {
	a, b, x := span(rows, key)
	return a.num[col] + x*(b.num[col]-a.num[col])
}

func geometric(rows []row, key, col int) float64 {
	a, b, x := span(rows, key)
	return a.num[col] * math.Pow(b.num[col]/a.num[col], x)
}

func stepped(rows []row, key, col int) float64 {
	a, _, _ := span(rows, key)
	return a.num[col]
}
