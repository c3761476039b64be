package hall

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"rollwright/internal/judge"
	"rollwright/sound/wav"
)

func power(x []float32) float64 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return sum / float64(max(len(x), 1))
}

// room adds the sound of a room: noise that falls off exponentially, darker than
// white, from 3 ms after the direct sound on.
func room(x []float32, s Spec, rng *rand.Rand) []float32 {
	if s.RoomSec == 0 {
		return x
	}
	h := make([]float64, int(s.RoomSec*Rate))
	low, sum := 0.0, 0.0
	for i := range h {
		if i < 3*Rate/1000 {
			continue
		}
		low += 0.5 * (rng.NormFloat64() - low)
		h[i] = low * math.Pow(10, -3*float64(i)/float64(len(h)))
		sum += h[i] * h[i]
	}
	scale := math.Sqrt(math.Pow(10, s.RoomDB/10) / sum)
	for i := range h {
		h[i] *= scale
	}
	h[0] = 1
	return convolved(x, h)
}

// convolved is x through h, by parts in the frequency domain.
func convolved(x []float32, h []float64) []float32 {
	n := 1
	for n < 2*len(h) || n < 1<<16 {
		n *= 2
	}
	fft := fourier.NewFFT(n)
	padded := make([]float64, n)
	copy(padded, h)
	filter := fft.Coefficients(nil, padded)
	part := n - len(h)
	out := make([]float32, len(x)+len(h))
	coefs := make([]complex128, len(filter))
	for from := 0; from < len(x); from += part {
		clear(padded)
		for i := 0; i < part && from+i < len(x); i++ {
			padded[i] = float64(x[from+i])
		}
		coefs = fft.Coefficients(coefs, padded)
		for i := range coefs {
			coefs[i] *= filter[i] / complex(float64(n), 0)
		}
		padded = fft.Sequence(padded, coefs)
		for i := 0; i < n && from+i < len(out); i++ {
			out[from+i] += float32(padded[i])
		}
	}
	return out
}

// wow lets the recording run unevenly, and the truth with it.
func (t *Take) wow(s Spec, rng *rand.Rand) {
	if s.Wow == 0 {
		return
	}
	phase := rng.Float64() * 2 * math.Pi
	w := 2 * math.Pi * s.WowHz
	moved := func(sec float64) float64 { return sec + s.Wow/w*math.Sin(w*sec+phase) } // where the sound of sec lies
	src := t.Samples
	out := make([]float32, len(src))
	for i := range out {
		sec := float64(i) / Rate
		x := (sec - (moved(sec) - sec)) * Rate // its inverse but for the square of the waver
		k := int(x)
		if x < 1 || k+2 >= len(src) {
			continue
		}
		f := float32(x - float64(k)) // Catmull and Rom's cubic
		a, b, c, d := src[k-1], src[k], src[k+1], src[k+2]
		out[i] = b + f/2*(c-a+f*(2*a-5*b+4*c-d+f*(3*(b-c)+d-a)))
	}
	t.Samples = out
	for i := range t.Strokes {
		t.Strokes[i].Sec = moved(t.Strokes[i].Sec)
	}
}

func hum(x []float32, s Spec, music float64, rng *rand.Rand) {
	if s.HumDB == 0 {
		return
	}
	a := math.Sqrt(2 * music * math.Pow(10, -s.HumDB/10) / 1.6)
	for k, part := range []float64{1, 0.6, 0.4, 0.2, 0.15} {
		phase := rng.Float64() * 2 * math.Pi
		w := 2 * math.Pi * 50 * float64(k+1) / Rate
		for i := range x {
			x[i] += float32(a * part * math.Sin(w*float64(i)+phase))
		}
	}
}

// pink adds noise whose power falls with frequency, by three one-pole filters
// that follow that slope within half a decibel from 20 Hz up (P. Kellet's
// economy filter, from memory).
func pink(x []float32, s Spec, music float64, rng *rand.Rand) {
	if s.NoiseDB == 0 {
		return
	}
	noise := make([]float32, len(x))
	var b0, b1, b2 float64
	for i := range noise {
		w := rng.NormFloat64()
		b0 = 0.99765*b0 + w*0.0990460
		b1 = 0.96300*b1 + w*0.2965164
		b2 = 0.57000*b2 + w*1.0526913
		noise[i] = float32(b0 + b1 + b2 + w*0.1848)
	}
	scale := float32(math.Sqrt(music * math.Pow(10, -s.NoiseDB/10) / power(noise)))
	for i := range x {
		x[i] += scale * noise[i]
	}
}

// level brings the loudest frame to half of full scale.
func level(x []float32) {
	most := float32(0)
	for _, v := range x {
		most = max(most, v, -v)
	}
	if most == 0 {
		return
	}
	for i := range x {
		x[i] *= 0.5 / most
	}
}

// coded is x after a lossy codec, from its own file back.
func coded(tb testing.TB, x []float32, s Spec) []float32 {
	tb.Helper()
	if s.Codec == "" {
		return x
	}
	dir := tb.TempDir()
	plain, back := filepath.Join(dir, "plain.wav"), filepath.Join(dir, "back.wav")
	WriteWAV(tb, plain, x)
	file := filepath.Join(dir, "lossy."+map[string]string{"mp3": "mp3", "aac": "m4a", "opus": "opus",
		"vorbis": "ogg"}[s.Codec])
	encoder := map[string]string{"mp3": "libmp3lame", "aac": "aac", "opus": "libopus", "vorbis": "libvorbis"}[s.Codec]
	ffmpeg := judge.Program(tb, "ffmpeg")
	for _, args := range [][]string{
		{"-i", plain, "-c:a", encoder, "-b:a", strconv.Itoa(s.KBits) + "k", file},
		{"-i", file, "-ar", strconv.Itoa(Rate), "-c:a", "pcm_s16le", back},
	} {
		if said, err := exec.Command(ffmpeg, append([]string{"-nostdin", "-v", "error", "-y"},
			args...)...).CombinedOutput(); err != nil {
			tb.Fatalf("ffmpeg: %v\n%s", err, said)
		}
	}
	return readWAV(tb, back)
}

// WriteWAV writes samples at Rate to a file of 16 bits.
func WriteWAV(tb testing.TB, path string, x []float32) {
	tb.Helper()
	file, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	w, err := wav.NewWriter(file, wav.Format{Rate: Rate, Channels: 1, Bits: 16, Frames: int64(len(x))})
	if err != nil {
		tb.Fatal(err)
	}
	if err := w.Write(x, nil); err != nil {
		tb.Fatal(err)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
}

// cut takes away what is before FromSec and after ToSec.
func (t *Take) cut(s Spec) {
	if s.ToSec > 0 {
		t.Samples = t.Samples[:min(int(s.ToSec*Rate), len(t.Samples))]
	}
	if s.FromSec > 0 {
		t.Samples = t.Samples[min(int(s.FromSec*Rate), len(t.Samples)):]
		for i := range t.Strokes {
			t.Strokes[i].Sec -= s.FromSec
		}
	}
}
