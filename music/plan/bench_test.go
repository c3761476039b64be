package plan_test

import (
	"fmt"
	"io"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/plan"
)

// many is a piece of so many voices with so many notes together, at speeds of
// all kinds.
func many(voices, total int) *piece.Piece {
	speeds := []string{"1", "5/4", "sqrt(2)", "3/2", "sqrt(31)/4", "7/5", "sqrt(3)", "e/pi", "11/8", "sqrt(5)/2", "phi",
		"pi/2"}
	var list []piece.Voice
	for i := range voices {
		list = append(list, voice(fmt.Sprint("v", i), "3 2 2 (1) 2 2 1", "C3 G3 D4 Bb3 F4", speed(speeds[i%len(speeds)]),
			notes(total/voices)))
	}
	return pieceOf(list...)
}

// BenchmarkPlan is a whole plan of 200,000 notes in 12 voices, 66 pairs.
func BenchmarkPlan(b *testing.B) {
	for _, total := range []int{20_000, 200_000, 2_000_000} {
		b.Run(fmt.Sprint(total), func(b *testing.B) {
			perf, err := perform.New(many(12, total), perform.Options{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				plan.New(perf, plan.Options{})
			}
		})
	}
}

// BenchmarkWrite is its text and its JSON.
func BenchmarkWrite(b *testing.B) {
	p := planOf(b, many(12, 200_000), plan.Options{})
	b.Run("text", func(b *testing.B) {
		for b.Loop() {
			plan.WriteText(io.Discard, p, plan.TextOptions{})
		}
	})
	b.Run("json", func(b *testing.B) {
		for b.Loop() {
			plan.WriteJSON(io.Discard, p)
		}
	})
}
