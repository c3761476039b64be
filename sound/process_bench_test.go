//go:build unix

package sound

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"rollwright/internal/judge"
)

// The soundfont of Debian's fluid-soundfont-gm.
const soundFont = "/usr/share/sounds/sf2/FluidR3_GM.sf2"

// A spent is what a process took.
type spent struct {
	wall, cpu time.Duration
	peakMB    float64
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

// player builds the program that is timed.
func player(b *testing.B) string {
	b.Helper()
	name := filepath.Join(b.TempDir(), "benchmain")
	if out, err := exec.Command("go", "build", "-o", name, "./internal/benchmain").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	return name
}

// BenchmarkAgainstFluidsynth plays the same random notes, in three minutes, whole
// process against whole process, one after the other: fluidsynth at 48 kHz,
// without reverb and chorus, 512 voices. It reports how many times faster ours is,
// by the clock and by time on the processors, with a cold and with a warm cache. The
// notes are at levels that are computed as they are, or anything.
func BenchmarkAgainstFluidsynth(b *testing.B) {
	other := judge.Program(b, "fluidsynth")
	if _, err := os.Stat(soundFont); err != nil {
		b.Skip(err)
	}
	ours := player(b)
	for _, of := range [][]string{{"-notes=3000"}, {"-notes=30000"}, {"-notes=3000", "-anything"},
		{"-notes=30000", "-anything"}} {
		b.Run(strings.Join(of, ","), func(b *testing.B) {
			dir := b.TempDir()
			midi := filepath.Join(dir, "x.mid")
			with := func(more ...string) []string { return slices.Concat(of, more) }
			clocked(b, ours, with("-midi", midi)...)
			var cold, warm, theirs spent
			for i := range b.N {
				cache := filepath.Join(dir, fmt.Sprint("cache", i))
				cold = cold.plus(clocked(b, ours, with("-cache", cache, "-o", filepath.Join(dir, "x.wav"))...))
				warm = warm.plus(clocked(b, ours, with("-cache", cache, "-o", filepath.Join(dir, "x.wav"))...))
				theirs = theirs.plus(clocked(b, other, "-ni", "-R", "0", "-C", "0", "-r", "48000", "-o", "synth.polyphony=512",
					"-o", "audio.file.format=s16", "-F", filepath.Join(dir, "y.wav"), soundFont, midi))
			}
			b.ReportMetric(warm.wall.Seconds()/float64(b.N), "warm-s")
			b.ReportMetric(theirs.wall.Seconds()/warm.wall.Seconds(), "warm-x")
			b.ReportMetric(theirs.wall.Seconds()/cold.wall.Seconds(), "cold-x")
			b.ReportMetric(theirs.cpu.Seconds()/warm.cpu.Seconds(), "warm-cpu-x")
			b.ReportMetric(theirs.cpu.Seconds()/cold.cpu.Seconds(), "cold-cpu-x")
			b.ReportMetric(max(cold.peakMB, warm.peakMB), "MB")
		})
	}
}

func (s spent) plus(t spent) spent {
	return spent{s.wall + t.wall, s.cpu + t.cpu, max(s.peakMB, t.peakMB)}
}

// BenchmarkHour mixes an hour of music of 100,000 notes, warm, and reports the peak
// of memory.
func BenchmarkHour(b *testing.B) {
	ours := player(b)
	dir := b.TempDir()
	args := []string{"-notes", "100000", "-seconds", "3600", "-cache", filepath.Join(dir, "cache"), "-o",
		filepath.Join(dir, "x.wav")}
	first := clocked(b, ours, args...)
	var all spent
	for range b.N {
		all = all.plus(clocked(b, ours, args...))
	}
	b.ReportMetric(max(first.peakMB, all.peakMB), "MB")
	b.ReportMetric(3600*float64(b.N)/all.wall.Seconds(), "xrealtime")
}
