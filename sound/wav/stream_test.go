package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"testing"
)

// mono reads all of a recording.
func mono(t testing.TB, b []byte) ([]float32, *Reader) {
	t.Helper()
	r, err := NewReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	var all []float32
	buf := make([]float32, 3) // parts that no frame count divides
	for {
		n, err := r.Mono(buf)
		all = append(all, buf[:n]...)
		if err == io.EOF {
			return all, r
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// TestMono: what a Writer makes comes back as the mean of its channels.
func TestMono(t *testing.T) {
	left, right := ramp(1000)
	for _, f := range formats(1000) {
		var b bytes.Buffer
		l, r := left, right
		if f.Channels == 1 {
			r = nil
		}
		encode(t, &b, f, l, r)
		got, reader := mono(t, b.Bytes())
		if len(got) != 1000 || reader.Rate != f.Rate || reader.Channels != f.Channels {
			t.Fatalf("%+v: %d frames at %d", f, len(got), reader.Rate)
		}
		for i, x := range got {
			want := float64(left[i])
			if r != nil {
				want = (want + float64(right[i])) / 2
			}
			want = min(max(want, -1), 1)
			if math.Abs(float64(x)-want) > 1e-4 {
				t.Fatalf("%+v: frame %d is %v, want %v", f, i, x, want)
			}
		}
	}
}

// recording is a file by hand: PCM or float of so many bits and channels, with a
// size of its data that may lie.
func recording(code, channels, bits int, size uint32, data []byte) []byte {
	le := binary.LittleEndian
	b := append([]byte("RIFF"), 0, 0, 0, 0)
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)
	b = le.AppendUint16(b, uint16(code))
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, 8000)
	b = le.AppendUint32(b, uint32(8000*channels*bits/8))
	b = le.AppendUint16(b, uint16(channels*bits/8))
	b = le.AppendUint16(b, uint16(bits))
	b = le.AppendUint32(append(b, "data"...), size)
	return append(b, data...)
}

// TestRecorders, by hand: eight bits without a sign (192 is a half), 32 bits, 64-bit
// floats, three channels, data whose size was never written, a frame cut short,
// and what is no number.
func TestRecorders(t *testing.T) {
	le := binary.LittleEndian
	double := le.AppendUint64(le.AppendUint64(nil, math.Float64bits(0.25)), math.Float64bits(math.NaN()))
	for name, c := range map[string]struct {
		file []byte
		want []float32
	}{
		"8 bits":         {recording(1, 1, 8, 2, []byte{192, 0}), []float32{0.5, -1}},
		"32 bits":        {recording(1, 1, 32, 4, []byte{0, 0, 0, 0x40}), []float32{0.5}},
		"64-bit floats":  {recording(3, 1, 64, 16, double), []float32{0.25, 0}},
		"three channels": {recording(1, 3, 16, 6, []byte{0, 0x40, 0, 0x20, 0, 0}), []float32{0.25}},
		"size 0":         {recording(1, 1, 16, 0, []byte{0, 0x40, 0, 0x20}), []float32{0.5, 0.25}},
		"size too large": {recording(1, 1, 16, 1000, []byte{0, 0x40, 0, 0x20, 7}), []float32{0.5, 0.25}},
		"size unknown":   {recording(1, 1, 16, math.MaxUint32, []byte{0, 0x40}), []float32{0.5}},
		"size smaller":   {recording(1, 1, 16, 2, []byte{0, 0x40, 'L', 'I', 'S', 'T'}), []float32{0.5}},
	} {
		got, _ := mono(t, c.file)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v", name, got)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%s: %v, want %v", name, got, c.want)
			}
		}
	}
	for _, bad := range [][]byte{recording(2, 1, 4, 0, nil), recording(1, 0, 16, 0, nil), recording(1, 1, 12, 0, nil)} {
		if _, err := NewReader(bytes.NewReader(bad)); !errors.Is(err, ErrUnsupported) {
			t.Errorf("%v", err)
		}
	}
}

// FuzzReader: no input makes more frames than it has bytes, or a sample that is no
// number.
func FuzzReader(f *testing.F) {
	left, right := ramp(5)
	for _, format := range formats(5) {
		var b bytes.Buffer
		encode(f, &b, format, left, right)
		f.Add(b.Bytes())
	}
	f.Add(recording(3, 1, 64, 0, make([]byte, 20)))
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := NewReader(bytes.NewReader(b))
		if err != nil {
			return
		}
		total := 0
		buf := make([]float32, 100)
		for err == nil {
			var n int
			n, err = r.Mono(buf)
			for _, x := range buf[:n] {
				if x != x {
					t.Fatal("a sample is no number")
				}
			}
			if total += n; total > len(b) {
				t.Fatalf("%d frames of %d bytes", total, len(b))
			}
		}
	})
}
