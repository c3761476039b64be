//go:build linux

package read

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollwright/internal/scancase"
)

// spent is what a process took.
type spent struct {
	wall, cpu time.Duration
	peakMB    float64
}

// command builds the program that is timed.
func command(b *testing.B) string {
	b.Helper()
	name := filepath.Join(b.TempDir(), "rollwright")
	if out, err := exec.Command("go", "build", "-o", name, "rollwright/cmd/rollwright").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	return name
}

// clocked runs a process to its end.
func clocked(b *testing.B, name string, args ...string) spent {
	b.Helper()
	s, code, out := ended(b, name, args...)
	if code != 0 {
		b.Fatalf("%v ends with %d\n%s", args, code, out)
	}
	return s
}

// ended runs a process to its end, whatever that is.
func ended(b *testing.B, name string, args ...string) (s spent, code int, out string) {
	b.Helper()
	var text bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &text, &text
	start := time.Now()
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	done := make(chan float64)
	stop := make(chan struct{})
	go func() { done <- peak(cmd.Process.Pid, stop) }()
	cmd.Wait()
	s.wall = time.Since(start)
	close(stop)
	s.peakMB = <-done
	s.cpu = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	return s, cmd.ProcessState.ExitCode(), text.String()
}

// peak looks now and then at the most memory that a process has held, as Linux keeps
// it, in MB: what a parent is told at the end counts the parent's own, too.
func peak(pid int, stop <-chan struct{}) (mb float64) {
	for {
		if status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid)); err == nil {
			for line := range strings.Lines(string(status)) {
				var kb float64
				if n, _ := fmt.Sscanf(line, "VmHWM: %f kB", &kb); n == 1 {
					mb = max(mb, kb/1024)
				}
			}
		}
		select {
		case <-stop:
			return mb
		case <-time.After(2 * time.Millisecond):
		}
	}
}

// report gives the best of several runs, which other work on the machine disturbs
// least, in million pixels a second by the clock and a second of a processor.
func report(b *testing.B, megapixels float64, run func() spent) spent {
	b.Helper()
	best := run()
	for b.Loop() {
		s := run()
		best = spent{min(best.wall, s.wall), min(best.cpu, s.cpu), max(best.peakMB, s.peakMB)}
	}
	b.ReportMetric(megapixels/best.wall.Seconds(), "Mpx/s")
	b.ReportMetric(megapixels/best.cpu.Seconds(), "Mpx/cpu-s")
	b.ReportMetric(best.peakMB, "MB")
	return best
}

// BenchmarkCommand is the whole command on pictures in the cache of files: 4,000 by
// 170,000 pixels of PGM upright, of which 1,000 Mpx/s by the clock on two cores are
// asked and 64 MB above what a hundred rows take; the same on its side, 500 Mpx/s and
// 128 MB; and a photograph of 24 Mpx, 3 s.
func BenchmarkCommand(b *testing.B) {
	rollwright := command(b)
	const rows = 170_000
	b.Run("tall", func(b *testing.B) {
		few, _ := tall(b, 2_000) // a hundred rows show hardly a hole
		small := clocked(b, rollwright, "read", "--first", "bottom", few)
		name, _ := tall(b, rows)
		best := report(b, 4000*rows/1e6, func() spent { return clocked(b, rollwright, "read", name) })
		b.ReportMetric(best.peakMB-small.peakMB, "MB-more")
	})
	b.Run("side", func(b *testing.B) {
		few := side(b, 2_000)
		small := clocked(b, rollwright, "read", "--first", "left", few)
		name := side(b, rows)
		best := report(b, 4000*rows/1e6, func() spent { return clocked(b, rollwright, "read", "--first", "left", name) })
		b.ReportMetric(best.peakMB-small.peakMB, "MB-more")
	})
	b.Run("photograph", func(b *testing.B) {
		name := photograph(b)
		report(b, 24, func() spent { return clocked(b, rollwright, "read", name) })
	})
}

