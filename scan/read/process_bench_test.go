//go:build unix

package read

import (
	"bufio"
	"fmt"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
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
	cmd := exec.Command(name, args...)
	start := time.Now()
	if out, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("%s: %v\n%s", name, err, out)
	}
	s := spent{wall: time.Since(start), cpu: cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()}
	if u, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
		s.peakMB = float64(u.Maxrss) / 1024
		if runtime.GOOS == "darwin" {
			s.peakMB /= 1024
		}
	}
	return s
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
