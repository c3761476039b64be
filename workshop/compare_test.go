package workshop

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"
)

const comparedPiece = `
tempo = 120
unit = 1/4
voice "low" {
  talea = "1 1 1 1"
  color = "C3"
}
voice "high" {
  talea = "2 2"
  color = "G5"
}
`

// samples are those of both channels of what l asks for.
func samples(t *testing.T, j *Job, l Listening) (left, right []float32, h *Heard) {
	t.Helper()
	l.CacheDir = t.TempDir()
	h, err := j.Hear(context.Background(), l)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { h.Close() })
	err = h.Play(context.Background(), func(l, r []float32) error {
		left, right = append(left, l...), append(right, r...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return left, right, h
}

// Of two hammers compared, the first is heard, a second of silence, and the second; the softer as
// it is alone, the louder brought down to it.
func TestCompare(t *testing.T) {
	j := jobOf(t, "a.piece", comparedPiece)
	both, _, h := samples(t, j, Listening{Compare: [2]string{"felt", "tacks"}})
	felt, _, hf := samples(t, j, Listening{Hammers: "felt"})
	tacks, _, ht := samples(t, j, Listening{Hammers: "tacks"})
	if want := len(felt) + 48000 + len(tacks); len(both) != want || h.Report().Frames != int64(want) {
		t.Fatalf("%d frames, %d reported, wanted %d", len(both), h.Report().Frames, want)
	}
	if !slices.Equal(both[len(felt):len(felt)+48000], make([]float32, 48000)) {
		t.Error("no second of silence between them")
	}
	a, b := hf.Report().LUFS, ht.Report().LUFS
	softer := min(a, b)
	if got := h.Report().LUFS; math.Abs(got-softer) > 1e-9 {
		t.Errorf("%.3f LUFS, wanted those of the softer, %.3f", got, softer)
	}
	for i, gain := range []float64{math.Pow(10, (softer-a)/20), math.Pow(10, (softer-b)/20)} {
		alone, part := felt, both[:len(felt)]
		if i == 1 {
			alone, part = tacks, both[len(both)-len(tacks):]
		}
		for k, v := range part {
			if math.Abs(float64(v)-gain*float64(alone[k])) > 1e-6 {
				t.Fatalf("sound %d, frame %d: %v, wanted %v", i+1, k, v, gain*float64(alone[k]))
			}
		}
	}
	for _, bad := range [][2]string{{"felt", "felt"}, {"felt", "equal"}, {"wood", "felt"}} {
		if _, err := j.Hear(context.Background(), Listening{Compare: bad}); err == nil {
			t.Errorf("%v were compared", bad)
		}
	}
}

// A stretch heard three times has its notes three times, half a second apart where it is half a
// second long: the onsets of C3, one each half second.
func TestTimes(t *testing.T) {
	j := jobOf(t, "a.piece", comparedPiece)
	l := Listening{Voices: []string{"low"}, ToSec: 0.5, AsIs: true, Mono: true}
	once, _, h1 := samples(t, j, l)
	l.Times = 3
	thrice, _, h3 := samples(t, j, l)
	if h1.Report().Strokes != 1 || h3.Report().Strokes != 3 {
		t.Fatalf("%d and %d strokes, wanted 1 and 3", h1.Report().Strokes, h3.Report().Strokes)
	}
	if !slices.Equal(thrice[:24000-480], once[:24000-480]) {
		t.Error("it does not begin as it does alone")
	}
	if n := len(thrice) - len(once); n != 48000 {
		t.Errorf("three times last %d frames longer than once, wanted two half seconds", n)
	}
}

// Voices that are set apart are heard each from its side alone; of three, one from the middle.
func TestApart(t *testing.T) {
	j := jobOf(t, "a.piece", comparedPiece)
	for _, voice := range []string{"low", "high"} {
		left, right, _ := samples(t, j, Listening{Voices: []string{voice}, Apart: true})
		if voice == "high" {
			left, right = right, left
		}
		power := func(x []float32) (sum float64) {
			for _, v := range x {
				sum += float64(v) * float64(v)
			}
			return sum
		}
		if own, other := power(left), power(right); own == 0 || other > own*1e-12 {
			t.Errorf("%s: %.3g on its side, %.3g on the other", voice, own, other)
		}
	}
	three := jobOf(t, "b.piece", comparedPiece+strings.ReplaceAll(comparedPiece[strings.Index(comparedPiece, `voice "high"`):],
		"high", "top"))
	left, right, _ := samples(t, three, Listening{Voices: []string{"high"}, Apart: true})
	if !slices.Equal(left, right) {
		t.Error("the second of three voices is not in the middle")
	}
}
