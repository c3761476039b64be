package survey

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/simple"
	"rollwright/paper/instrument"
	"rollwright/text/source"
)

// question is two voices of n notes, the second at a speed to be tried.
func question(tb testing.TB, n int) *Question {
	tb.Helper()
	text := fmt.Sprintf(`voice "low" {
  talea  = "3 2 2 1"
  color  = "C2 G2 C3 E3"
  extent = "%d notes"
}
voice "quick" {
  talea  = "2 3 1"
  color  = "C5 G5 C6"
  speed  = 4/3
  extent = "%[1]d notes"
}
`, n)
	p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: []byte(text)})
	if err != nil {
		tb.Fatal(err)
	}
	in, err := instrument.Load("88-note", ".")
	if err != nil {
		tb.Fatal(err)
	}
	q := &Question{Piece: p, Voice: 1, Instruments: []*instrument.Instrument{in}, ApartSec: 0.03}
	q.Unknown.Kind = 1 // speed
	return q
}

// TestCounts holds each row to every pair of onsets, compared one by one.
func TestCounts(t *testing.T) {
	q := question(t, 60)
	numbers := simple.Between(1.2, 1.6, 24)
	rows, err := q.Run(context.Background(), numbers)
	if err != nil || len(rows) != len(numbers) || len(rows) < 20 {
		t.Fatalf("%d rows of %d (%v)", len(rows), len(numbers), err)
	}
	for i, row := range rows {
		p, _ := perform.With(q.Piece, 1, q.Unknown, numbers[i].Value)
		f, err := perform.New(p, perform.Options{})
		if err != nil {
			t.Fatal(err)
		}
		meetings, together, closest := 0, 0, math.Inf(1)
		for a := range f.Lines[1].All() {
			meets, near := false, false
			for b := range f.Lines[0].All() {
				apart := math.Abs(a.StartSec - b.StartSec)
				meets, near = meets || apart < 1e-12, near || apart <= 0.03
				if apart >= 1e-12 {
					closest = min(closest, apart)
				}
			}
			if meets {
				meetings++
			}
			if near {
				together++
			}
		}
		if row.Meetings != meetings || row.Together != together || row.Closest == nil ||
			math.Abs(*row.Closest-closest*1000) > 1e-6 || row.Length != f.EndSec {
			t.Errorf("%s: %+v, want %d, %d, %v ms", row.Value, row, meetings, together, closest*1000)
		}
	}
	if !strings.Contains(fmt.Sprint(rows), "4/3") {
		t.Error("4/3 is missing")
	}
}

// BenchmarkSurvey is 200 speeds over a piece of 3,000 notes, which should take 3 s.
func BenchmarkSurvey(b *testing.B) {
	q := question(b, 1500)
	numbers := simple.Between(1, 2, 60)[:200]
	for b.Loop() {
		if _, err := q.Run(context.Background(), numbers); err != nil {
			b.Fatal(err)
		}
	}
}
