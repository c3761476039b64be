// Command soundfigures computes notes and draws what they are made of: spectra and
// decays of C2, C4 and C7 with each of the three hammers, the blow itself, how long
// it lasts, how stiff the strings are and how even the keys sound. It writes SVG
// files into docs/sound, or into the folder it is given.
package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"rollwright/draw"
	"rollwright/draw/svg"
	"rollwright/music/event"
	"rollwright/sound"
	"rollwright/sound/loudness"
)

const rate = 48000

var (
	hammers = []sound.Hammers{sound.Felt, sound.Metal, sound.Tacks}
	shown   = []struct {
		name string
		key  int
	}{{"C2", 36}, {"C4", 60}, {"C7", 96}}
)

func main() {
	dir := filepath.Join("docs", "sound")
	if len(os.Args) > 1 {
		dir = os.Args[1]
	}
	if err := all(dir); err != nil {
		fmt.Fprintln(os.Stderr, "soundfigures:", err)
		os.Exit(1)
	}
}

func all(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	figures := map[string]func() (*chart, error){
		"blow": blow, "contact": contact, "stiffness": stiffness, "evenness": evenness, "levels": levels,
	}
	for _, s := range shown {
		figures["spectrum-"+s.name] = func() (*chart, error) { return spectrum(s.name, s.key) }
		figures["decay-"+s.name] = func() (*chart, error) { return decay(s.name, s.key) }
	}
	for name, make := range figures {
		c, err := make()
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		var b bytes.Buffer
		if err := svg.Encode(&b, c.drawing(), &svg.Options{Text: svg.Named}); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+".svg"), b.Bytes(), 0o666); err != nil {
			return err
		}
	}
	return nil
}

// note is the sound of one stroke, held for a time, at its own loudness.
func note(key, level int, h sound.Hammers, dry, holdSec float64) ([]float64, error) {
	e := event.Event{EndSec: holdSec, Note: 1, Part: 1, Key: int16(key), Level: int16(level)}
	gain := 0.0
	s, err := sound.Mix(context.Background(), slices.Values([]event.Event{e}), sound.Options{
		SampleRate: rate, Mono: true, GainDB: &gain, Pianos: []sound.Piano{{Hammers: h, Dry: dry}}})
	if err != nil {
		return nil, err
	}
	defer s.Close()
	var x []float64
	err = s.Play(context.Background(), func(left, _ []float32) error {
		for _, v := range left {
			x = append(x, float64(v))
		}
		return nil
	})
	return x, err
}

// spectrum is the level of each partial, from the first third of a second of a note
// at level 80, against its frequency.
func spectrum(name string, key int) (*chart, error) {
	c := &chart{
		title: name + ": spectrum of the first third of a second, level 80",
		xName: "frequency, Hz", yName: "level, dB below the strongest of felt",
		xLog: true, x: [2]float64{50, 20000}, y: [2]float64{-80, 10},
		xTicks: []float64{50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000}, yTicks: []float64{-80, -60, -40, -20, 0},
		caption: "Harder hammers raise the high partials. Peaks of the spectrum, 1/24 octave wide.",
	}
	reference := 0.0
	for i, h := range hammers {
		x, err := note(key, 80, h, sound.DefaultDry, 2)
		if err != nil {
			return nil, err
		}
		line := envelope(x)
		if i == 0 {
			for _, p := range line {
				reference = max(reference, p.Y)
			}
		}
		for j := range line {
			line[j].Y = 10 * math.Log10(line[j].Y/reference+1e-12)
		}
		c.add(h.String(), line)
	}
	return c, nil
}

// envelope is the strongest power in every 24th of an octave.
func envelope(x []float64) []draw.Point {
	const n = 1 << 14
	y := make([]float64, 2*n)
	for i := range min(n, len(x)) {
		y[i] = x[i] * (0.5 + 0.5*math.Cos(math.Pi*float64(i)/n))
	}
	var line []draw.Point
	for i, z := range fourier.NewFFT(len(y)).Coefficients(nil, y) {
		hz := float64(i) * rate / float64(len(y))
		if hz < 50 || hz > 20000 {
			continue
		}
		p := real(z)*real(z) + imag(z)*imag(z)
		band := math.Exp2(math.Round(math.Log2(hz)*24) / 24)
		if last := len(line) - 1; last >= 0 && line[last].X == band {
			line[last].Y = max(line[last].Y, p)
			continue
		}
		line = append(line, draw.Point{X: band, Y: p})
	}
	return line
}

