package wav

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollwright/internal/judge"
	"rollwright/sound/pcm"
)

func ramp(n int) (left, right []float32) {
	for i := range n {
		left = append(left, float32(math.Sin(float64(i)/7))*0.9)
		right = append(right, float32(i%17)/17-0.5)
	}
	return left, right
}

func encode(t testing.TB, w io.Writer, f Format, left, right []float32) {
	t.Helper()
	e, err := NewWriter(w, f)
	if err != nil {
		t.Fatal(err)
	}
	half := len(left) / 3
	if f.Channels == 1 {
		right = nil
	}
	cut := func(x []float32, from, to int) []float32 {
		if x == nil {
			return nil
		}
		return x[from:to]
	}
	for _, p := range [][2]int{{0, half}, {half, len(left)}} {
		if err := e.Write(cut(left, p[0], p[1]), cut(right, p[0], p[1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := e.Close(); err != nil {
		t.Fatal(err)
	}
}

func formats(frames int64) []Format {
	return []Format{
		{Rate: 48000, Channels: 2, Bits: 16, Frames: frames, Title: "Tidewheel", Artist: "Someone"},
		{Rate: 44100, Channels: 1, Bits: 16, Frames: frames},
		{Rate: 48000, Channels: 2, Bits: 24, Frames: frames, Title: "Über"},
		{Rate: 44100, Channels: 1, Bits: 24, Frames: frames, Comment: "odd"},
		{Rate: 48000, Channels: 2, Bits: 32, Float: true, Frames: frames},
	}
}

func TestRoundTrip(t *testing.T) {
	left, right := ramp(1001)
	for _, f := range formats(1001) {
		var b bytes.Buffer
		encode(t, &b, f, left, right)
		s, err := Decode(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatalf("%+v: %v", f, err)
		}
		if diff := cmp.Diff(f, s.Format); diff != "" {
			t.Errorf("format (-written +read):\n%s", diff)
		}
		for ch, x := range [][]float32{left, right}[:f.Channels] {
			want := make([]int32, len(x))
			if !f.Float {
				pcm.For(f.Bits).Ints(want, x, ch, 0)
			}
			for i := range x {
				at := i*f.Channels + ch
				if f.Float && s.Floats[at] != x[i] || !f.Float && s.Ints[at] != want[i] {
					t.Fatalf("%+v: frame %d of channel %d came back changed", f, i, ch)
				}
			}
		}
	}
}

// The bytes of a head, by hand: 48 kHz, 24 bits, stereo has a byte rate of 288000
// and a block align of 6 (RIFF WAVE: rate * channels * bytes).
func TestHead(t *testing.T) {
	h := Format{Rate: 48000, Channels: 2, Bits: 24, Frames: 10}.head()
	le := binary.LittleEndian
	at := bytes.Index(h, []byte("fmt ")) + 8
	if rate, align := le.Uint32(h[at+8:]), le.Uint16(h[at+12:]); rate != 288000 || align != 6 {
		t.Errorf("byte rate %d, block align %d, wanted 288000 and 6", rate, align)
	}
	if data := le.Uint32(h[len(h)-4:]); data != 60 {
		t.Errorf("data of %d bytes, wanted 60", data)
	}
	if riff := le.Uint32(h[4:]); int(riff) != len(h)+60-8 {
		t.Errorf("RIFF of %d bytes, wanted %d", riff, len(h)+60-8)
	}
}

// Past 4 GiB the file is RF64 and its sizes are in the ds64 chunk (EBU Tech 3306):
// 2^30 frames of 6 bytes are 6442450944 bytes.
func TestRF64(t *testing.T) {
	f := Format{Rate: 48000, Channels: 2, Bits: 24, Frames: 1 << 30}
	h := f.head()
	le := binary.LittleEndian
	if string(h[:4]) != "RF64" || le.Uint32(h[4:]) != math.MaxUint32 || string(h[12:16]) != "ds64" {
		t.Fatalf("begins %q", h[:16])
	}
	if data, frames := le.Uint64(h[28:]), le.Uint64(h[36:]); data != 6442450944 || frames != 1<<30 {
		t.Errorf("ds64 says %d bytes, %d frames", data, frames)
	}
	if riff := le.Uint64(h[20:]); riff != uint64(len(h)-8)+6442450944 {
		t.Errorf("ds64 says RIFF of %d bytes", riff)
	}
	// The largest file that still is RIFF, and the first that is not.
	for frames, kind := range map[int64]string{(1<<32 - 1 - int64(len(h)-8)) / 6: "RIFF",
		(1<<32-1-int64(len(h)-8))/6 + 1: "RF64"} {
		f.Frames = frames
		if got := string(f.head()[:4]); got != kind {
			t.Errorf("%d frames: %s, wanted %s", frames, got, kind)
		}
	}
	// A short body under such a head reads as the head says, up to the cut.
	if _, err := Decode(io.MultiReader(bytes.NewReader(h), strings.NewReader("123456"))); err == nil ||
		!strings.Contains(err.Error(), "cut short") {
		t.Errorf("a cut file: %v", err)
	}
}

// sox (Debian) reads every format and finds the same samples.
func TestSox(t *testing.T) {
	program := judge.Program(t, "sox")
	left, right := ramp(1001)
	for _, f := range formats(1001) {
		name := filepath.Join(t.TempDir(), "x.wav")
		var b bytes.Buffer
		encode(t, &b, f, left, right)
		if err := os.WriteFile(name, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		kind := []string{"-e", "signed", "-b", fmt.Sprint(f.Bits)}
		if f.Float {
			kind = []string{"-e", "float", "-b", "32"}
		}
		cmd := exec.Command(program, append(append([]string{"-D", name, "-t", "raw"}, kind...), "-")...)
		var complaints bytes.Buffer
		cmd.Stderr = &complaints
		raw, err := cmd.Output()
		if err != nil || complaints.Len() > 0 {
			t.Fatalf("%+v: %v %s", f, err, &complaints)
		}
		data := b.Bytes()[len(f.head()):][:f.dataBytes()]
		if f.Float { // sox keeps 32-bit integers inside
			raw, data = asInts(raw), asInts(data)
		}
		if !bytes.Equal(raw, data) {
			t.Errorf("%+v: sox reads other samples", f)
		}
	}
}

// asInts rounds float samples to 16 bits, for comparing.
func asInts(b []byte) []byte {
	var out []byte
	for ; len(b) >= 4; b = b[4:] {
		x := math.Float32frombits(binary.LittleEndian.Uint32(b))
		out = binary.LittleEndian.AppendUint16(out, uint16(int16(math.Round(float64(x)*32000))))
	}
	return out
}

func TestSameOnAnyNumberOfCores(t *testing.T) {
	left, right := ramp(200000)
	f := formats(200000)[0]
	var one, many bytes.Buffer
	old := runtime.GOMAXPROCS(1)
	encode(t, &one, f, left, right)
	runtime.GOMAXPROCS(5)
	encode(t, &many, f, left, right)
	runtime.GOMAXPROCS(old)
	if !bytes.Equal(one.Bytes(), many.Bytes()) {
		t.Error("five cores make another file than one")
	}
}

func TestWrongCalls(t *testing.T) {
	for _, f := range []Format{{}, {Rate: 48000, Channels: 3, Bits: 16}, {Rate: 48000, Channels: 2, Bits: 8},
		{Rate: 48000, Channels: 2, Bits: 24, Float: true}, {Rate: 48000, Channels: 2, Bits: 16, Frames: -1}} {
		if _, err := NewWriter(io.Discard, f); err == nil {
			t.Errorf("%+v was taken", f)
		}
	}
	w, err := NewWriter(io.Discard, formats(2)[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(make([]float32, 1), nil); err == nil {
		t.Error("one channel of two was taken")
	}
	if err := w.Write(make([]float32, 3), make([]float32, 3)); err == nil {
		t.Error("three frames of two were taken")
	}
	if err := w.Close(); err == nil {
		t.Error("a file that is too short was closed")
	}
}

// A full disk, or any writer that fails, is an error that says so.
func TestFullDisk(t *testing.T) {
	w, err := NewWriter(&limited{200}, formats(1001)[0])
	if err != nil {
		t.Fatal(err)
	}
	left, right := ramp(1001)
	if err := w.Write(left, right); err == nil || !strings.Contains(err.Error(), "no space") {
		t.Errorf("got %v", err)
	}
}

type limited struct{ left int }

func (l *limited) Write(b []byte) (int, error) {
	if l.left -= len(b); l.left < 0 {
		return 0, fmt.Errorf("no space")
	}
	return len(b), nil
}

func TestOddFiles(t *testing.T) {
	good := func(f Format) string {
		var b bytes.Buffer
		left, right := ramp(3)
		encode(t, &b, f, left, right)
		return b.String()
	}(formats(3)[0])
	tests := []struct{ name, file, want string }{
		{"empty", "", "no RIFF header"},
		{"text", "this is no sound at all", "wanted RIFF"},
		{"no data", good[:36+12], "no data chunk"},
		{"cut", good[:len(good)-1], "cut short"},
		{"lying size", strings.Replace(good, "data\x0c\x00\x00\x00", "data\xfc\xff\xff\x7f", 1), "cut short"},
		{"odd frame", strings.Replace(good, "data\x0c\x00\x00\x00", "data\x0b\x00\x00\x00", 1), "whole number of frames"},
		{"8 bits", strings.Replace(good, "\x10\x00fact", "\x08\x00fact", 1), "unsupported"},
		{"two chunks of data", good + good[strings.Index(good, "data"):], "two chunks of data"},
	}
	for _, test := range tests {
		_, err := Decode(strings.NewReader(test.file))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, wanted %q", test.name, err, test.want)
		}
	}
}

// Whatever the bytes, Decode ends without a panic, and what it accepts has as many
// samples as its frames say.
func FuzzDecode(f *testing.F) {
	left, right := ramp(5)
	for _, format := range formats(5) {
		var b bytes.Buffer
		encode(f, &b, format, left, right)
		f.Add(b.Bytes())
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := Decode(bytes.NewReader(b))
		if err != nil {
			return
		}
		if n := int64(len(s.Ints) + len(s.Floats)); n != s.Frames*int64(s.Channels) {
			t.Errorf("%d samples of %d frames", n, s.Frames)
		}
	})
}

// What is written reads back: floats to the bit, for any samples.
func TestFloatsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float32(), 1, 50).Draw(t, "x")
		var b bytes.Buffer
		w, err := NewWriter(&b, Format{Rate: 48000, Channels: 1, Bits: 32, Float: true, Frames: int64(len(x))})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(x, nil); err != nil {
			t.Fatal(err)
		}
		s, err := Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		for i := range x {
			if math.Float32bits(x[i]) != math.Float32bits(s.Floats[i]) {
				t.Fatalf("frame %d: %v came back as %v", i, x[i], s.Floats[i])
			}
		}
	})
}
