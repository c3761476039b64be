package inspect

import (
	"fmt"
	"iter"
	"testing"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
)

// busy is n events of four voices over the whole compass: chords, repeated
// notes, unisons between voices, changing levels.
func busy(n int) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		for i := range n {
			voice := int32(i % 4)
			start := float64(i/4) * 0.03
			e := event.Event{
				StartSec: start, EndSec: start + 0.05 + float64(i%7)*0.02,
				Voice: voice, Note: int32(i/4) + 1, Part: 1,
				Key:   int16(21 + (i*7+i/88+int(voice)*22)%88),
				Level: int16(64 + 16*(i%5)),
			}
			if !yield(e) {
				return
			}
		}
	}
}

func fourVoices() *piece.Piece {
	return &piece.Piece{
		Pianos: []piece.Piano{{}},
		Voices: []piece.Voice{{Name: "a"}, {Name: "b"}, {Name: "c"}, {Name: "d"}},
	}
}

// BenchmarkLayAndCheck lays out and inspects rolls of growing length; ns/event
// stays the same.
func BenchmarkLayAndCheck(b *testing.B) {
	for _, model := range []string{"88-note", "88-note-spool", "88-note-45"} {
		in, err := instrument.Load(model, "")
		if err != nil {
			b.Fatal(err)
		}
		for _, n := range []int{10_000, 100_000, 1_000_000, 5_000_000} {
			b.Run(fmt.Sprintf("%s/%d", model, n), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					rolls, err := lay.Out(fourVoices(), busy(n), []*instrument.Instrument{in}, lay.Options{Slots: n})
					if err != nil {
						b.Fatal(err)
					}
					Check(fourVoices(), rolls)
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/event")
			})
		}
	}
}
