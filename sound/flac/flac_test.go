package flac

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/mewkiz/flac"
	"pgregory.net/rapid"

	"rollwright/internal/judge"
	"rollwright/sound/pcm"
)

// A signal is a test sound, frames long.
type signal struct {
	name        string
	left, right []float32
}

func signals() []signal {
	rng := rand.New(rand.NewPCG(1, 2))
	make2 := func(name string, n int, at func(i int) (float64, float64)) signal {
		s := signal{name, make([]float32, n), make([]float32, n)}
		for i := range n {
			l, r := at(i)
			s.left[i], s.right[i] = float32(l), float32(r)
		}
		return s
	}
	decay := func(hz float64, i int) float64 {
		t := float64(i%24000) / 48000
		return 0.6 * math.Exp(-5*t) * math.Sin(2*math.Pi*hz*t)
	}
	return []signal{
		make2("silence", 10000, func(int) (float64, float64) { return 0, 0 }),
		make2("one frame", 1, func(int) (float64, float64) { return 0.25, -0.5 }),
		make2("three frames", 3, func(i int) (float64, float64) { return float64(i) / 9, -1 }),
		make2("one block", blockFrames, func(i int) (float64, float64) { return decay(440, i), decay(441, i) }),
		make2("struck", 50001, func(i int) (float64, float64) { return decay(262, i) + decay(3000, i)/9, decay(262, i) }),
		make2("noise", 20000, func(int) (float64, float64) { return rng.Float64()*2 - 1, rng.Float64()*2 - 1 }),
		make2("square at full scale", 9000, func(i int) (float64, float64) {
			return float64(i/50%2*2 - 1),
				float64(i/70%2*2 - 1)
		}),
		make2("opposed", 9000, func(i int) (float64, float64) { x := math.Sin(float64(i) / 9); return x, -x }),
	}
}

func encode(t testing.TB, f Format, s signal, w io.Writer) {
	t.Helper()
	e, err := NewWriter(w, f)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(s.left); i += 7001 {
		j := min(i+7001, len(s.left))
		var right []float32
		if f.Channels == 2 {
			right = s.right[i:j]
		}
		if err := e.Write(s.left[i:j], right); err != nil {
			t.Fatal(err)
		}
	}
	if err := e.Close(); err != nil {
		t.Fatal(err)
	}
}

func formats(frames int) []Format {
	return []Format{
		{Rate: 48000, Channels: 2, Bits: 16, Frames: int64(frames), Title: "Tidewheel"},
		{Rate: 44100, Channels: 2, Bits: 24},
		{Rate: 48000, Channels: 1, Bits: 24},
		{Rate: 22050, Channels: 1, Bits: 16},
	}
}

// want is what a file has to hold: the integers of package pcm.
func want(f Format, s signal, ch int) []int32 {
	x := [][]float32{s.left, s.right}[ch]
	ints := make([]int32, len(x))
	pcm.For(f.Bits).Ints(ints, x, ch, 0)
	return ints
}

// Every signal in every format comes back from an independent decoder,
// github.com/mewkiz/flac.
func TestRoundTrip(t *testing.T) {
	for _, s := range signals() {
		for _, f := range formats(len(s.left)) {
			name := filepath.Join(t.TempDir(), "x.flac")
			file, err := os.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			encode(t, f, s, file)
			file.Close()
			check(t, fmt.Sprintf("%s, %d channels of %d bits", s.name, f.Channels, f.Bits), name, f, s)
		}
	}
}

func check(t *testing.T, what, name string, f Format, s signal) {
	t.Helper()
	stream, err := flac.ParseFile(name)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	defer stream.Close()
	if stream.Info.NSamples != uint64(len(s.left)) || stream.Info.MD5sum == [16]byte{} {
		t.Errorf("%s: head says %d frames, checksum %x", what, stream.Info.NSamples, stream.Info.MD5sum)
	}
	got := make([][]int32, f.Channels)
	for {
		frame, err := stream.ParseNext()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		for ch, sub := range frame.Subframes {
			got[ch] = append(got[ch], sub.Samples...)
		}
	}
	for ch := range got {
		if w := want(f, s, ch); !equal(got[ch], w) {
			t.Errorf("%s: channel %d came back changed", what, ch)
		}
	}
}

func equal(a, b []int32) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// The reference decoder of Debian's flac accepts every file, checksum included.
func TestReferenceDecoder(t *testing.T) {
	program := judge.Program(t, "flac")
	for _, s := range signals() {
		for _, f := range formats(len(s.left)) {
			name := filepath.Join(t.TempDir(), "x.flac")
			file, err := os.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			encode(t, f, s, file)
			file.Close()
			if out, err := exec.Command(program, "-t", "-w", "--silent", name).CombinedOutput(); err != nil {
				t.Errorf("%s in %+v: %v\n%s", s.name, f, err, out)
			}
		}
	}
}

