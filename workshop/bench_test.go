package workshop_test

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/text/source"
)

// BenchmarkRoll is perform, roll and check together, on four voices of a piece
// that keeps the paper busy: cpu-s/op is the processor time of one round, peak-MB
// the most memory the process has had so far (Linux).
func BenchmarkRoll(b *testing.B) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		b.Fatal(err)
	}
	for _, events := range []int{10_000, 100_000, 1_000_000, 5_000_000} {
		b.Run(strconv.Itoa(events), func(b *testing.B) {
			p, err := piecefile.Parse(&source.File{Name: "busy.piece", Text: []byte(busyPiece(events / 4))})
			if err != nil {
				b.Fatal(err)
			}
			before := cpuSec(b)
			for b.Loop() {
				performance, err := perform.New(p, perform.Options{})
				if err != nil {
					b.Fatal(err)
				}
				if performance.Count != events {
					b.Fatalf("%d events, want %d", performance.Count, events)
				}
				rolls, err := lay.Of(performance, []*instrument.Instrument{in})
				if err != nil {
					b.Fatal(err)
				}
				inspect.Check(p, rolls)
			}
			b.ReportMetric((cpuSec(b)-before)/float64(b.N), "cpu-s/op")
			b.ReportMetric(peakMB(), "peak-MB")
		})
	}
}

// busyPiece has four voices of so many notes each, at speeds without a common
// measure.
func busyPiece(notes int) string {
	var b strings.Builder
	for i, speed := range []string{"1", "sqrt(2)", "5/4", "sqrt(3)"} {
		fmt.Fprintf(&b, "voice \"v%d\" {\n  talea     = \"3 2 2 (1) 2 2 1\"\n  color     = \"C3 G3 D4 Bb3 F4\"\n", i)
		fmt.Fprintf(&b, "  transpose = %d\n  speed     = %s\n  hold      = 0.7\n  extent    = \"%d notes\"\n}\n", 9*i-12,
			speed, notes)
	}
	return b.String()
}

// cpuSec is the processor time of this process so far, of user and system.
func cpuSec(b *testing.B) float64 {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		b.Fatal(err)
	}
	return float64(usage.Utime.Nano()+usage.Stime.Nano()) / 1e9
}

// peakMB is the largest resident size of this process so far, 0 where /proc does
// not say.
func peakMB() float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kB, _ := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			return kB / 1000
		}
	}
	return 0
}
