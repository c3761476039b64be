package workshop

import (
	"archive/tar"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/judge"
	"rollwright/text/source"
)

const filmed = `
title = "Two Looms"
voice "low" {
  talea = "2 1 1"
  color = "C3 G3 D4 A3"
  extent = "12 notes"
}
voice "high" {
  like = "low"
  speed = 3/2
  transpose = 19
}
`

func filmJob(t testing.TB) *Job {
	t.Helper()
	j, err := New(context.Background(), &source.File{Name: "looms.piece", Text: []byte(filmed)}, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// short is a stretch of half a second, with nothing kept for later.
func short(t testing.TB) Options {
	return Options{FromSec: 1, ToSec: 1.5, Sound: Listening{CacheDir: t.TempDir()}}
}

// TestFilmOutside: ffprobe finds the pictures and the sound of a film, as long as
// each other.
func TestFilmOutside(t *testing.T) {
	judge.Program(t, "ffmpeg")
	ffprobe := judge.Program(t, "ffprobe")
	j := filmJob(t)
	for name, video := range map[string]string{"x.mp4": "h264", "x.webm": "vp9"} {
		o := short(t)
		o.Square = name == "x.webm"
		path := filepath.Join(t.TempDir(), name)
		if _, err := j.Write(context.Background(), path, o); err != nil {
			t.Fatal(name, err)
		}
		heard, err := j.Hear(context.Background(), o.listening())
		if err != nil {
			t.Fatal(err)
		}
		defer heard.Close()
		sec := heard.Report().Seconds()
		out, err := exec.Command(ffprobe, "-v", "error", "-count_packets", "-show_streams", "-show_format", "-of", "json",
			path).Output()
		if err != nil {
			t.Fatal(err)
		}
		var said struct {
			Streams []struct {
				Kind    string `json:"codec_type"`
				Codec   string `json:"codec_name"`
				Width   int    `json:"width"`
				Rate    string `json:"r_frame_rate"`
				Packets string `json:"nb_read_packets"`
			} `json:"streams"`
			Format struct {
				Duration float64 `json:"duration,string"`
				Tags     map[string]string
			} `json:"format"`
		}
		if err := json.Unmarshal(out, &said); err != nil {
			t.Fatal(err)
		}
		if len(said.Streams) != 2 || said.Streams[1].Kind != "audio" {
			t.Fatalf("%s: %+v", name, said.Streams)
		}
		v := said.Streams[0]
		width := map[bool]int{false: 1920, true: 1080}[o.Square]
		frames := int(math.Ceil(sec * 30))
		if v.Codec != video || v.Width != width || v.Rate != "30/1" || v.Packets != itoa(frames) {
			t.Errorf("%s: %+v; want %d pictures of %d", name, v, frames, width)
		}
		// the sound may end with a packet of its coding that is not full
		if d := said.Format.Duration; d < sec-0.02 || d > sec+0.1 {
			t.Errorf("%s lasts %.3f s, its sound %.3f s", name, d, sec)
		}
	}
}

func itoa(n int) string { b, _ := json.Marshal(n); return string(b) }

// TestFilmParts: the archive holds every picture, numbered, and the sound; twice the
// same bytes.
func TestFilmParts(t *testing.T) {
	j, o := filmJob(t), short(t)
	o.Square, o.ToSec = true, 1.1
	var got [2][]byte
	for i := range got {
		path := filepath.Join(t.TempDir(), "x.tar")
		if _, err := j.Write(context.Background(), path, o); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got[i] = data
	}
	if !bytes.Equal(got[0], got[1]) {
		t.Error("two runs differ")
	}
	pictures := 0
	var names []string
	for z := tar.NewReader(bytes.NewReader(got[0])); ; {
		f, err := z.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(f.Name, ".png") {
			names = append(names, f.Name)
			continue
		}
		if pictures++; f.Name != fmt.Sprintf("%05d.png", pictures) {
			t.Errorf("picture %d is called %s", pictures, f.Name)
		}
		if c, err := png.DecodeConfig(z); err != nil || c.Width != 1080 || c.Height != 1080 {
			t.Errorf("%s: %+v, %v", f.Name, c, err)
		}
	}
	if strings.Join(names, " ") != "sound.wav read-me.txt" {
		t.Errorf("it holds %v", names)
	}
	heard, err := j.Hear(context.Background(), o.listening())
	if err != nil {
		t.Fatal(err)
	}
	defer heard.Close()
	if want := int(math.Ceil(heard.Report().Seconds() * 30)); pictures != want {
		t.Errorf("%d pictures, want %d", pictures, want)
	}
}

// TestFilmWithoutFFmpeg: what lacks is said before any work, with the way out.
func TestFilmWithoutFFmpeg(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	path := filepath.Join(t.TempDir(), "x.mp4")
	_, err := filmJob(t).Write(context.Background(), path, short(t))
	if err == nil || !strings.Contains(err.Error(), "ffmpeg, which is not on the PATH") ||
		!strings.Contains(err.Error(), ".tar") {
		t.Error(err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a file is there")
	}
}

// TestFilmCancelled: nothing is left.
func TestFilmCancelled(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	o := short(t)
	o.Sound.Progress = func(stage string, _ float64) {
		if stage == "film" {
			stop()
		}
	}
	folder := t.TempDir()
	if _, err := filmJob(t).Write(ctx, filepath.Join(folder, "x.tar"), o); err == nil {
		t.Error("no error")
	}
	if left, _ := os.ReadDir(folder); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

// TestFilmTakesAFigure: a figure is a part of a film, and a square one has no room.
func TestFilmTakesAFigure(t *testing.T) {
	o := Options{Explaining: Explaining{Figure: "wheels"}}
	if p, err := ProductOf("x.mp4", &o); err != nil || p.Name != "film" {
		t.Errorf("%v, %v", p, err)
	}
	o = short(t)
	o.Figure, o.Square = "wheels", true
	_, err := filmJob(t).Write(context.Background(), filepath.Join(t.TempDir(), "x.tar"), o)
	if err == nil || !strings.Contains(err.Error(), "no room") {
		t.Error(err)
	}
}

// BenchmarkFilm is a film of 90 s in 1920 by 1080, 30 pictures a second, encoder
// included.
func BenchmarkFilm(b *testing.B) {
	judge.Program(b, "ffmpeg")
	text, err := os.ReadFile(filepath.Join("..", "examples", "two-shuttles.piece"))
	if err != nil {
		b.Fatal(err)
	}
	j, err := New(context.Background(), &source.File{Name: "two-shuttles.piece", Text: text}, b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	for _, extension := range []string{".mp4", ".webm"} {
		b.Run(extension[1:], func(b *testing.B) {
			for b.Loop() {
				o := Options{Sound: Listening{CacheDir: b.TempDir()}}
				if _, err := j.Write(context.Background(), filepath.Join(b.TempDir(), "x"+extension), o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
