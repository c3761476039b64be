package sound

import (
	"math"
	"strings"
	"testing"
)

func courseOf(t testing.TB, key int) *Course {
	t.Helper()
	c, err := CourseOf(key)
	if err != nil {
		t.Fatal(err)
	}
	return &c
}

func cents(got, want float64) float64 { return 1200 * math.Log2(got/want) }

// ISO 16, A4 = 440 Hz, and equal temperament: the values are those of common
// tables.
func TestEqualTemperament(t *testing.T) {
	for key, want := range map[int]float64{21: 27.5, 33: 55, 36: 65.4064, 57: 220, 60: 261.6256, 69: 440, 96: 2093.0045,
		108: 4186.009} {
		if got := EqualTemperedHz(key); math.Abs(cents(got, want)) > 0.001 {
			t.Errorf("key %d: %.4f Hz, wanted %.4f", key, got, want)
		}
	}
}

// The first partial, not f0, is in tune.
func TestFirstPartialInTune(t *testing.T) {
	for _, c := range scale() {
		if off := cents(c.PartialHz(1), (&Tuning{}).FirstHz(c.Key)); math.Abs(off) > 1e-6 {
			t.Errorf("key %d: first partial %.7f cents off", c.Key, off)
		}
	}
}

// R. W. Young, JASA 24 (1952) 267: B = 3.466e-4 * 2^((key-60)/8) from C4 up. The
// lengths are interpolated in between, which strays by a few percent.
func TestStiffnessFollowsYoung(t *testing.T) {
	for _, c := range scale()[60-LowestKey:] {
		want := 3.466e-4 * math.Exp2(float64(c.Key-60)/8)
		if ratio := c.Stiffness / want; ratio < 0.93 || ratio > 1.07 {
			t.Errorf("key %d: B %.4g, Young has %.4g", c.Key, c.Stiffness, want)
		}
	}
	// The same: the second partial of C4 is 1.2 cents sharp of the octave. 865.617 *
	// B * n^2 cents above the harmonic, less the first partial's: 3 * 0.3 = 0.9
	// above twice the first, 1.2 above twice f0.
	c := courseOf(t, 60)
	if got := cents(c.PartialHz(2), 2*c.StringHz); math.Abs(got-1.2) > 0.05 {
		t.Errorf("second partial of C4 is %.3f cents sharp, Young has 1.2", got)
	}
}

// A. Chaigne and A. Askenfelt, JASA 95 (1994) 1112 (from memory): B of C2 7.4e-5;
// tension, which has to follow from length, mass and frequency: 4*1.9*0.035*65.4^2
// = 1138 N at C2. C4 670 N and C7 740 N lie within the spread of scales.
func TestTensions(t *testing.T) {
	for key, want := range map[int][2]float64{36: {1138, 0.01}, 60: {670, 0.1}, 96: {740, 0.15}} {
		if got := courseOf(t, key).TensionN; math.Abs(got/want[0]-1) > want[1] {
			t.Errorf("key %d: %.0f N, wanted %.0f", key, got, want[0])
		}
	}
	if got := courseOf(t, 36).Stiffness; math.Abs(got/7.4e-5-1) > 0.01 {
		t.Errorf("B of C2 is %.3g, wanted 7.4e-5", got)
	}
	for _, c := range scale() {
		if c.TensionN < 500 || c.TensionN > 1600 {
			t.Errorf("key %d: tension %.0f N", c.Key, c.TensionN)
		}
		// Steel of piano wire breaks near 2000 N/mm^2 (trade figure, no source).
		if stress := c.TensionN / (math.Pi * c.CoreM * c.CoreM / 4); stress > 1.6e9 {
			t.Errorf("key %d: %.2g N/m^2 in the core", c.Key, stress)
		}
	}
}

func TestNoStrings(t *testing.T) {
	for _, key := range []int{20, 109, -1} {
		if _, err := CourseOf(key); err == nil || !strings.Contains(err.Error(), "21 to 108") {
			t.Errorf("key %d: %v", key, err)
		}
	}
}

func TestDataFilesRead(t *testing.T) {
	if _, err := readScale(scaleText); err != nil {
		t.Error(err)
	}
	if _, err := readBody(boardText); err != nil {
		t.Error(err)
	}
	if _, err := readHeads(hammersText); err != nil {
		t.Error(err)
	}
}

func TestBadTables(t *testing.T) {
	for _, text := range []string{"", "wound 21 1 2", "wound 21 1 2010 1.6 x"} {
		if _, err := readScale(text); err == nil {
			t.Errorf("%q was taken", text)
		}
	}
	if _, err := readHeads("hammer wood 1 2 3 4 5 6 7 8 9 10"); err == nil ||
		!strings.Contains(err.Error(), "felt, metal, tacks") {
		t.Errorf("hammers of wood: %v", err)
	}
}
