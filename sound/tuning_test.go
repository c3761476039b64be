package sound

import (
	"math"
	"strings"
	"testing"

	"rollwright/music/event"
)

// Four cents by hand: with one B of 4e-4, n-th partials 600 log2(1 + B n^2) sharp, an
// octave 2:1 is 1.038 cents wide, 4:2 4.138, 6:3 9.265, 8:4 16.359.
func TestOctaveStretch(t *testing.T) {
	for a, want := range map[float64]float64{2: 1.038, 4: 4.138, 6: 9.265, 8: 16.359} {
		if got := OctaveStretch(4e-4, 4e-4, a); math.Abs(got-want) > 0.001 {
			t.Errorf("%g:%g: %.3f cents, wanted %.3f", a, a/2, got, want)
		}
	}
}

// The curve of stretch lies where published ones do. O. L. Railsback, JASA 9 (1938) 274
// (read off, from memory): A0 -30 (-20 to -40), C6 5, C7 12, C8 30. Eight computed tunings
// of pianos from console to 7 feet grand have C8 19 to 50 cents up
// (moypiano.com/ptg/pianotech.php/1998-August/035200.html) and C6 1.4 to 6.2. The bass of
// ours is that of a large instrument, whose strings ask for less.
func TestStretch(t *testing.T) {
	var tuning Tuning
	for _, c := range []struct {
		key       int
		low, high float64
	}{{21, -40, -10}, {36, -12, -2}, {48, -6, -1}, {69, 0, 0}, {84, 1.4, 6.2}, {96, 7, 17}, {108, 19.4, 49.7}} {
		if got := tuning.Cents(c.key); got < c.low || got > c.high {
			t.Errorf("key %d: %.2f cents, wanted %g to %g", c.key, got, c.low, c.high)
		}
	}
}

