package midi

import (
	"bytes"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// BenchmarkWrite shows that time and memory grow with the notes and no faster.
func BenchmarkWrite(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000, 5_000_000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			events := slices.Collect(lattice(n))
			b.ReportAllocs()
			for b.Loop() {
				if err := onePiano.Write(io.Discard, slices.Values(events)); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n), "ns/note")
		})
	}
}

func BenchmarkDecode1MNotes(b *testing.B) {
	var file bytes.Buffer
	if err := onePiano.Write(&file, lattice(1_000_000)); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode(bytes.NewReader(file.Bytes())); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAgainstMido writes a million notes here and with mido, in one run,
// and reports how many times as fast. The bound is 50.
func BenchmarkAgainstMido(b *testing.B) {
	events := slices.Collect(lattice(1_000_000))
	out := mido(b, "testdata/write.py", "1000000")
	theirs, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
	if err != nil {
		b.Fatal(err)
	}
	runs, start := 0, time.Now()
	for b.Loop() {
		if err := onePiano.Write(io.Discard, slices.Values(events)); err != nil {
			b.Fatal(err)
		}
		runs++
	}
	ours := time.Since(start).Seconds() / float64(runs)
	b.ReportMetric(theirs, "mido-s")
	b.ReportMetric(theirs/ours, "times-as-fast")
}
