package sound

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/sound/flac"
	"rollwright/sound/wav"
)

// run is a program's standard output; what it says on standard error is a failure.
func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil || complaints.Len() > 0 {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, &complaints)
	}
	return out
}

// One mix, written as WAVE and as FLAC, is the same sound, sample by sample, for
// Debian's flac and sox; tagged with its title.
func TestFilesHoldTheSame(t *testing.T) {
	flacTool, sox, metaflac := judge.Program(t, "flac"), judge.Program(t, "sox"), judge.Program(t, "metaflac")
	s, err := Mix(context.Background(), slices.Values(randomEvents(40, 2, 2)), DefaultOptions(Metal, Felt))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	r := s.Report()
	for _, bits := range []int{16, 24} {
		dir := t.TempDir()
		wavName, flacName := filepath.Join(dir, "x.wav"), filepath.Join(dir, "x.flac")
		write(t, wavName, s, func(w io.Writer) (encoder, error) {
			return wav.NewWriter(w, wav.Format{Rate: r.SampleRate, Channels: r.Channels, Bits: bits, Frames: r.Frames,
				Title: "Tidewheel"})
		})
		write(t, flacName, s, func(w io.Writer) (encoder, error) {
			return flac.NewWriter(w, flac.Format{Rate: r.SampleRate, Channels: r.Channels, Bits: bits, Frames: r.Frames,
				Title: "Tidewheel"})
		})
		run(t, flacTool, "--test", "--silent", flacName)
		ours := run(t, sox, "-D", wavName, "-t", "raw", "-")
		theirs := run(t, flacTool, "--decode", "--silent", "--stdout", "--force-raw-format", "--endian=little",
			"--sign=signed", flacName)
		if !bytes.Equal(ours, theirs) {
			t.Errorf("%d bits: the files differ", bits)
		}
		if want := r.Frames * int64(2*bits/8); int64(len(ours)) != want {
			t.Errorf("%d bits: %d bytes, wanted %d", bits, len(ours), want)
		}
		if tag := string(run(t, metaflac, "--show-tag=TITLE", flacName)); strings.TrimSpace(tag) != "TITLE=Tidewheel" {
			t.Errorf("title %q", tag)
		}
	}
}

type encoder interface {
	Write(left, right []float32) error
	Close() error
}

func write(t testing.TB, name string, s *Sound, open func(io.Writer) (encoder, error)) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	e, err := open(f)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Play(context.Background(), e.Write); err != nil {
		t.Fatal(err)
	}
	if err := e.Close(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// FuzzNoteFile: a cache file of any bytes gives no note, or segments of the right
// size, never a panic.
func FuzzNoteFile(f *testing.F) {
	dir := f.TempDir()
	c, err := OpenCache(dir, 1<<30)
	if err != nil {
		f.Fatal(err)
	}
	tb, id := timbre{hammers: Felt, rate: testRate}, noteID{0, 60, 3}
	c.save(tb, id, &note{body: make([]float32, bodyFrames), low: [][]float32{make([]float32, lowFrames)},
		segments: [][]float32{make([]float32, segmentFrames)}})
	good, err := os.ReadFile(c.path(tb, id))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good, 1)
	f.Add(good[:len(good)-7], 2)
	f.Add([]byte(noteMagic), 1)
	f.Fuzz(func(t *testing.T, b []byte, last int) {
		if err := os.WriteFile(c.path(tb, id), b, 0o666); err != nil {
			t.Skip(err)
		}
		a := new(arena)
		defer a.close()
		n := c.load(a, tb, id, extent{last & 0xff, last >> 8 & 0xff})
		if n.body != nil && len(n.body) != bodyFrames {
			t.Errorf("a body of %d frames", len(n.body))
		}
		for _, s := range n.segments {
			if len(s) != segmentFrames {
				t.Errorf("a segment of %d frames", len(s))
			}
		}
	})
}

func ExampleMix() {
	events := slices.Values(randomEvents(20, 2, 1))
	mixed, err := Mix(context.Background(), events, DefaultOptions(Tacks))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer mixed.Close()
	r := mixed.Report()
	var file bytes.Buffer
	w, err := wav.NewWriter(&file, wav.Format{Rate: r.SampleRate, Channels: r.Channels, Bits: 16, Frames: r.Frames,
		Title: "Tidewheel"})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := mixed.Play(context.Background(), w.Write); err != nil {
		fmt.Println(err)
	}
	if err := w.Close(); err != nil {
		fmt.Println(err)
	}
	fmt.Printf("%d strokes at %d Hz, true peak below -1 dBTP: %v\n", r.Strokes, r.SampleRate, r.TruePeakDB < -1)
	// Output: 20 strokes at 48000 Hz, true peak below -1 dBTP: true
}
