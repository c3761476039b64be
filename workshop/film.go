package workshop

import (
	"archive/tar"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"rollwright/music/event"
	"rollwright/telling/film"
	"rollwright/telling/show"
	"rollwright/telling/vtt"
	"rollwright/text/choice"
)

// errNoFFmpeg says what to do where nothing can put a film together.
var errNoFFmpeg = errors.New("pictures and sound are put together by ffmpeg, which is not on the PATH: install it; " +
	"or write a .tar, which holds every picture and the sound")

// writeFilm writes a film, or all that one is made from.
func writeFilm(ctx context.Context, f *out) ([]string, error) {
	program := ""
	if f.extension() != ".tar" {
		found, err := exec.LookPath("ffmpeg")
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.path, errNoFFmpeg)
		}
		program = found
	}
	folder, err := os.MkdirTemp("", "rollwright-film-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	listening := f.o.listening()
	listening.Voices, listening.Without = nil, nil
	heard, err := f.job.Hear(ctx, listening)
	if err != nil {
		return nil, err
	}
	defer heard.Close()
	sound := filepath.Join(folder, "sound.wav")
	if err := heard.Write(ctx, sound); err != nil {
		return nil, err
	}
	shown, err := f.film(heard.Report().Seconds())
	if err != nil {
		return nil, err
	}
	return one(func(w io.Writer, f *out) error {
		if program == "" {
			return filmParts(ctx, w, shown, sound, f.progress())
		}
		return encodeFilm(ctx, w, shown, program, sound, f)
	})(ctx, f)
}

// progress is told which share of a film is done.
func (f *out) progress() func(done, of int) {
	return func(done, of int) {
		if tell := f.o.Sound.Progress; tell != nil {
			tell("film", float64(done)/float64(of))
		}
	}
}

// film is the film of the rolls, as long as the sound.
func (f *out) film(soundSec float64) (*film.Film, error) {
	rolls, err := f.job.RollsOf(f.o.Piano)
	if err != nil {
		return nil, err
	}
	in := &film.Input{Title: f.job.Title(), Composer: f.job.Composer(), Voices: f.job.Voices, Rolls: rolls}
	if f.o.Figure != "" {
		if err := f.job.has(NeedsPiece, "a figure"); err != nil {
			return nil, err
		}
		if f.o.Square {
			return nil, choice.Errorf("a {square} film has no room for a {figure}")
		}
		o := *f.o
		o.Slide, o.Voices, o.FromSec, o.ToSec = true, nil, 0, 0
		if in.Figure, err = f.job.Figure(&o); err != nil {
			return nil, err
		}
		in.Sounded = f.job.onsets(0) // of the voice that a figure of one voice shows
	}
	pace := cmp.Or(f.o.Sound.Rate, 1)
	return film.New(in, film.Look{
		Square: f.o.Square, Dark: f.o.Dark, Rate: f.o.FrameRate, FromSec: f.o.FromSec, ToSec: f.o.FromSec + soundSec*pace,
		Pace: pace,
	})
}

// onsets are the times at which the notes of a voice begin, chords once.
func (j *Job) onsets(voice int) (at []float64) {
	last := event.Event{Note: -1}
	for e := range j.Events() {
		if int(e.Voice) == voice && e.Note != last.Note {
			at, last = append(at, e.StartSec), e
		}
	}
	return at
}

// encodings are what ffmpeg is told of the two kinds of film. Pictures are in sRGB,
// whose primaries are BT.709's.
var encodings = map[string][]string{
	".mp4": {"-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-c:a", "aac", "-b:a", "192k", "-movflags",
		"+faststart"},
	".webm": {"-c:v", "libvpx-vp9", "-crf", "33", "-b:v", "0", "-deadline", "realtime", "-cpu-used", "7", "-row-mt", "1",
		"-tile-columns", "2", "-c:a", "libopus", "-b:a", "160k"},
}

// encodeFilm has ffmpeg put pictures and sound together. ffmpeg goes back in what it
// writes, so the film is made in a file of its own before it goes to w.
func encodeFilm(ctx context.Context, w io.Writer, shown *film.Film, program, sound string, f *out) error {
	made := filepath.Join(filepath.Dir(sound), "film"+f.extension())
	width, height := shown.Size()
	args := []string{"-nostdin", "-v", "error", "-f", "rawvideo", "-pix_fmt", "rgb24",
		"-s", fmt.Sprintf("%dx%d", width, height), "-r", fmt.Sprint(shown.Rate()), "-i", "pipe:0", "-i", sound,
		"-vf", "scale=out_color_matrix=bt709:out_range=tv", "-pix_fmt", "yuv420p",
		"-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709",
		"-map_metadata", "-1", "-metadata", "title=" + f.job.Title(), "-fflags", "+bitexact", "-flags", "+bitexact"}
	args = append(args, encodings[f.extension()]...)
	cmd := exec.CommandContext(ctx, program, append(args, "file:"+made)...)
	var said bytes.Buffer
	cmd.Stderr = &said
	pipe, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("ffmpeg does not start: %w", err)
	}
	err = pictures(ctx, shown, f.progress(), func(_ int, rgb []byte) error {
		_, err := pipe.Write(rgb)
		return err
	})
	pipe.Close() // ffmpeg says what went wrong
	if ended := cmd.Wait(); ended != nil && ctx.Err() == nil {
		return fmt.Errorf("ffmpeg cannot make it: %s", cmp.Or(lastLine(said.String()), ended.Error()))
	}
	if err := cmp.Or(ctx.Err(), err); err != nil {
		return err
	}
	film, err := os.Open(made)
	if err != nil {
		return err
	}
	defer film.Close()
	_, err = io.Copy(w, film)
	return err
}

