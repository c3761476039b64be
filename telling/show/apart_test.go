package show_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/telling/show"
)

// pieceOf is two voices of one unit each, the second one in a ratio to the first.
func pieceOf(ratio string) string {
	return `
tempo = 60
voice "low" {
  talea = "3 1 (2) 2"
  color = "C3 D3"
}
voice "high" {
  speed = "` + ratio + `"
  talea = "2 1 1"
  color = "G4 A4"
}
show { order = ["interval", "hall"] }
`
}

func stepIn(t *testing.T, text, name string) *show.Step {
	t.Helper()
	for _, s := range lectureOf(t, jobOf(t, "apart", text), show.Options{}).Steps {
		if s.Name == name {
			return s
		}
	}
	return nil
}

// TestInterval: which interval a ratio is. The sizes in cents are those of A. J. Ellis's
// table in H. Helmholtz, On the Sensations of Tone (1885), Appendix XX: the fifth 3 : 2
// has 702, the major third 5 : 4 386, 7 : 4 969; sqrt(2) is half an octave.
func TestInterval(t *testing.T) {
	for _, c := range []struct{ ratio, want string }{
		{"3/2", "a fifth, 2 cents wider than on the piano"},
		{"2/3", "a fifth, 2 cents wider than on the piano"},
		{"sqrt(2)", "exactly a tritone"},
		{"2", "exactly an octave"},
		{"5/4", "a major third, 14 cents narrower than on the piano"},
		{"7/4", "between a major sixth and a minor seventh"},
		{"3", "an octave and a fifth, 2 cents wider than on the piano"},
	} {
		s := stepIn(t, pieceOf(c.ratio), "interval")
		if s == nil || !strings.HasSuffix(s.Say[0], " In slow motion everything is lower, and the interval stays.") ||
			!strings.Contains(s.Say[0], "What is heard: "+c.want+".") {
			t.Errorf("%s: %+v, want %q", c.ratio, s, c.want)
		}
	}
	for _, ratio := range []string{"1", "5"} {
		if s := stepIn(t, pieceOf(ratio), "interval"); s != nil {
			t.Errorf("%s makes an interval: %v", ratio, s.Say)
		}
	}
}

// TestPulses: the two voices have their ratio at every time, two a second at first, 220 in
// the middle, and the way back is the way there.
func TestPulses(t *testing.T) {
	s := stepIn(t, pieceOf("3/2"), "interval")
	at := map[int32][]float64{}
	for _, e := range s.Events() {
		at[e.Voice] = append(at[e.Voice], e.StartSec)
	}
	slow, fast := at[0], at[1]
	if got := len(fast) - len(slow)*3/2; got < -1 || got > 1 {
		t.Errorf("%d fast pulses, %d slow ones", len(fast), len(slow))
	}
	for n, sec := range slow {
		if n%2 == 0 && math.Abs(fast[n/2*3]-sec) > 1e-6 {
			t.Fatalf("pulse %d of the slow one at %.6f, of the fast one at %.6f", n, sec, fast[n/2*3])
		}
	}
	rate := func(from float64) (n float64) {
		for _, sec := range slow {
			if sec >= from && sec < from+1 {
				n++
			}
		}
		return n
	}
	for _, c := range []struct{ from, want float64 }{{0, 2}, {11.5, 220}, {s.ToSec - 1, 2}} {
		if got := rate(c.from); math.Abs(got-c.want) > 1 {
			t.Errorf("%v pulses in the second from %v, want %v", got, c.from, c.want)
		}
	}
}

// TestHall. Worked by hand: of 3 1 (2) 2 the strokes begin at 0, 3 and 6 of 8 units; the
// least between two of them is 2 units, 2/3 s. The middle of 8 units is after 3 and 1: the
// right half is 4 units late. Four beats of 2 units, 0.6 s at least, count in.
func TestHall(t *testing.T) {
	s := stepIn(t, pieceOf("3/2"), "hall")
	const unit = 1.0 / 3
	var want [3][]float64
	for i := range 4 {
		want[0] = append(want[0], float64(2*i)*unit)
	}
	for _, at := range []float64{0, 3, 6, 8, 11, 14} {
		want[1] = append(want[1], (8+at)*unit)
		want[2] = append(want[2], (8+at+4)*unit)
	}
	got := map[int16][]float64{}
	for _, e := range s.Events() {
		got[e.Key] = append(got[e.Key], e.StartSec)
	}
	for i, key := range []int16{96, 48, 72} {
		if len(got[key]) != len(want[i]) {
			t.Fatalf("key %d is struck at %v, want %v", key, got[key], want[i])
		}
		for k := range want[i] {
			if math.Abs(got[key][k]-want[i][k]) > 1e-9 {
				t.Errorf("key %d is struck at %v, want %v", key, got[key], want[i])
			}
		}
	}
	if !strings.Contains(s.Text[0], "4 units later") {
		t.Errorf("said: %s", s.Text[0])
	}
	if s := stepIn(t, strings.Replace(pieceOf("3/2"), "3 1 (2) 2", "2 2 2", 1), "hall"); s != nil {
		t.Error("the hall claps what is even")
	}
}

// TestPulsesAreTones: in the middle of the step the page sounds 220 Hz and 330 Hz, by
// Fourier's sum over a second, and hardly anything between; in slow motion an octave lower.
func TestPulsesAreTones(t *testing.T) {
	p := browser(t)
	p.open(page(t, lectureOf(t, jobOf(t, "apart", pieceOf("3/2")), show.Options{})), 1280, 720)
	for _, c := range []struct {
		slow float64
		hz   [3]float64 // of the slow voice, of the fast one, between
	}{{1, [3]float64{220, 330, 270}}, {0.5, [3]float64{110, 165, 135}}} {
		got := value[[3]float64](p, fmt.Sprintf(`(async () => {
			rollwright.setSlow(%v);
			const sound = (await rollwright.rendered(1, 10.5e6, 1.5)).getChannelData(0).subarray(12000, 60000);
			return %s.map(hz => {
				let a = 0, b = 0;
				sound.forEach((x, i) => { a += x * Math.cos(2 * Math.PI * hz * i / 48000); b += x * Math.sin(2 * Math.PI * hz * i / 48000); });
				return Math.hypot(a, b) / sound.length;
			});
		})()`, c.slow, strings.ReplaceAll(fmt.Sprint(c.hz), " ", ", ")))
		if got[0] < 20*got[2] || got[1] < 20*got[2] {
			t.Errorf("at %v of the speed: %v at %v Hz", c.slow, got, c.hz)
		}
	}
}
