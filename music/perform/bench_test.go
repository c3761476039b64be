package perform_test

import (
	"fmt"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piece"
)

// BenchmarkPerform makes all events of a piece of four voices at speeds without
// a common measure. The budget of performing, laying out and checking a
// million events together is 1.5 s.
func BenchmarkPerform(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000, 5_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var voices []piece.Voice
			for i, speed := range []string{"1", "sqrt(2)", "sqrt(31)/4", "e/2"} {
				v := voice(fmt.Sprint(i), "3 2 2 (1) 2 1/2 1", "48 55 60 70 65+69 75 51")
				v.Speed, v.Extent = real(speed), notes(n*7/8/4/8*8)
				voices = append(voices, v)
			}
			run(b, pieceOf(voices...))
		})
	}
}

// BenchmarkHardVoices is a million notes of one voice each, by what makes it
// hard.
func BenchmarkHardVoices(b *testing.B) {
	for name, change := range map[string]func(*piece.Voice){
		"each_note": func(v *piece.Voice) { v.EachNote = real("0.999999") },
		"backward":  func(v *piece.Voice) { v.Backward = true },
		"path": func(v *piece.Voice) {
			v.Path = []piece.Leg{{From: real("60"), HasFrom: true, To: real("600"), HasTo: true, OverUnits: rat("1000000")}}
		},
		"trills": func(v *piece.Voice) {
			v.Color[0].Gesture = &piece.Gesture{Kind: piece.Trill, EverySec: rat("1/14")}
		},
	} {
		b.Run(name, func(b *testing.B) {
			v := voice("a", "3 2 2 (1) 2 1/2 1", "48 55 60 70 65 75 51")
			v.Extent = notes(1_000_000)
			change(&v)
			run(b, pieceOf(v))
		})
	}
}

// BenchmarkManyVoices is a million notes of as many voices as a file may have,
// each in a canon with the one before or after it.
func BenchmarkManyVoices(b *testing.B) {
	p := pieceOf()
	for i := range 10_000 {
		v := voice("a", "3 2 2 (1) 2 1/2 1", "48 55 60 70 65 75 51")
		v.Extent, v.Speed = notes(100), real("sqrt(2)")
		switch {
		case i%2 == 1:
			v.Place = piece.Place{Kind: piece.MeetWith, Ref: toVoice(i - 1), Mine: piece.Point{Kind: piece.AtNote, N: 50},
				Theirs: piece.Point{Kind: piece.AtEnd}}
		case i > 0:
			v.Place = piece.Place{Kind: piece.After, Ref: toVoice(i - 1)}
		}
		p.Voices = append(p.Voices, v)
	}
	run(b, p)
}

func run(b *testing.B, p *piece.Piece) {
	b.ReportAllocs()
	count := 0
	for b.Loop() {
		perf, err := perform.New(p, perform.Options{})
		if err != nil {
			b.Fatal(err)
		}
		count = 0
		for range perf.Events() {
			count++
		}
		if count != perf.Count {
			b.Fatalf("%d events, counted %d", count, perf.Count)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(count), "ns/event")
	b.ReportMetric(float64(count), "events")
}