// decay is the level over time of a note held for as long as it rings, for each
// hammer at the usual dryness and for felt with all its ring and with none.
func decay(name string, key int) (*chart, error) {
	seconds := map[int]float64{36: 8, 60: 6, 96: 2}[key]
	c := &chart{
		title: name + ": decay at level 80, no damper",
		xName: "time, s", yName: "level, dB below the beginning",
		x: [2]float64{0, seconds}, y: [2]float64{-80, 5}, yTicks: []float64{-80, -60, -40, -20, 0},
		caption: "Two stages where strings share a bridge. At dry = 1 all rings an eighth as long as at dry = 0.",
	}
	for i := range 5 {
		c.xTicks = append(c.xTicks, seconds*float64(i)/4)
	}
	type curve struct {
		name string
		h    sound.Hammers
		dry  float64
	}
	curves := []curve{{"felt, dry 0", sound.Felt, 0}, {"felt, dry 0.5", sound.Felt, 0.5}, {"felt, dry 1", sound.Felt, 1},
		{"metal, dry 0.5", sound.Metal, 0.5}, {"tacks, dry 0.5", sound.Tacks, 0.5}}
	for _, k := range curves {
		x, err := note(key, 80, k.h, k.dry, seconds)
		if err != nil {
			return nil, err
		}
		c.add(k.name, levelOver(x, seconds))
	}
	return c, nil
}

// levelOver is the level of 40 ms at a time.
func levelOver(x []float64, seconds float64) []draw.Point {
	const window = rate / 25
	var line []draw.Point
	first := 0.0
	for at := 0; at+window <= len(x) && float64(at) < seconds*rate; at += window / 2 {
		sum := 0.0
		for _, v := range x[at : at+window] {
			sum += v * v
		}
		if first == 0 {
			first = sum
		}
		line = append(line, draw.Point{X: float64(at) / rate, Y: 10 * math.Log10(sum/first+1e-12)})
	}
	return line
}

// blow is the force of each hammer on one string of C4.
func blow() (*chart, error) {
	course, err := sound.CourseOf(60)
	if err != nil {
		return nil, err
	}
	c := &chart{
		title: "C4: force of the hammer on a string, level 80",
		xName: "time, ms", yName: "force, N",
		x: [2]float64{0, 3}, y: [2]float64{0, 40}, xTicks: []float64{0, 1, 2, 3}, yTicks: []float64{0, 10, 20, 30, 40},
		caption: "Felt gives way, metal less; a loose tack rattles. The humps are waves that come back from the near end.",
	}
	for _, h := range hammers {
		b := sound.Strike(&course, h, sound.LevelSpeed(80), rate)
		var line []draw.Point
		for i, f := range b.ForceN {
			if ms := float64(i) * b.StepSec * 1e3; ms <= 3 {
				line = append(line, draw.Point{X: ms, Y: f})
			}
		}
		c.add(h.String(), line)
	}
	return c, nil
}

// contact is how long each hammer touches the string, over the keys.
func contact() (*chart, error) {
	c := &chart{
		title: "Contact time at level 80",
		xName: "key", yName: "time on the string, ms",
		x: [2]float64{sound.LowestKey, sound.HighestKey}, y: [2]float64{0, 6},
		xTicks: []float64{24, 36, 48, 60, 72, 84, 96, 108}, yTicks: []float64{0, 1, 2, 3, 4, 5, 6},
		caption: "About 4 ms in the bass to less than 1 ms (Askenfelt and Jansson 1990). Steps where one string becomes two.",
	}
	for _, h := range hammers {
		var line []draw.Point
		for key := sound.LowestKey; key <= sound.HighestKey; key++ {
			course, err := sound.CourseOf(key)
			if err != nil {
				return nil, err
			}
			line = append(line, draw.Point{X: float64(key), Y: sound.Strike(&course, h, sound.LevelSpeed(80),
				rate).ContactSec * 1e3})
		}
		c.add(h.String(), line)
	}
	return c, nil
}

