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

func BenchmarkWrite1MNotes(b *testing.B) {
	events := slices.Collect(lattice(1_000_000))
	b.ReportAllocs()
	for b.Loop() {
		if err := onePiano.Write(io.Discard, slices.Values(events)); err != nil {
			b.Fatal(err)
		}
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