// side writes the roll of tall on its side, so many pixels long.
func side(b *testing.B, long int) string {
	b.Helper()
	_, block := tall(b, 1)
	height := len(block) / 4000
	name := filepath.Join(b.TempDir(), "side.pgm")
	file, err := os.Create(name)
	if err != nil {
		b.Fatal(err)
	}
	out := bufio.NewWriterSize(file, 1<<20)
	fmt.Fprintf(out, "P5\n%d %d\n255\n", long, 4000)
	line := make([]byte, height)
	for x := range 4000 {
		for y := range line {
			line[y] = block[(height-1-y)*4000+x]
		}
		for done := 0; done < long; done += height {
			out.Write(line[:min(height, long-done)])
		}
	}
	if err := out.Flush(); err != nil {
		b.Fatal(err)
	}
	if err := file.Close(); err != nil {
		b.Fatal(err)
	}
	return name
}

// photograph is one of 6,000 by 4,000 pixels, tilted and bent.
func photograph(b *testing.B) string {
	b.Helper()
	c := scancase.Case{Seed: 11, Margin: [2]float64{22, 24}, First: "left", Paper: cream, Behind: black, Ink: ink,
		TiltX: 2, TiltY: -1.5, Bend: 0.009, Noise: 3, DPIAlong: 307, DPIAcross: 307, From: -12, To: 484}
	c.Slots = scancase.Music(9, 170, 0, 2.6)
	m := c.Draw()
	b.Logf("%v", m.Bounds())
	name := filepath.Join(b.TempDir(), "photograph.jpg")
	file, err := os.Create(name)
	if err != nil {
		b.Fatal(err)
	}
	defer file.Close()
	if err := jpeg.Encode(file, m, &jpeg.Options{Quality: 90}); err != nil {
		b.Fatal(err)
	}
	return name
}

// BenchmarkLies is the whole command on pictures of something else, or of a size that
// they do not have: it may take 5 s and 300 MB until its message.
func BenchmarkLies(b *testing.B) {
	rollwright := command(b)
	for name, file := range lies() {
		b.Run(name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), name)
			if err := os.WriteFile(path, file(), 0o644); err != nil {
				b.Fatal(err)
			}
			var worst spent
			for b.Loop() {
				s := refused(b, rollwright, "read", path)
				worst = spent{max(worst.wall, s.wall), max(worst.cpu, s.cpu), max(worst.peakMB, s.peakMB)}
			}
			b.ReportMetric(worst.wall.Seconds(), "s")
			b.ReportMetric(worst.cpu.Seconds(), "cpu-s")
			b.ReportMetric(worst.peakMB, "MB")
		})
	}
}

// BenchmarkWhole is the whole command on pictures that are held whole, as large as they
// may be, 1 GB of pixels, and all of one grey: how much memory there is at most.
func BenchmarkWhole(b *testing.B) {
	const side = 32_760 // a multiple of 8; squared, just below 1 << 30
	rollwright := command(b)
	for name, file := range map[string]func() []byte{
		"grey.jpg": func() []byte {
			var small bytes.Buffer
			m := image.NewGray(image.Rect(0, 0, 8, 8))
			for i := range m.Pix {
				m.Pix[i] = 128
			}
			jpeg.Encode(&small, m, nil)
			out := small.Bytes()
			frame := bytes.Index(out, []byte{0xff, 0xc0})
			binary.BigEndian.PutUint16(out[frame+5:], side)
			binary.BigEndian.PutUint16(out[frame+7:], side)
			scan := bytes.Index(out, []byte{0xff, 0xda})
			out = out[:scan+2+int(binary.BigEndian.Uint16(out[scan+2:]))]
			// A block is 00, no difference of its mean, and 1010, its end (T.81, tables K.3
			// and K.5); four of them are three bytes.
			out = append(out, bytes.Repeat([]byte{0x28, 0xa2, 0x8a}, side/8*side/8/4+1)...)
			return append(out, 0xff, 0xd9)
		},
		"interlaced.png": func() []byte {
			z := deflated(func(w io.Writer) {
				for _, pass := range [][2]int{{8, 8}, {8, 8}, {4, 8}, {4, 4}, {2, 4}, {2, 2}, {1, 2}} {
					line := make([]byte, 1+side/pass[0])
					for range side / pass[1] {
						w.Write(line)
					}
				}
			})
			out := pngOf(side, side, z)
			out[28] = 1 // IHDR: width, height, depth, colour, compression, filter, interlace
			binary.BigEndian.PutUint32(out[29:], crc32.ChecksumIEEE(out[12:29]))
			return out
		},
	} {
		b.Run(name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), name)
			if err := os.WriteFile(path, file(), 0o644); err != nil {
				b.Fatal(err)
			}
			report(b, side*side/1e6, func() spent { return refused(b, rollwright, "read", path) })
		})
	}
}