// stiffness is B of every key beside R. W. Young's rule.
func stiffness() (*chart, error) {
	c := &chart{
		title: "Stiffness B of the strings",
		xName: "key", yName: "B",
		yLog: true, x: [2]float64{sound.LowestKey, sound.HighestKey}, y: [2]float64{3e-5, 3e-2},
		xTicks: []float64{24, 36, 48, 60, 72, 84, 96, 108}, yTicks: []float64{1e-4, 1e-3, 1e-2},
		caption: "Young (1952) for plain strings from C4 up: B doubles every 8 keys. The step is where wound strings begin.",
	}
	var ours, young []draw.Point
	for key := sound.LowestKey; key <= sound.HighestKey; key++ {
		course, err := sound.CourseOf(key)
		if err != nil {
			return nil, err
		}
		ours = append(ours, draw.Point{X: float64(key), Y: course.Stiffness})
		if key >= 60 {
			young = append(young, draw.Point{X: float64(key), Y: 3.466e-4 * math.Exp2(float64(key-60)/8)})
		}
	}
	c.add("this scale", ours)
	c.add("Young's rule", young)
	return c, nil
}

// evenness is the loudness of each key, struck and held for 0.4 s.
func evenness() (*chart, error) {
	c := &chart{
		title: "Loudness of the keys at level 80, held 0.4 s",
		xName: "key", yName: "loudness, LU beside felt at C4",
		x: [2]float64{sound.LowestKey, sound.HighestKey}, y: [2]float64{-12, 12},
		xTicks: []float64{24, 36, 48, 60, 72, 84, 96, 108}, yTicks: []float64{-12, -6, 0, 6, 12},
		caption: "ITU-R BS.1770 weighting over 0.4 s. A board with resonances is not even; the ear expects it not to be.",
	}
	reference := math.NaN()
	for _, h := range hammers {
		var line []draw.Point
		for key := sound.LowestKey; key <= sound.HighestKey; key++ {
			l, err := loudnessOf(key, 80, h)
			if err != nil {
				return nil, err
			}
			if h == sound.Felt && key == 60 {
				reference = l
			}
			line = append(line, draw.Point{X: float64(key), Y: l})
		}
		c.add(h.String(), line)
	}
	for i := range c.lines {
		for j := range c.lines[i].points {
			c.lines[i].points[j].Y -= reference
		}
	}
	return c, nil
}

func loudnessOf(key, level int, h sound.Hammers) (float64, error) {
	x, err := note(key, level, h, sound.DefaultDry, 0.4)
	if err != nil {
		return 0, err
	}
	m, err := loudness.NewMeter(rate)
	if err != nil {
		return 0, err
	}
	y := make([]float32, rate*4/10)
	for i := range min(len(x), len(y)) {
		y[i] = float32(x[i])
	}
	m.Write(y, nil)
	r := m.Record()
	return r.Integrated(), nil
}

// levels is the loudness of C4 at every level.
func levels() (*chart, error) {
	c := &chart{
		title: "Loudness of C4 at each level",
		xName: "level", yName: "loudness, LU beside felt at level 80",
		x: [2]float64{0, 128}, y: [2]float64{-20, 12},
		xTicks: []float64{16, 33, 49, 64, 80, 96, 112, 126}, yTicks: []float64{-18, -12, -6, 0, 6, 12},
		caption: "Equal ratios of hammer speed, 0.4 to 6 m/s. At the ticks, ppp to fff, notes are computed; between them, mixed.",
	}
	reference, err := loudnessOf(60, 80, sound.Felt)
	if err != nil {
		return nil, err
	}
	for _, h := range hammers {
		var line []draw.Point
		for level := 1; level <= 127; level += 2 {
			l, err := loudnessOf(60, level, h)
			if err != nil {
				return nil, err
			}
			line = append(line, draw.Point{X: float64(level), Y: l - reference})
		}
		c.add(h.String(), line)
	}
	return c, nil
}