func lastLine(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return strings.TrimSpace(lines[len(lines)-1])
}

// block is how many pictures one painter paints in a row: so many that the same
// paper is seldom painted twice.
const block = 16

// pictures hands all pictures of a film to take, in order, painted on all cores.
func pictures(ctx context.Context, shown *film.Film, progress func(done, of int),
	take func(i int, rgb []byte) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	all, painters := shown.Frames(), max(1, min(runtime.GOMAXPROCS(0), 8))
	lanes := make([]chan []byte, painters)
	var spent = make([]chan []byte, painters)
	for p := range painters {
		lanes[p], spent[p] = make(chan []byte, block), make(chan []byte, block+2)
		go func() {
			defer close(lanes[p])
			painter := shown.Painter()
			for first := p * block; first < all; first += painters * block {
				for i := first; i < min(first+block, all); i++ {
					rgb := painter.Frame(i)
					var copied []byte
					select {
					case copied = <-spent[p]:
					default:
						copied = make([]byte, len(rgb))
					}
					copy(copied, rgb)
					select {
					case lanes[p] <- copied:
					case <-ctx.Done():
						return
					}
				}
			}
		}()
	}
	for i := range all {
		p := i / block % painters
		rgb, ok := <-lanes[p]
		if !ok {
			return ctx.Err()
		}
		if err := take(i, rgb); err != nil {
			return err
		}
		select {
		case spent[p] <- rgb:
		default:
		}
		progress(i+1, all)
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// mostParts is how many pictures are kept one by one: 20 minutes at 30 a second,
// some 10 GB.
const mostParts = 36000

// filmParts packs the pictures, numbered from 1, and the sound. Times in the archive
// are none, so that the same film gives the same bytes.
func filmParts(ctx context.Context, w io.Writer, shown *film.Film, sound string, progress func(done, of int)) error {
	if n := shown.Frames(); n > mostParts {
		return choice.Errorf("%d pictures are more than %d: choose a stretch with {from} and {to}", n, mostParts)
	}
	z := tar.NewWriter(w)
	store := func(name string, size int64, from io.Reader) error {
		if err := z.WriteHeader(&tar.Header{Name: name, Size: size, Mode: 0o644}); err != nil {
			return err
		}
		_, err := io.Copy(z, from)
		return err
	}
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	width, height := shown.Size()
	picture := image.NewNRGBA(image.Rect(0, 0, width, height))
	var file bytes.Buffer
	err := pictures(ctx, shown, progress, func(i int, rgb []byte) error {
		for k := range width * height {
			to := picture.Pix[4*k : 4*k+4 : 4*k+4]
			to[0], to[1], to[2], to[3] = rgb[3*k], rgb[3*k+1], rgb[3*k+2], 255
		}
		file.Reset()
		if err := encoder.Encode(&file, picture); err != nil {
			return err
		}
		return store(fmt.Sprintf("%05d.png", i+1), int64(file.Len()), &file)
	})
	if err != nil {
		return err
	}
	in, err := os.Open(sound)
	if err != nil {
		return err
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return err
	}
	if err := store("sound.wav", info.Size(), in); err != nil {
		return err
	}
	about := fmt.Sprintf("%d pictures of %d by %d pixels, %d a second, from the first sample of sound.wav on.\n",
		shown.Frames(), width, height, shown.Rate())
	if err := store("read-me.txt", int64(len(about)), strings.NewReader(about)); err != nil {
		return err
	}
	return z.Close()
}

// writeSubtitles writes the words of the talk, as the film of the same stretch has
// need of them.
func writeSubtitles(ctx context.Context, f *out) ([]string, error) {
	l, err := f.job.Lecture(ctx, show.Options{Language: f.o.Language, Plain: f.o.Plain})
	if err != nil {
		return nil, err
	}
	pace, to := cmp.Or(f.o.Sound.Rate, 1), f.o.ToSec
	if to == 0 {
		to = f.job.EndSec
	}
	cues := l.Subtitles(f.o.FromSec, to)
	for i := range cues {
		c := &cues[i]
		c.FromSec, c.ToSec = (c.FromSec-f.o.FromSec)/pace, (c.ToSec-f.o.FromSec)/pace
	}
	if len(cues) == 0 {
		return nil, errors.New("the talk says nothing of a place in that stretch")
	}
	return one(func(w io.Writer, _ *out) error { return vtt.Encode(w, cues) })(ctx, f)
}
