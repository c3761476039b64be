package take

import (
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/sound/flac"
	"rollwright/sound/wav"
)

// tone is two seconds of 440 Hz at 48000 a second, and of what a lower rate cannot
// hold.
func tone() []float32 {
	x := make([]float32, 96_000)
	for i := range x {
		sec := float64(i) / 48_000
		x[i] = float32(0.4*math.Sin(2*math.Pi*440*sec) + 0.2*math.Sin(2*math.Pi*9000*sec))
	}
	return x
}

func writeWAV(t *testing.T, path string, x []float32) {
	t.Helper()
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	w, err := wav.NewWriter(file, wav.Format{Rate: 48_000, Channels: 1, Bits: 24, Frames: int64(len(x))})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x, nil); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// isTone reports how far t is from 440 Hz alone, at 12000 a second, frame i at i
// twelve-thousandths of a second, the ends left out.
func isTone(t *Take) float64 {
	most := 0.0
	for i := 100; i < len(t.Samples)-100; i++ {
		most = max(most, math.Abs(float64(t.Samples[i])-0.4*math.Sin(2*math.Pi*440*float64(i)/12_000)))
	}
	return most
}

// TestRead: WAV and FLAC by the house's readers, a lossless file of another kind by
// ffmpeg; each is the tone alone, in its place.
func TestRead(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.wav")
	writeWAV(t, path, tone())
	lossless := filepath.Join(dir, "a.flac")
	file, err := os.Create(lossless)
	if err != nil {
		t.Fatal(err)
	}
	f, err := flac.NewWriter(file, flac.Format{Rate: 48_000, Channels: 1, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Write(tone(), nil); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	file.Close()
	foreign := filepath.Join(dir, "-a.aiff") // a name that begins like an option
	if said, err := exec.Command(judge.Program(t, "ffmpeg"), "-nostdin", "-v", "error", "-i", path, "-c:a", "pcm_s24be",
		"file:"+foreign).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	for _, name := range []string{path, lossless, foreign} {
		got, err := Read(t.Context(), name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got.Rate != 12_000 || len(got.Samples) != 24_000 || got.Sec() != 2 {
			t.Errorf("%s: %d frames at %v", name, len(got.Samples), got.Rate)
			continue
		}
		if off := isTone(got); off > 2e-3 {
			t.Errorf("%s: %v off", name, off)
		}
	}
}

// TestNoSound: what holds no sound says so, on one line.
func TestNoSound(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "a.txt")
	if err := os.WriteFile(text, []byte("this is not sound at all"), 0o644); err != nil {
		t.Fatal(err)
	}
	empty := filepath.Join(dir, "empty.wav")
	if err := os.WriteFile(empty, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	judge.Program(t, "ffmpeg")
	for name, want := range map[string]string{
		text: "no sound", empty: "no sound", filepath.Join(dir, "none.wav"): "there is no recording", dir: dir,
	} {
		_, err := Read(t.Context(), name)
		if err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
	t.Setenv("PATH", dir)
	if _, err := Read(t.Context(), text); err == nil || !strings.Contains(err.Error(),
		"save the recording as WAV or FLAC") {
		t.Errorf("without ffmpeg: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	path := filepath.Join(dir, "a.wav")
	writeWAV(t, path, tone())
	if _, err := Read(ctx, path); err != context.Canceled && !strings.Contains(err.Error(), "canceled") {
		t.Error(err)
	}
}
