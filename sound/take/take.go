// Package take reads a recording into samples of one channel, at a rate of 11 to
// 22 kHz that divides its own.
//
// WAV and FLAC are read here, told apart by their first bytes; every other file
// by ffmpeg, where that is on the PATH. Samples are float32, -1 to 1; frame i of
// the result lies i times the divisor frames after the recording's first, to a
// thousandth of a frame: the filter that takes away what the lower rate cannot
// hold is symmetric. Nothing above 0.45 of the lower rate is claimed to be right.
package take

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os/exec"
	"path/filepath"
	"strings"

	"rollwright/sound/flac"
	"rollwright/sound/wav"
	"rollwright/text/infile"
)

// Take is a recording. Its rate is 8000 or more.
type Take struct {
	Rate    float64 // frames a second
	Samples []float32
}

// Sec is how long the recording is.
func (t *Take) Sec() float64 { return float64(len(t.Samples)) / t.Rate }

// leastRate is the lowest rate that a recording is brought to: the first partial
// of the highest key, 4186 Hz, lies below 0.4 of it.
const leastRate = 11_000

// mostSec bounds a recording: a roll plays for a quarter of an hour, an evening
// for three.
const mostSec = 4 * 3600

// Read reads the recording called path.
func Read(ctx context.Context, path string) (*Take, error) {
	file, err := infile.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no recording %s", path)
	case err != nil:
		return nil, err
	}
	defer file.Close()
	return from(ctx, path, file, foreign)
}

// From reads the recording in a file that is open, called name: WAV or FLAC, for
// no other program is asked for help.
func From(ctx context.Context, name string, file io.ReadSeeker) (*Take, error) {
	return from(ctx, name, file, func(context.Context, string) (*Take, error) {
		return nil, errors.New("it is neither WAV nor FLAC of a kind that is read here: save the recording as one of them, with 16 or 24 bits")
	})
}

func from(ctx context.Context, path string, file io.ReadSeeker,
	other func(context.Context, string) (*Take, error)) (*Take, error) {
	var head [12]byte
	n, err := io.ReadFull(file, head[:])
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, fmt.Errorf("%s holds no sound: %w", path, err)
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	t, err := open(ctx, path, head[:n], file, other)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return t, nil
}

func open(ctx context.Context, path string, head []byte, file io.Reader,
	other func(context.Context, string) (*Take, error)) (*Take, error) {
	switch {
	case bytes.HasPrefix(head, []byte("fLaC")):
		r, err := flac.NewReader(file)
		if err != nil {
			return nil, err
		}
		return down(ctx, r.Rate, r.Mono)
	case bytes.HasPrefix(head, []byte("RIFF")), bytes.HasPrefix(head, []byte("RF64")):
		r, err := wav.NewReader(file)
		if errors.Is(err, wav.ErrUnsupported) { // ffmpeg may know it
			return other(ctx, path)
		}
		if err != nil {
			return nil, err
		}
		return down(ctx, r.Rate, r.Mono)
	}
	return other(ctx, path)
}

// foreign reads whatever ffmpeg knows.
func foreign(ctx context.Context, path string) (*Take, error) {
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return nil, fmt.Errorf("neither WAV nor FLAC, and ffmpeg, which reads other recordings, is not installed: save the recording as WAV or FLAC")
	}
	full, err := filepath.Abs(path) // a name that begins with a dash is no option, nor one with a colon an address
	if err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	cmd := exec.CommandContext(ctx, program, "-nostdin", "-v", "error", "-i", "file:"+full, "-map", "0:a:0",
		"-c:a", "pcm_f32le", "-f", "wav", "pipe:1")
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	r, err := wav.NewReader(out)
	var t *Take
	if err == nil {
		t, err = down(ctx, r.Rate, r.Mono)
	}
	if err != nil {
		stop()
		_ = cmd.Wait()
		return nil, fmt.Errorf("ffmpeg finds no sound in it%s", because(said.String()))
	}
	if err := cmd.Wait(); err != nil && len(t.Samples) == 0 {
		return nil, fmt.Errorf("ffmpeg finds no sound in it%s", because(said.String()))
	}
	return t, nil
}

// because is the last line that a program said.
func because(said string) string {
	lines := strings.Split(strings.TrimSpace(said), "\n")
	if last := lines[len(lines)-1]; last != "" {
		return ": " + last
	}
	return ""
}

// down reads all of a recording, at the whole part of rate that is at least
// leastRate.
func down(ctx context.Context, rate int, mono func([]float32) (int, error)) (*Take, error) {
	if rate < 8000 {
		return nil, fmt.Errorf("%d frames a second hold too little of a piano: record at 44100 or 48000", rate)
	}
	by := max(rate/leastRate, 1)
	d := newDecimator(by)
	t := &Take{Rate: float64(rate) / float64(by)}
	buf := make([]float32, 1<<14)
	for total := 0; ; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := mono(buf)
		t.Samples = d.add(t.Samples, buf[:n])
		if total += n; total > mostSec*rate {
			return nil, fmt.Errorf("the recording is longer than %d hours: cut it", mostSec/3600)
		}
		if err == io.EOF {
			t.Samples = d.end(t.Samples)
			return t, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// tapsEachSide is how many periods of the lower rate the filter reaches to each
// side: its band between passing and stopping is then about an eighth of that
// rate wide (Blackman's window: 5.5/length, A. V. Oppenheim and R. W. Schafer,
// Discrete-Time Signal Processing, 7.5).
const tapsEachSide = 22

// decimator keeps every by-th frame of what a low-pass filter leaves.
type decimator struct {
	by   int
	taps []float32
	held []float32 // frames that later results still need
}

func newDecimator(by int) *decimator {
	d := &decimator{by: by}
	if by == 1 {
		return d
	}
	half := tapsEachSide * by
	sum := 0.0
	taps := make([]float64, 2*half+1)
	for i := range taps {
		x := float64(i - half)
		arg := math.Pi * x * 0.9 / float64(by) // cut at 0.45 of the lower rate
		w := 0.42 + 0.5*math.Cos(math.Pi*x/float64(half+1)) + 0.08*math.Cos(2*math.Pi*x/float64(half+1))
		taps[i] = w
		if arg != 0 {
			taps[i] *= math.Sin(arg) / arg
		}
		sum += taps[i]
	}
	for _, x := range taps {
		d.taps = append(d.taps, float32(x/sum))
	}
	d.held = make([]float32, half) // silence before the recording
	return d
}

// add takes frames and appends what they give.
func (d *decimator) add(dst, frames []float32) []float32 {
	if d.by == 1 {
		return append(dst, frames...)
	}
	d.held = append(d.held, frames...)
	at := 0
	for ; at+len(d.taps) <= len(d.held); at += d.by {
		dst = append(dst, dot(d.taps, d.held[at:]))
	}
	d.held = d.held[:copy(d.held, d.held[at:])]
	return dst
}

// dot is the sum of products over the length of a. Four sums run side by side,
// always in the same order.
func dot(a, b []float32) float32 {
	b = b[:len(a)]
	var s [4]float32
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s[0] += a[i] * b[i]
		s[1] += a[i+1] * b[i+1]
		s[2] += a[i+2] * b[i+2]
		s[3] += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s[0] += a[i] * b[i]
	}
	return s[0] + s[1] + s[2] + s[3]
}

// end is silence after the recording.
func (d *decimator) end(dst []float32) []float32 {
	if d.by == 1 {
		return dst
	}
	return d.add(dst, make([]float32, len(d.taps)/2))
}