// RFC 9639, appendix D.1: one frame of two channels, 25588 and 10416, whose
// checksum of the sound is 3e84b41807dc690307586a3dad1a2e0f.
func TestChecksumOfTheStandardsExample(t *testing.T) {
	s := signal{left: []float32{25588.0 / 32768}, right: []float32{10416.0 / 32768}}
	f := Format{Rate: 44100, Channels: 2, Bits: 16}
	w, err := NewWriter(io.Discard, f)
	if err != nil {
		t.Fatal(err)
	}
	w.pending[0], w.pending[1] = []int32{25588}, []int32{10416}
	w.digest(1)
	if got := fmt.Sprintf("%x", w.sum.Sum(nil)); got != "3e84b41807dc690307586a3dad1a2e0f" {
		t.Errorf("checksum of %v: %s", s, got)
	}
	// The same example's block: header f869180000, CRC-8 bf; CRC-16 aa9a.
	if got := crc8([]byte{0xff, 0xf8, 0x69, 0x18, 0x00, 0x00}); got != 0xbf {
		t.Errorf("crc8 %x, wanted bf", got)
	}
	block := []byte{0xff, 0xf8, 0x69, 0x18, 0x00, 0x00, 0xbf, 0x03, 0x58, 0xfd, 0x03, 0x12, 0x8b}
	if got := crc16(block); got != 0xaa9a {
		t.Errorf("crc16 %x, wanted aa9a", got)
	}
}

// Block numbers as RFC 9639, 9.1.5 codes them: like UTF-8, up to seven bytes.
func TestNumbers(t *testing.T) {
	for _, n := range []uint64{0, 1, 0x7f, 0x80, 0x7ff, 0x800, 0xffff, 0x10000, 0x10ffff} {
		var w bitWriter
		w.putNumber(n)
		if n >= 0xd800 && n < 0xe000 {
			continue // no character
		}
		if got := string(w.b); got != string(rune(n)) {
			t.Errorf("%#x: % x, wanted % x", n, got, string(rune(n)))
		}
	}
	var w bitWriter
	w.putNumber(1<<36 - 1)
	if got := fmt.Sprintf("%x", w.b); got != "febfbfbfbfbfbf" {
		t.Errorf("2^36-1: %s", got)
	}
}

// The file is the same to the byte on one core and on many, however the frames
// arrive.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	s := signals()[4]
	f := Format{Rate: 48000, Channels: 2, Bits: 16, Frames: int64(len(s.left))}
	var first [32]byte
	for i, cores := range []int{1, 2, 7} {
		old := runtime.GOMAXPROCS(cores)
		var b bytes.Buffer
		encode(t, f, s, &b)
		runtime.GOMAXPROCS(old)
		if sum := sha256.Sum256(b.Bytes()); i == 0 {
			first = sum
		} else if sum != first {
			t.Errorf("%d cores make another file than one", cores)
		}
	}
}

func TestAnySamples(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(rt, "n")
		sample := rapid.Float32Range(-1, 1)
		s := signal{"drawn", rapid.SliceOfN(sample, n, n).Draw(rt, "l"), rapid.SliceOfN(sample, n, n).Draw(rt, "r")}
		f := Format{Rate: 48000, Channels: 2, Bits: rapid.SampledFrom([]int{16, 24}).Draw(rt, "bits")}
		name := filepath.Join(dir, "x.flac")
		file, err := os.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		encode(t, f, s, file)
		file.Close()
		check(t, "drawn", name, f, s)
	})
}

func TestBadFormats(t *testing.T) {
	for _, f := range []Format{{}, {Rate: 48000, Channels: 3, Bits: 16}, {Rate: 48000, Channels: 2, Bits: 8},
		{Rate: 0, Channels: 1, Bits: 16}} {
		if _, err := NewWriter(io.Discard, f); err == nil {
			t.Errorf("%+v was taken", f)
		}
	}
	w, _ := NewWriter(io.Discard, Format{Rate: 48000, Channels: 2, Bits: 16, Frames: 5})
	if err := w.Write([]float32{0}, nil); err == nil {
		t.Error("one channel of two was taken")
	}
	if err := w.Close(); err == nil {
		t.Error("five frames announced, none written, no error")
	}
}

// struck is a minute of decaying partials, the kind of sound these files hold.
func struck() signal {
	n := 60 * 48000
	s := signal{"struck", make([]float32, n), make([]float32, n)}
	rng := rand.New(rand.NewPCG(3, 4))
	for note := 0; note < 600; note++ {
		at, hz, pan := note*n/600, 55*math.Exp2(rng.Float64()*6), rng.Float64()
		for i := at; i < min(at+24000, n); i++ {
			x := float64(i-at) / 48000
			v := 0.0
			for p := 1.0; p <= 6; p++ {
				v += math.Exp(-x*(6+p*4)) * math.Sin(2*math.Pi*hz*p*x) / p
			}
			s.left[i] += float32(0.1 * v * pan)
			s.right[i] += float32(0.1 * v * (1 - pan))
		}
	}
	return s
}

// BenchmarkEncode reports times real time, and, where Debian's flac is, the size
// beside that of flac -5.
func BenchmarkEncode(b *testing.B) {
	s := struck()
	f := Format{Rate: 48000, Channels: 2, Bits: 16, Frames: int64(len(s.left))}
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		encode(b, f, s, &out)
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "xrealtime")
	program := judge.Program(b, "flac")
	dir := b.TempDir()
	ours, theirs := filepath.Join(dir, "a.flac"), filepath.Join(dir, "b.flac")
	os.WriteFile(ours, out.Bytes(), 0o666)
	if msg, err := exec.Command("sh", "-c", program+" -d --silent -c "+ours+" | "+program+" -5 --silent -o "+theirs+
		" -").CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, msg)
	}
	info, err := os.Stat(theirs)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(out.Len())/float64(info.Size()), "size/flac-5")
}