// refused runs a process that has to end with exit status 1 and a sentence.
func refused(b *testing.B, name string, args ...string) spent {
	b.Helper()
	s, code, out := ended(b, name, args...)
	if code != 1 || len(out) > 1000 {
		b.Fatalf("%v ends with %d\n%.1000s", args, code, out)
	}
	b.Logf("%s", out)
	return s
}

// lies are pictures that no roll is on.
func lies() map[string]func() []byte {
	grey := func(width, height int, value func(x, y int) byte) []byte {
		out := fmt.Appendf(nil, "P5\n%d %d\n255\n", width, height)
		for y := range height {
			for x := range width {
				out = append(out, value(x, y))
			}
		}
		return out
	}
	r := rand.New(rand.NewPCG(3, 5))
	return map[string]func() []byte{
		"white.pgm": func() []byte { return grey(6000, 9000, func(_, _ int) byte { return 255 }) },
		"black.pgm": func() []byte { return grey(6000, 9000, func(_, _ int) byte { return 0 }) },
		"noise.pgm": func() []byte { return grey(6000, 9000, func(_, _ int) byte { return byte(r.Uint32()) }) },
		"stripes.pgm": func() []byte {
			return grey(6000, 9000, func(x, y int) byte { return byte(255 * ((x/5 + y/7) & 1)) })
		},
		"landscape.jpg": landscape,
		"truncated.png": func() []byte {
			z := deflated(func(w io.Writer) { w.Write(make([]byte, 4001*3000)) })
			return pngOf(4000, 3000, z[:len(z)/2])
		},
		"absurd.png": func() []byte { return pngOf(2_000_000, 2_000_000_000, []byte("x\x9c")) },
		"bomb.png": func() []byte { // 10,000 Mpx, all white, of 10 MB
			return pngOf(100_000, 100_000, deflated(func(w io.Writer) {
				line := bytes.Repeat([]byte{255}, 100_001)
				line[0] = 0
				for range 100_000 {
					w.Write(line)
				}
			}))
		},
		"bomb.tif": func() []byte {
			return tiffOf(100_000, 20_000, deflated(func(w io.Writer) {
				line := make([]byte, 100_000)
				for range 20_000 {
					w.Write(line)
				}
			}))
		},
	}
}

// landscape is a photograph of hills under a sky with a sun and some birds.
func landscape() []byte {
	m := image.NewRGBA(image.Rect(0, 0, 6000, 4000))
	for y := range 4000 {
		for x := range 6000 {
			hill := 2200 + 500*math.Sin(float64(x)/900) + 200*math.Sin(float64(x)/210)
			c := color.RGBA{uint8(90 + y/40), uint8(130 + y/40), 220, 255}
			switch bird := math.Mod(float64(x)*0.7+float64(y)*1.3, 700); {
			case float64(y) > hill:
				c = color.RGBA{uint8(40 + x/100), uint8(90 + (x^y)%30), 40, 255}
			case math.Hypot(float64(x)-4500, float64(y)-700) < 300:
				c = color.RGBA{250, 240, 180, 255}
			case bird < 9 && y%311 < 12:
				c = color.RGBA{20, 20, 25, 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	var out bytes.Buffer
	jpeg.Encode(&out, m, nil)
	return out.Bytes()
}
