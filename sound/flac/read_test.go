package flac

import (
	"bytes"
	"io"
	"math"
	"testing"
)

func monoOf(r *Reader) ([]float32, error) {
	var all []float32
	buf := make([]float32, 1000)
	for {
		n, err := r.Mono(buf)
		all = append(all, buf[:n]...)
		if err != nil {
			return all, err
		}
	}
}

// TestMono: what a Writer makes comes back as the mean of its channels, and a file
// that breaks off as far as it goes.
func TestMono(t *testing.T) {
	for _, s := range signals() {
		for _, bits := range []int{16, 24} {
			var b bytes.Buffer
			encode(t, Format{Rate: 48000, Channels: 2, Bits: bits}, s, &b)
			r, err := NewReader(bytes.NewReader(b.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			got, err := monoOf(r)
			if err != io.EOF || len(got) != len(s.left) || r.Rate != 48000 || r.Channels != 2 {
				t.Fatalf("%s: %d frames, %v", s.name, len(got), err)
			}
			for i, x := range got {
				want := (clipped(s.left[i]) + clipped(s.right[i])) / 2
				if math.Abs(float64(x)-want) > 1.0/8192 {
					t.Fatalf("%s: frame %d is %v, want %v", s.name, i, x, want)
				}
			}
			if r, err = NewReader(bytes.NewReader(b.Bytes()[:b.Len()-b.Len()/5])); err != nil {
				continue // its head is cut
			}
			if part, _ := monoOf(r); len(part) > len(got) {
				t.Errorf("%s: %d frames of a part of %d", s.name, len(part), len(got))
			}
		}
	}
	if _, err := NewReader(bytes.NewReader([]byte("fLaCxxxx"))); err == nil {
		t.Error("no head, no error")
	}
}

func clipped(x float32) float64 { return min(max(float64(x), -1), 1) }

// FuzzReader: no input makes a sample that is no number, or a panic.
func FuzzReader(f *testing.F) {
	for _, s := range signals()[:3] {
		var b bytes.Buffer
		encode(f, Format{Rate: 48000, Channels: 2, Bits: 16}, s, &b)
		f.Add(b.Bytes())
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := NewReader(bytes.NewReader(b))
		if err != nil {
			return
		}
		buf := make([]float32, 1000)
		for range 1000 {
			n, err := r.Mono(buf)
			for _, x := range buf[:n] {
				if x != x {
					t.Fatal("a sample is no number")
				}
			}
			if err != nil {
				return
			}
		}
	})
}