// Octaves above C6 do not beat: the second partial of the lower string is the first of the
// upper one. In equal temperament C7 with C8 beats at 8*2093*(2^(c/1200)-1) and more: over
// 40 Hz.
func TestOctavesMeet(t *testing.T) {
	beat := func(tuning Tuning, low int) float64 {
		a, _ := tuning.Course(low)
		b, _ := tuning.Course(low + 12)
		return math.Abs(a.PartialHz(2) - b.PartialHz(1))
	}
	for low := 84; low <= 96; low++ {
		if got := beat(Tuning{}, low); got > 0.05 {
			t.Errorf("octave on key %d beats at %.2f Hz", low, got)
		}
	}
	equal, err := ParseTuning(Equal, 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := beat(equal, 96); got < 40 || got > 60 {
		t.Errorf("C7 with C8 beats at %.1f Hz in equal temperament", got)
	}
}

// Where the pure intervals of temperaments lie: in quarter-comma meantone the major third
// C-E is 386.31 cents, wide fifths G#-Eb 737.64; Werckmeister III has a pure A-E, 701.955.
// The rest of the table was checked against hpschd.nu/tech/tun/cents.html by hand.
func TestTemperaments(t *testing.T) {
	for _, c := range []struct {
		name      string
		low, high int // pitch classes
		want      float64
	}{{"quarter-comma", 0, 4, 386.31}, {"quarter-comma", 8, 15, 737.64}, {"werckmeister-3", 9, 16, 701.955},
		{"vallotti", 5, 12, 698.045}, {"kirnberger-3", 0, 4, 386.31}, {"kirnberger-3", 4, 11, 701.955}} {
		x := temperaments[c.name]
		got := float64(c.high-c.low)*100 + x[c.high%12] - x[c.low]
		if math.Abs(got-c.want) > 0.03 {
			t.Errorf("%s: from %d to %d %.2f cents, wanted %.2f", c.name, c.low, c.high, got, c.want)
		}
	}
	for _, name := range TuningNames() {
		tuning, err := ParseTuning(name, 442)
		if err != nil {
			t.Fatal(err)
		}
		if got := tuning.FirstHz(69); math.Abs(got-442) > 1e-9 {
			t.Errorf("%s: A4 at %v Hz", name, got)
		}
	}
}

func TestReadTuning(t *testing.T) {
	got, err := ReadTuning(strings.NewReader("# by ear\nkey,cents\n69, -3.5\n21,12\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got.Cents(69) != -3.5 || got.Cents(21) != 12 || got.Cents(108) != (&Tuning{}).Cents(108) {
		t.Errorf("cents %v, %v, %v", got.Cents(69), got.Cents(21), got.Cents(108))
	}
	for text, want := range map[string]string{
		"":                              "begins with the line key,cents",
		"note,cents\n69,1\n":            "begins with the line key,cents",
		"key,cents\n":                   "has no key",
		"key,cents\n20,1\n":             `line 2: key "20"`,
		"key,cents\n69,1\n69,2\n":       "line 3: key 69 stands there twice",
		"key,cents\n69,sharp\n":         `line 2: "sharp" cents`,
		"key,cents\n69,301\n":           `line 2: "301" cents`,
		"key,cents\n69,NaN\n":           `line 2: "NaN" cents`,
		"key,cents\n69\n":               "line 2",
		"key,cents\n69,1,2\n":           "line 2",
		"key,cents\n\n\n69,1\n70.5,1\n": `line 5: key "70.5"`,
	} {
		if _, err := ReadTuning(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, wanted %s", text, err, want)
		}
	}
	if _, err := ParseTuning("just", 0); err == nil || !strings.Contains(err.Error(), "there are stretched, equal") {
		t.Errorf("%v", err)
	}
	if _, err := ParseTuning("", 300); err == nil {
		t.Error("A4 at 300 Hz")
	}
}

// A code reads as the tuning it was written of.
func TestTuningCode(t *testing.T) {
	for _, name := range TuningNames() {
		for _, a4 := range []float64{0, 415.3} {
			tuning, err := ParseTuning(name, a4)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := TuningOfCode(tuning.Code()); err != nil || got != tuning {
				t.Errorf("%s at %v: %v", name, a4, err)
			}
		}
	}
	for _, code := range []string{"x", "440_1", "NaN", "300", "440" + strings.Repeat("_", keys)} {
		if _, err := TuningOfCode(code); err == nil {
			t.Errorf("%q is read", code)
		}
	}
}

func FuzzReadTuning(f *testing.F) {
	f.Add("key,cents\n69,1\n")
	f.Add("key,cents\n21,-300\n108,300\n")
	f.Fuzz(func(t *testing.T, text string) {
		tuning, err := ReadTuning(strings.NewReader(text))
		if err != nil {
			return
		}
		for key := LowestKey; key <= HighestKey; key++ {
			if c := tuning.Cents(key); !(math.Abs(c) <= mostCents) {
				t.Errorf("key %d: %v cents", key, c)
			}
		}
	})
}

// Two pianos with the same hammers are not one: their keys lie up to 1.2 cents apart, and
// their notes are other samples.
func TestCopies(t *testing.T) {
	first, second := timbre{rate: testRate}, timbre{rate: testRate, copy: 1}
	apart := 0.0
	for key := LowestKey; key <= HighestKey; key++ {
		off := math.Abs(cents(second.course(key).FirstHz, first.course(key).FirstHz))
		if off > 1.2001 {
			t.Errorf("key %d: %.2f cents apart", key, off)
		}
		apart += off / keys
	}
	if apart < 0.3 {
		t.Errorf("%.2f cents apart in the mean", apart)
	}
	o := plain(Felt)
	o.Mono = true
	a, _, _ := played(t, []event.Event{note1(0, 2, 60, 80)}, o)
	o.Pianos[0].Copy = 1
	b, _, _ := played(t, []event.Event{note1(0, 2, 60, 80)}, o)
	dot, aa, bb := 0.0, 0.0, 0.0
	for i := range min(len(a), len(b)) {
		x, y := float64(a[i]), float64(b[i])
		dot, aa, bb = dot+x*y, aa+x*x, bb+y*y
	}
	if same := dot / math.Sqrt(aa*bb); same > 0.99 {
		t.Errorf("two pianos are alike to %.3f", same)
	}
}

// The outer strings of a unison lie 1 to 2 cents apart, as R. E. Kirk found that listeners
// like and tuners leave them (JASA 31 (1959) 1644).
func TestUnisonsApart(t *testing.T) {
	for key := LowestKey; key <= HighestKey; key++ {
		c := courseOf(t, key)
		at := unisonCents[c.Strings]
		apart := (at[len(at)-1] - at[0]) * c.mistuning()
		if c.Strings > 1 && (apart < 0.9 || apart > 2) {
			t.Errorf("key %d: %.2f cents apart", key, apart)
		}
	}
}
